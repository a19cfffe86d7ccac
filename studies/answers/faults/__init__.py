"""Forces in a short circuit."""
