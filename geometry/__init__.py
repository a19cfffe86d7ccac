"""Shapes, named regions and meshes of a cross-section; no physics. Lengths in metres."""
