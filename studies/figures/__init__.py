"""Figures of a study; each module draws one, and `studies.figures.catalogue` knows which a result calls for."""
