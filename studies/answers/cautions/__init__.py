"""The cautions of a study, the usual ones included."""
