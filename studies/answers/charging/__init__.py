"""Capacitance and charging current."""
