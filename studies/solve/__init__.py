"""From a cross-section to a solution of the asked accuracy."""
