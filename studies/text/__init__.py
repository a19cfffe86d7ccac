"""Numbers, words, tables and the blocks of a page, with what prints them; knows nothing of cables."""
