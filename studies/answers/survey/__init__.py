"""Readings of a survey beside the computed field, and what load and residual current explain them."""
