"""Eddy currents of a thin plate with a bend or an end, by loops of current on a grid: a second method in space."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.constants import mu_0
from scipy.optimize import brentq

from fem.arrays import Complexes, Flags, Floats, Ints
from fem.filaments import polyline_field, segment_fields

ACROSS, ALONG = 8, 14
"""Cells across the plate, finest at its edges, and along each leg beyond its corner, growing. [-]"""
LEG = 5.0
"""Length of a leg. [m]"""
BAR = 0.2235
"""Mean geometric distance of a flat bar from itself, over width and thickness together (Grover) [M]. [-]"""


@dataclass(frozen=True)
class FlatPlate:
    """A plate in the plane z = 0 that comes along +x to its corner at the origin."""

    half_width: float
    """[m]"""
    thickness: float
    """Far less than the skin depth. [m]"""
    conductivity: float
    """[S/m]"""
    bends: bool = False
    """Whether it goes on along -y from there; else it ends at x = 0."""
    along: Floats | None = None
    """Lines of the grid along a straight plate with two ends, in place of all that. [m]"""


def field_of_plate(plate: FlatPlate, frequency: float, lines: Floats, currents: Complexes, points: Floats) -> Complexes:
    """Flux density of the currents that some line currents induce in a plate, shape (q, 3). [T]

    lines, shape (m, n + 1, 3): Corners of the line currents, above or below the plate. [m]
    currents, shape (m,): [A]
    points, shape (q, 3): Far from the plate against its cells. [m]

    A loop of current in each cell of a grid; the voltage around it, (R + j w L) i of the edges as flat bars, is minus
    j w times the flux of the line currents. The edges meet by the Neumann integral of parallel filaments, two to a bar.
    """
    x, y, cells = grid_of_plate(plate)
    loops = np.full(cells.shape, -1)
    loops[cells] = np.arange(np.count_nonzero(cells))
    impedance, bars = np.zeros((np.count_nonzero(cells),) * 2, dtype=np.complex128), []
    for axis, edges in enumerate((_edges(loops, x, y), _edges(loops.T, y, x))):
        ends, width, middle, loop_of = edges
        incidence = (1 - 2 * axis) * loop_of
        resistance = (ends[:, 1] - ends[:, 0]) / (plate.conductivity * plate.thickness * width)
        own = 2j * np.pi * frequency * _inductances(ends, width, middle, plate.thickness)
        impedance += incidence.T @ ((np.diag(resistance) + own) @ incidence)
        bars.append((axis, ends, width, middle, incidence))
    flux = _flux(x, y, cells, lines, currents)
    loop_currents = np.linalg.solve(impedance, -2j * np.pi * frequency * flux)
    found = np.zeros((len(points), 3), dtype=np.complex128)
    for axis, ends, width, middle, incidence in bars:
        for aside in (-0.25, 0.25):
            corners = np.zeros((2, len(ends), 3))
            corners[:, :, axis], corners[:, :, 1 - axis] = ends.T, middle + aside * width
            found += segment_fields(corners[0], corners[1], points) @ (incidence @ loop_currents) / 2
    return found


def grid_of_plate(plate: FlatPlate) -> tuple[Floats, Floats, Flags]:
    """Places of the grid's lines, and which of its cells are of the plate."""
    half = plate.half_width
    across = half * np.sin(np.pi / 2 * np.linspace(-1, 1, ACROSS + 1))
    if plate.along is not None:
        return plate.along, across, np.ones((len(plate.along) - 1, ACROSS), dtype=bool)
    first = 1.5 * half / ACROSS
    grows = brentq(lambda q: first * (q**ALONG - 1) / (q - 1) - LEG + half, 1.001, 3)
    leg = -half - np.cumsum(first * grows ** np.arange(ALONG))[::-1]
    x = np.concatenate([leg, across])
    if not plate.bends:
        return x - half, across, np.ones((len(x) - 1, ACROSS), dtype=bool)
    inside = np.abs((x[1:] + x[:-1]) / 2) < half
    return x, x, inside[:, None] | inside


def _edges(loops: Ints, along: Floats, across: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Edges of the cells along one axis as bars: ends (n, 2), width, middle (n,) [m], current by loop (n, loops)."""
    widths = np.diff(across)
    none = np.full((len(loops), 1), -1)
    below, above = np.hstack([none, loops]), np.hstack([loops, none])
    k, j = np.nonzero((below >= 0) | (above >= 0))
    lower, upper = below[k, j], above[k, j]
    low = across[j] - np.where(lower >= 0, np.append(0.0, widths)[j] / 2, 0.0)
    high = across[j] + np.where(upper >= 0, np.append(widths, 0.0)[j] / 2, 0.0)
    incidence = np.zeros((len(k), loops.max() + 1))
    for own, sign in ((lower, -1.0), (upper, 1.0)):
        having = np.flatnonzero(own >= 0)
        incidence[having, own[having]] += sign
    return np.stack([along[k], along[k + 1]], axis=1), high - low, (low + high) / 2, incidence


def _inductances(ends: Floats, width: Floats, middle: Floats, thickness: float) -> Floats:
    """Partial inductances of parallel bars, shape (n, n). [H]"""
    own = BAR * (width / 2 + thickness)
    found = np.zeros((len(ends), len(ends)))
    for aside in (-0.25, 0.25):
        for other in (-0.25, 0.25):
            apart = np.abs((middle + aside * width)[:, None] - (middle + other * width))
            apart = np.maximum(apart, np.minimum.outer(own, own))
            for first, last, sign in ((0, 1, 1), (1, 1, -1), (0, 0, -1), (1, 0, 1)):
                z = ends[None, :, last] - ends[:, None, first]
                found += sign * (z * np.arcsinh(z / apart) - np.hypot(z, apart))
    return np.asarray(mu_0 / (4 * np.pi) / 4 * found)


def _flux(x: Floats, y: Floats, cells: Flags, lines: Floats, currents: Complexes) -> Complexes:
    """Flux of line currents through each cell, by 3 x 3 points of Gauss, shape (loops,). [Wb]"""
    nodes, weights = np.polynomial.legendre.leggauss(3)
    i, j = np.nonzero(cells)
    half_x, half_y = np.diff(x)[i] / 2, np.diff(y)[j] / 2
    found = np.zeros(len(i), dtype=np.complex128)
    for a, of_a in zip(nodes, weights, strict=True):
        for b, of_b in zip(nodes, weights, strict=True):
            points = np.stack([x[i] + (1 + a) * half_x, y[j] + (1 + b) * half_y, 0 * half_x], axis=1)
            found += of_a * of_b * half_x * half_y * polyline_field(lines, currents, points).sum(axis=2)[:, 2]
    return found
