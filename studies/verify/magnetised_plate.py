"""Magnetisation of a thin plate with a bend or an end, by charges on a grid: a second method in space."""

from __future__ import annotations

import numpy as np
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats, Ints
from fem.filaments import polyline_field
from studies.verify.plate_in_space import FlatPlate, grid_of_plate

QUARTERS = 0.5 / np.sqrt(3) * np.array([-1, 1])
"""Points of Gauss of a cell, over its side. [-]"""


def field_of_magnetised(
    plate: FlatPlate, permeability: float, lines: Floats, currents: Complexes, points: Floats
) -> Complexes:
    """Flux density of a plate of linear steel in the field of some line currents, shape (q, 3). [T]

    permeability: Relative, far above 1 so that the plate is magnetised along itself alone. [-]
    lines, shape (m, n + 1, 3): Corners of the line currents, above or below the plate. [m]
    currents, shape (m,): [A]
    points, shape (q, 3): Far from the plate against its cells. [m]

    Moment per area m = chi t H, H = H0 - grad phi, phi of the charges -div m: Galerkin's method with functions m that
    cross one edge of a grid each, from cell to cell; nothing leaves at the rim.
    """
    x, y, cells = grid_of_plate(plate)
    number = np.full(cells.shape, -1)
    number[cells] = np.arange(np.count_nonzero(cells))
    i, j = np.nonzero(cells)
    low, size = np.stack([x[i], y[j]], axis=1), np.stack([np.diff(x)[i], np.diff(y)[j]], axis=1)
    edges = [_edges(own) for own in (number, number.T)]
    moved = np.hstack([_inflow(own, len(i)) for own in edges])
    mass = np.zeros((moved.shape[1],) * 2)
    applied, first = [], 0
    for axis, own in enumerate(edges):
        some = slice(first, first + len(own))
        mass[some, some] = _mass(own, size[:, axis] / size[:, 1 - axis])
        applied.append(_applied(own, axis, low, size, lines, currents))
        first += len(own)
    matrix = mass / ((permeability - 1) * plate.thickness) + moved.T @ _potentials(low, size) @ moved
    charges = moved @ np.linalg.solve(matrix, np.concatenate(applied))
    found = np.zeros((len(points), 3), dtype=np.complex128)
    for place in _quarter_points(low, size):
        away = points[:, None] - np.column_stack([place, np.zeros(len(place))])
        found += np.einsum("qni,qn,n->qi", away, np.linalg.norm(away, axis=2) ** -3, charges) / 4
    return mu_0 / (4 * np.pi) * found


def _edges(number: Ints) -> Ints:
    """Cells on both sides of each inner edge across the first axis, shape (n, 2)."""
    pairs = np.stack([number[:-1].ravel(), number[1:].ravel()], axis=1)
    return np.asarray(pairs[np.all(pairs >= 0, axis=1)])


def _inflow(edges: Ints, count: int) -> Floats:
    """What a unit across each edge brings into each cell, shape (count, n)."""
    found, own = np.zeros((count, len(edges))), np.arange(len(edges))
    found[edges[:, 0], own], found[edges[:, 1], own] = -1.0, 1.0
    return found


def _mass(edges: Ints, ratios: Floats) -> Floats:
    """Integrals of products of two functions, for the length of each cell over its width."""
    found, own = np.zeros((len(edges),) * 2), np.arange(len(edges))
    found[own, own] = ratios[edges].sum(axis=1) / 3
    before = {int(cell): k for k, cell in enumerate(edges[:, 1])}  # the edge where a cell begins
    for k, cell in enumerate(edges[:, 0]):
        if (other := before.get(int(cell))) is not None:
            found[k, other] = found[other, k] = ratios[cell] / 6
    return found


def _applied(edges: Ints, axis: int, low: Floats, size: Floats, lines: Floats, currents: Complexes) -> Complexes:
    """Integrals of the field of the lines times each function, by 4 x 4 points of Gauss. [A m]"""
    nodes, weights = np.polynomial.legendre.leggauss(4)
    found = np.zeros(len(edges), dtype=np.complex128)
    for a, of_a in zip((nodes + 1) / 2, weights / 2, strict=True):
        for b, of_b in zip((nodes + 1) / 2, weights / 2, strict=True):
            place = low + np.array([a, b]) * size
            field = polyline_field(lines, currents, np.column_stack([place, 0 * place[:, 0]])).sum(axis=2)[:, axis]
            own = of_a * of_b * size[:, axis] * field / mu_0
            share = (a, b)[axis]
            found += share * own[edges[:, 0]] + (1 - share) * own[edges[:, 1]]
    return found


def _potentials(low: Floats, size: Floats) -> Floats:
    """Mean potentials at cells of unit charges on cells, shape (n, n). [1/m]"""
    found = np.zeros((len(low),) * 2)
    for place in _quarter_points(low, size):
        for corner, sign in (((1, 1), 1), ((0, 1), -1), ((1, 0), -1), ((0, 0), 1)):
            u, v = np.moveaxis(low + np.array(corner) * size - place[:, None], -1, 0)
            found += sign * (u * np.arcsinh(v / np.abs(u)) + v * np.arcsinh(u / np.abs(v)))
    found /= 4 * 4 * np.pi * np.prod(size, axis=1)
    return np.asarray((found + found.T) / 2)


def _quarter_points(low: Floats, size: Floats) -> list[Floats]:
    """Four points of each cell, shape (n, 2) each. [m]"""
    return [low + (0.5 + np.array([a, b])) * size for a in QUARTERS for b in QUARTERS]
