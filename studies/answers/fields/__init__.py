"""Fields at receptors, along traverses and over the map."""
