"""Numbers, tables and blocks of text, and what renders them; knows no physics and nothing of the rest of `studies`."""
