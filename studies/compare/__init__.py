"""Variants and sweeps: cases, runs, numbers, report."""
