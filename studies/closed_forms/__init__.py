"""Closed forms of a cross-section: line currents, losses of IEC 60287-1-1, the exact series."""
