"""Straight current filaments in space: their field in closed form, and rings of them in place of a cross-section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from fem.constants import mu_0
from fem.exterior import HARMONICS, Exterior
from fem.groups import GroupedExterior

CHUNK = 200_000
"""Pairs of a point and a filament that are evaluated at a time."""
RING = 64
"""Filaments of a ring. Its field has the harmonics below half of this, and errs by (r0/r)^(RING - 2) of the first."""
RING_RADIUS = 0.8
"""Radius of a ring over that of the mesh: inside, so that its field is smooth from the mesh on. [-]"""


@dataclass(frozen=True)
class Ring:
    """Line currents on a circle with the exterior field of a cross-section."""

    places: Floats
    """Shape (m, 2). [m]"""
    currents: Complexes
    """Shape (m,). [A]"""


def segment_fields(starts: Floats, ends: Floats, points: Floats) -> Floats:
    """Flux density of straight filaments of one ampere at points, shape (q, 3, m). [T/A]

    `starts`, `ends`, shape (m, 3): ends of each filament, which carries its current from start to end. [m]
    `points`, shape (q, 3). [m]

    With t along the filament of length L, r1 and r2 from its ends to the point, s = t . r1 and d = |t x r1|,
    B = mu0/(4 pi) (t x r1) f. Beside it f = (s/r1 + (L - s)/r2)/d^2; beyond its ends the same is
    f = L (r1 + r2)/(r1 r2 (r1 r2 + r1 . r2)). Neither cancels where it is used. On a filament the field is infinite.
    A single one does not close its current: only the sum over a closed circuit is a field.
    """
    along = ends - starts
    length = np.linalg.norm(along, axis=1)
    unit = along / length[:, None]
    from_start, from_end = points[:, None] - starts, points[:, None] - ends
    r1, r2 = np.linalg.norm(from_start, axis=2), np.linalg.norm(from_end, axis=2)
    # from the nearer end, as the other may be a million times as far
    near = np.where((r1 <= r2)[..., None], from_start, from_end)
    across = np.cross(unit, near)
    of_near = np.einsum("qmi,mi->qm", near, unit)
    s = np.where(r1 <= r2, of_near, length + of_near)
    product = np.einsum("qmi,qmi->qm", from_start, from_end)
    with np.errstate(divide="ignore", invalid="ignore"):
        beside = (s / r1 + (length - s) / r2) / np.einsum("qmi,qmi->qm", across, across)
        beyond = length * (r1 + r2) / (r1 * r2 * (r1 * r2 + product))
        fields: Floats = mu_0 / (4 * np.pi) * across * np.where(product <= 0, beside, beyond)[..., None]
    return np.moveaxis(fields, 2, 1)


def polyline_field(lines: Floats, currents: Complexes, points: Floats) -> Complexes:
    """Flux density of line currents along polylines, piece by piece, shape (q, 3, pieces). [T]

    `lines`, shape (m, pieces + 1, 3): corners of each polyline. [m]
    `currents`, shape (m,): rms phasors, from the first corner on. [A]
    `points`, shape (q, 3). [m]
    """
    count, pieces = lines.shape[0], lines.shape[1] - 1
    starts, ends = lines[:, :-1].reshape(-1, 3), lines[:, 1:].reshape(-1, 3)
    step = max(CHUNK // max(len(starts), 1), 1)
    found = np.zeros((len(points), 3, pieces), dtype=np.complex128)
    for k in range(0, len(points), step):
        own = segment_fields(starts, ends, points[k : k + step])
        found[k : k + step] = np.einsum("qimp,m->qip", own.reshape(-1, 3, count, pieces), currents)
    return found


def bundle_field(lines: Floats, currents: Complexes, pieces: Ints, count: int, points: Floats) -> Complexes:
    """The same of polylines of many chords, summed over those of each of `count` pieces, shape (q, 3, count). [T]

    `pieces`, shape (chords,): the piece that each chord belongs to.
    """
    found = np.zeros((len(points), 3, count), dtype=np.complex128)
    for piece in np.unique(pieces):
        own = np.flatnonzero(pieces == piece)
        starts, ends = lines[:, own].reshape(-1, 3), lines[:, own + 1].reshape(-1, 3)
        weights = np.repeat(currents, len(own))
        step = max(CHUNK // len(starts), 1)
        for k in range(0, len(points), step):
            found[k : k + step, :, piece] = segment_fields(starts, ends, points[k : k + step]) @ weights
    return found


def ring_of(
    exterior: Exterior | GroupedExterior, coefficients: Complexes, net: complex, places: Floats, currents: Complexes
) -> Ring:
    """Ring with the exterior field of a solution, less that of some line currents.

    `exterior`: of the solution.
    `coefficients`, shape (2N+1,): of its potential on the circle. [Wb/m]
    `net`: its net current. [A]
    `places`, `currents`, shapes (m, 2), (m,): the line currents that are taken off. [m], [A]

    Outside the circle of radius R, A = sum (R/r)^n (a_n cos n th + b_n sin n th). A line of current i at (r', th') has
    a_n, b_n = (mu0 i/2 pi n) (r'/R)^n (cos n th', sin n th'). What is left of a_n and b_n without the lines makes
    I_j = net/M + (2 pi/M)(1/mu0) sum 2n (R/r0)^n (da_n cos n th_j + db_n sin n th_j), n below M/2.
    """
    if isinstance(exterior, GroupedExterior):
        raise TypeError("the series of several groups has no ring")
    n = np.arange(1, HARMONICS)
    zeta = (places[:, 0] - exterior.centre[0]) + 1j * (places[:, 1] - exterior.centre[1])
    powers = (zeta[:, None] / exterior.radius) ** n / n
    cosines = coefficients[1:HARMONICS] - mu_0 / (2 * np.pi) * (currents @ powers.real)
    sines = coefficients[HARMONICS + 1 : 2 * HARMONICS] - mu_0 / (2 * np.pi) * (currents @ powers.imag)
    angle = 2 * np.pi * np.arange(RING) / RING
    raised = 2 * n * RING_RADIUS ** (-n) * (2 * np.pi / (RING * mu_0))
    waves = np.outer(angle, n)
    strengths = np.cos(waves) @ (raised * cosines) + np.sin(waves) @ (raised * sines)
    radius = RING_RADIUS * exterior.radius
    circle = np.asarray(exterior.centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return Ring(circle, strengths + (net - currents.sum()) / RING)
