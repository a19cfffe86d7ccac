"""Round conductors a little away from where they were meshed: multipoles of their currents, without another mesh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.solve import UnitFields, solve_symmetric

ORDERS = 3
"""Multipoles of a move; a move by d changes a field with a distance D to its metal to (d/D)^4."""


@dataclass(frozen=True)
class Movable:
    """Parts that move together about one axis: a cable's conductor and the layers around it."""

    conductor: str
    """The disc in the middle, whose place the others share."""
    parts: tuple[str, ...]
    """All of them, the conductor included."""


@dataclass(frozen=True)
class MovedCurrents:
    """Fields of multipoles at the axes of M movable groups, all their metal taken as air, other metal as it is.

    A current i at d (complex, x + j y) from an axis z is outside of it the current i at z, with the multipoles i d^n of
    order n: A = -(mu0/2 pi) i Re[ln(zeta) - sum d^n/(n zeta^n)], zeta from z. A multipole is spread over the conductor
    as the density Re(zeta^n) or Im(zeta^n), scaled to the moment 1 or j. The N - T parts that move carry no net current
    but this; the T others are open.
    """

    axes: Floats
    """Of the groups, shape (M, 2). [m]"""
    fixed: tuple[str, ...]
    """Names of the T parts that do not move."""
    potentials: Complexes
    """A at the nodes for 1 A m^n of Re d^n and Im d^n, n = 1.., shape (p, M, 2 ORDERS). [Wb/m / (A m^n)]"""
    reaction: Complexes
    """Linkage of the multipoles of group k with 1 A in group l at its place, less that of two lines in free space,
    shape (M, 2 ORDERS, M). [Wb/m / (A m^n)]"""
    to_fixed: Complexes
    """Linkage of the multipoles of group k with 1 A in each part that does not move, shape (M, 2 ORDERS, T)."""

    def linkage_changes(self, moves: Complexes) -> tuple[Complexes, Complexes]:
        """Changes of the linkages between groups (s, M, M) and with fixed parts (s, M, T) for moves (s, M) [m]. [H/m]

        Of two groups the logarithm of their distance and the first order of each one's move in the other metal's field.
        """
        powers = move_powers(moves)
        own = np.einsum("skn,knl->skl", powers, self.reaction)
        now = (self.axes @ (1, 1j)) + moves
        before = self.axes @ (1, 1j)
        apart = np.abs(now[:, :, None] - now[:, None, :])
        nominal = np.abs(before[:, None] - before[None, :])
        np.fill_diagonal(nominal, 1.0)
        apart[:, np.arange(len(before)), np.arange(len(before))] = 1.0
        between = own + own.transpose(0, 2, 1) - mu_0 / (2 * np.pi) * np.log(apart / nominal)
        return between, np.einsum("skn,knt->skt", powers, self.to_fixed)


def move_powers(moves: Complexes) -> Floats:
    """Re d^n and Im d^n of moves (..., M) [m], n = 1..ORDERS, shape (..., M, 2 ORDERS). [m^n]"""
    powers = moves[..., None] ** np.arange(1, ORDERS + 1)
    return np.stack([powers.real, powers.imag], axis=-1).reshape(*moves.shape, 2 * ORDERS)


def moved_currents(fields: UnitFields, groups: Sequence[Movable], axes: Floats) -> MovedCurrents:
    """Solve for the multipoles of each group, on the mesh and with the reluctivity of a solution.

    fields: The solution with all groups where they were meshed.
    groups: What moves; a group's metal shares no node with other parts.
    axes, shape (M, 2): Their axes. [m]
    """
    names, mesh, assembly = fields.part_names, fields.mesh, fields.assembly
    moving = {part for group in groups for part in group.parts}
    fixed = tuple(name for name in names if name not in moving)
    regions = [k for name, own in zip(names, fields.part_regions, strict=True) if name in moving for k in own]
    in_moving = np.isin(mesh.regions, regions)
    still = np.ones(len(mesh.points))
    still[np.unique(mesh.triangles[in_moving])] = 0.0
    keep = sparse.diags(still)
    reluctivity = np.where(in_moving, 1 / mu_0, fields.reluctivity)
    exterior = assembly.exterior.matrix(len(mesh.points))
    mass = keep @ assembly.mass @ keep
    system = (assembly.stiffness(reluctivity) + 1j * fields.omega * mass + exterior).tocsc()
    loads = np.concatenate([_loads(fields, group, axis) for group, axis in zip(groups, axes, strict=True)], axis=1)
    of_fixed = assembly.part_vectors[:, [names.index(name) for name in fixed]]
    solved = solve_symmetric(system, np.hstack([loads, of_fixed]))
    columns = 1 + 2 * ORDERS
    own, tied = solved[:, : loads.shape[1]], solved[:, loads.shape[1] :]
    if fixed:  # open: their voltages undo the currents that the loads induce in them
        admittance = np.diag(of_fixed.sum(axis=0)) - 1j * fields.omega * (of_fixed.T @ tied)
        tied = np.asarray(np.linalg.solve(admittance.T, tied.T).T, dtype=np.complex128)  # of one ampere in each
        own = own + tied @ (1j * fields.omega * (of_fixed.T @ own))
    size = len(groups)
    linked = (loads.T @ own).reshape(size, columns, size, columns)[:, 1:, :, 0]
    return MovedCurrents(
        axes,
        fixed,
        own.reshape(-1, size, columns)[:, :, 1:],
        linked - _in_free_space(axes),
        (loads.T @ tied).reshape(size, columns, len(fixed))[:, 1:],
    )


def _loads(fields: UnitFields, group: Movable, axis: Floats) -> Floats:
    """Load vectors of 1 A spread over the conductor, and of its multipoles, shape (p, 1 + 2 ORDERS)."""
    mesh, assembly = fields.mesh, fields.assembly
    number = fields.part_names.index(group.conductor)
    whole = assembly.part_vectors[:, number]
    inside = np.zeros(len(mesh.points))
    inside[np.unique(mesh.triangles[np.isin(mesh.regions, fields.part_regions[number])])] = 1.0
    places = np.asarray((mesh.points - axis) @ (1, 1j) * inside, dtype=np.complex128)
    shapes = move_powers(places)
    size = np.abs(places).max() ** np.repeat(np.arange(1, ORDERS + 1), 2)
    loads = sparse.diags(inside) @ (assembly.mass @ (shapes / size))
    loads = loads / (np.einsum("pn,pn->n", shapes / size, loads) * size)
    return np.column_stack([whole / whole.sum(), loads])


def _in_free_space(axes: Floats) -> Floats:
    """Linkage of the multipoles of group k with 1 A at the axis of group l in air alone, (M, 2 ORDERS, M).

    A of a line at s from the axis is -(mu0/2 pi) [ln|s| - Re sum zeta^n/(n s^n)].
    """
    places = axes @ (1, 1j)
    apart = places[None, :] - places[:, None]
    np.fill_diagonal(apart, 1.0)
    n = np.arange(1, ORDERS + 1)
    series = mu_0 / (2 * np.pi) / (n * apart[..., None] ** n)  # (k, l, n)
    series[np.arange(len(axes)), np.arange(len(axes))] = 0.0  # a ring links no multipole of its own disc
    both = np.stack([series.real, -series.imag], axis=-1).reshape(len(axes), len(axes), 2 * ORDERS)
    return np.asarray(both.transpose(0, 2, 1), dtype=np.float64)
