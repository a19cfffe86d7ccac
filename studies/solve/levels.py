"""The meshes of the refinement, and how the asked tolerance was met, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

FINENESS = (1.0, 1.5, 2.25, 3.4, 5.0, 7.5)
"""Fineness of the meshes in turn; at least two are solved."""


@dataclass(frozen=True)
class MeshLevel:
    """One mesh of the refinement."""

    fineness: float
    unknowns: int
    triangles: int
    worst_change: float | None
    """Largest relative change of a requested number from the mesh before. [-]"""


@dataclass(frozen=True)
class AccuracyResult:
    """How the asked tolerance was met."""

    tolerance: float
    worst_error: float
    """Largest relative error estimate of the requested numbers. [-]"""
    met: bool
    levels: tuple[MeshLevel, ...]
