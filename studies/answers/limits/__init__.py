"""Zones, and how far each limit reaches."""
