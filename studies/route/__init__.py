"""A run of cable as a list of sections: series impedance, voltages along it, transposition, drop and unbalance."""
