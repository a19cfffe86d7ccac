"""Each number of a study beside its formula: from solutions, one for each frequency, to the rows of the results."""
