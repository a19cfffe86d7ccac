"""Loss of plates that cables pass through, by closed forms alone."""
