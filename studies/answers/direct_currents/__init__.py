"""Direct currents: their static field against static limits, their losses, and the total current of conductors."""
