"""Data of materials, conductors and reference levels, each with its source."""
