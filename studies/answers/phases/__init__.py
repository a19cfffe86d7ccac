"""Impedances of phases and sequences."""
