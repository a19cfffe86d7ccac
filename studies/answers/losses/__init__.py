"""Losses, currents and resistances of the parts."""
