"""The study file: its keys with their checks, and the reading of it."""
