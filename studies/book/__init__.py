"""The book: written pages, and pages made from the registers of formulas, keys, examples and checks."""
