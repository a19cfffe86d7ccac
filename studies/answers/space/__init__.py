"""The field of the run in space."""
