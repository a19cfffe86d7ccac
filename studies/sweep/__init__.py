"""Many cases of one study: variants and sweeps, their execution, and the comparison of what they give."""
