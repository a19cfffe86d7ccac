"""Why formula and finite element differ, split into causes."""
