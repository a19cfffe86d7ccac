"""From the study's words to solids with materials: cables, trays, metalwork, and what must not overlap."""
