"""The formulas beside each number, from the simplest on."""
