"""Energy that losses take over a year, and its price."""
