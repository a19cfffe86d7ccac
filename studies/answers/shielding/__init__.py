"""How much trays, covers and metalwork weaken the field."""
