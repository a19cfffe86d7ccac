"""The run: sections, loads, transposition."""
