"""How far from an arrangement its field stays at or under a limit."""
