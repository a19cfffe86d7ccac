"""Currents and heat of cables beside the permitted currents that the study states."""
