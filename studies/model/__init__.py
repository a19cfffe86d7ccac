"""The models of the study file, one module for each thing a study speaks of."""
