"""From a study to its cross-section: solids, parts, ties, frequencies, sections along the route."""
