"""Profiles of trays, ducts, conduits and structural steel, from their dimensions to named solids."""
