"""Time-harmonic magnetic field on a mesh with named regions, its parts and their circuit. SI units, rms phasors."""
