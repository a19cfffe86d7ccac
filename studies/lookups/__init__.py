"""What a study can name, to be looked up, and the schema of the study file."""
