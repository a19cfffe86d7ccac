"""Limits as makers and codes state them."""
