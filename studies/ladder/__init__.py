"""The ladder of formulas: for each number the simplest formula, the better ones above it, finite elements on top."""
