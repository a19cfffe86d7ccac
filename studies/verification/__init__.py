"""The published checks that a user runs and files with a report: each number beside its source and its tolerance."""
