"""Capacitance of the cables of a cross-section and the current that charges them."""
