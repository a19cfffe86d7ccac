"""Net currents: what of a circuit's current returns outside of it, at the worst or a stated angle."""
