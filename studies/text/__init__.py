"""Numbers, words, tables and the blocks of a page, with their renderers; independent of cables."""
