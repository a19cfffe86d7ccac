"""Saturating steel, other currents, another steel."""
