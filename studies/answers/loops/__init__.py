"""Voltages that the currents induce in pairs and loops of other circuits."""
