"""Flux density at any point: inside solids, in air by averaging over a clear circle, and beyond the mesh."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely

from fem.arrays import Complexes, Flags, Floats, Ints
from fem.constants import mu_0
from fem.groups import GroupedExterior
from fem.kept import kept_for
from fem.locate import GroupedLocator, Locator, locator_of
from fem.materials import AIR
from fem.mesh import curl, gradients_at, shape_values
from fem.solve import UnitFields

CIRCLE_POINTS = 48
"""Points on the averaging circle. The first harmonic that they mistake is 0.8^46 = 3e-5 of its value at the solid."""
CIRCLE_RATIO = 0.8
"""Radius of the averaging circle over the distance to the nearest solid: large, as elements grow with that distance."""

DISC = 0.5
"""Part of an averaging circle's radius within which its Fourier series serves other points of a map. The first order
left out is 0.4^24 of its value at the solid. [-]"""
DISC_ORDERS = CIRCLE_POINTS // 2 - 1
FEWEST_IN_DISC = 1.05
"""Fewer points of a map in one disc have circles of their own."""
DIVISIONS = 12
"""How often the square about the mesh is divided into four."""

CLOSE_PAIR = 0.5
"""Half the distance of two points over the radius of the circle about their middle, up to which a series is used."""
PAIR_ORDERS = np.arange(1, CIRCLE_POINTS // 2, 2)
"""Its orders; even ones are equal at both points. The first one left out is 0.5^25 of its value on the circle."""

CLEAR_BOWS = 5.0
"""Distance from a solid, over the largest bow of its outline beyond a chord, below which the field is not averaged."""
LEAST_CLEAR = 1e-6
"""The least such distance over the radius of the mesh, for outlines that are all straight. [-]"""


class FieldProbe:
    """Field of a solution for any voltages of the parts; the search for triangles is prepared once."""

    def __init__(self, fields: UnitFields) -> None:
        """Take a solution; each search structure is computed when it is first needed."""
        self._fields = fields

    @property
    def _locator(self) -> Locator | GroupedLocator:
        return locator_of(self._fields.mesh)

    @cached_property
    def _solid(self) -> Flags:
        """Whether each region is something else than air."""
        return np.array([material != AIR for material in self._fields.materials])

    @cached_property
    def _chords(self) -> Floats:
        """Two chords of each edge of the outlines of all that is not air, shape (e, 2, 2). [m]"""
        mesh = self._fields.mesh
        solid = self._solid[mesh.regions]
        corners, middles = mesh.triangles[solid, :3], mesh.triangles[solid, 3:]
        edges = np.stack([corners, middles, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 3)
        _, first, count = np.unique(edges[:, 1], return_index=True, return_counts=True)  # each edge has one middle node
        outline = mesh.points[edges[first[count == 1]]]
        return np.concatenate([outline[:, :2], outline[:, 1:]])

    @cached_property
    def _least_clear(self) -> float:
        """Distance from the chords up to which a point may lie inside a solid, as outlines bow beyond them. [m]"""
        half = len(self._chords) // 2
        start, middle, end = self._chords[:half, 0], self._chords[:half, 1], self._chords[half:, 1]
        # the bow of half an arc is a quarter of the bow of the whole
        bow = np.linalg.norm(middle - (start + end) / 2, axis=1).max(initial=0.0) / 4
        return float(max(CLEAR_BOWS * bow, LEAST_CLEAR * self._fields.exterior.radius))

    @cached_property
    def _outlines(self) -> shapely.STRtree:
        """Search structure for the nearest chord."""
        key = ("outlines", self._solid.tobytes())
        return kept_for(self._fields.mesh, key, lambda: shapely.STRtree(shapely.linestrings(self._chords)))

    def potential(self, nodal: Complexes, points: Floats) -> Complexes:
        """A at points (q, 2) [m] for potentials (p,) at the nodes of the mesh, shape (q,). [Wb/m]"""
        places = self._locator.places(points)
        inside = places.triangle >= 0
        result = np.empty(len(points), dtype=np.complex128)
        nodes = self._fields.mesh.triangles[places.triangle[inside]]
        result[inside] = np.einsum("qn,qn->q", shape_values(places.local[inside]), nodal[nodes])
        exterior = self._fields.exterior
        result[~inside] = exterior.potential(exterior.coefficients(nodal), points[~inside])
        return result

    def flux_density_raw(self, nodal: Complexes, points: Floats) -> Complexes:
        """(Bx, By) at points (q, 2) [m] by the gradient of elements, second order in their size, shape (q, 2). [T]"""
        return self._raw(nodal, points) + self.earth_flux_density(nodal, points)

    def _raw(self, nodal: Complexes, points: Floats) -> Complexes:
        """The same without the field of the earth current."""
        result = np.empty((len(points), 2), dtype=np.complex128)
        places = self._locator.places(points)
        inside = places.triangle >= 0
        result[inside] = self.flux_density_in(nodal, places.triangle[inside], places.local[inside])
        exterior = self._fields.exterior
        result[~inside] = exterior.field(exterior.coefficients(nodal), points[~inside])
        return result

    def flux_density_in(self, nodal: Complexes, triangles: Ints, local: Floats) -> Complexes:
        """(Bx, By) at local points (..., 2) of triangles (...) from their gradient, shape (..., 2). [T]"""
        mesh = self._fields.mesh
        nodes = mesh.triangles[triangles]
        gradients, _ = gradients_at(mesh.points[nodes], local)
        slope = np.einsum("...ni,...n->...i", gradients, nodal[nodes])
        return curl(slope)

    def flux_density(self, nodal: Complexes, points: Floats) -> Complexes:
        """(Bx, By) at points (q, 2) [m] for potentials (p,) at the nodes of the mesh, shape (q, 2). [T]

        Beyond the mesh: the exterior series. In air inside it, A is harmonic, and its gradient at a point is
        dA/dx = 2/(n rho) sum A_k cos(theta_k), dA/dy = 2/(n rho) sum A_k sin(theta_k) over n points of a circle of
        radius rho that is clear of solids. This average is as accurate as A itself, an order better than the gradient
        of an element. In a solid, or very close to one: the gradient of the element.
        """
        exterior = self._fields.exterior
        far = exterior.beyond(points)
        result = np.empty((len(points), 2), dtype=np.complex128)
        result[far] = exterior.field(exterior.coefficients(nodal), points[far])
        near = np.flatnonzero(~far)
        if len(near) == 0:
            return result + self.earth_flux_density(nodal, points)
        clear = self.free_distance(points[near])
        smooth = clear > self._least_clear
        result[near[~smooth]] = self._raw(nodal, points[near[~smooth]])
        centres, radius = points[near[smooth]], CIRCLE_RATIO * clear[smooth]
        angle = 2 * np.pi * np.arange(CIRCLE_POINTS) / CIRCLE_POINTS
        direction = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        around = centres[:, None] + radius[:, None, None] * direction
        samples = self.potential(nodal, around.reshape(-1, 2)).reshape(-1, CIRCLE_POINTS)
        slope = 2 / CIRCLE_POINTS * (samples @ direction) / radius[:, None]
        result[near[smooth]] = curl(slope)
        return result + self.earth_flux_density(nodal, points)

    def flux_density_of_map(self, nodal: Complexes, points: Floats) -> Complexes:
        """`flux_density` at many points (q, 2) [m] close together, shape (q, 2). [T]

        The square about the mesh is divided into four until the points of a square lie in the inner part of a circle
        about its middle that is clear of solids. There the Fourier series of A on the circle gives its slope at all of
        them: with w = (x + j y)/rho from the middle, A = sum c_n w^n + c_-n conj(w)^n. What is left has circles of
        its own.
        """
        exterior = self._fields.exterior
        left = np.flatnonzero(~exterior.beyond(points))
        low, side = np.asarray(exterior.centre) - exterior.radius, 2 * exterior.radius
        result = np.empty((len(points), 2), dtype=np.complex128)
        single = np.ones(len(points), dtype=np.bool_)
        for division in range(1, DIVISIONS):
            size = side / 2**division
            rows = 2**division + 1
            column, row = ((points[left] - low) // size).astype(np.int64).T
            numbers, square = np.unique(column * rows + row, return_inverse=True)
            keys = np.column_stack(np.divmod(numbers, rows))
            if len(left) <= FEWEST_IN_DISC * len(keys):  # a finer division would have fewer yet
                break
            middles = low + size * (keys + 0.5)
            radius = CIRCLE_RATIO * self.free_distance(middles)
            served = (radius * DISC >= size * np.sqrt(0.5)) & (radius > CIRCLE_RATIO * self._least_clear)
            inside, number = served[square], np.cumsum(served) - 1
            found = left[inside]
            single[found] = False
            discs = number[square[inside]]
            result[found] = self._in_discs(nodal, points[found], middles[served], radius[served], discs)
            left = left[~inside]
        result[single] = self.flux_density(nodal, points[single])
        result[~single] += self.earth_flux_density(nodal, points[~single])
        return result

    def _in_discs(self, nodal: Complexes, points: Floats, middles: Floats, radius: Floats, disc: Ints) -> Complexes:
        """Slopes of A as (Bx, By) at points (q, 2), each within the disc (q,) of that number, shape (q, 2). [T]"""
        angle = 2 * np.pi * np.arange(CIRCLE_POINTS) / CIRCLE_POINTS
        around = middles[:, None] + radius[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        samples = self.potential(nodal, around.reshape(-1, 2)).reshape(-1, CIRCLE_POINTS)
        orders = np.arange(1, DISC_ORDERS + 1)
        series = np.fft.fft(samples, axis=1) / CIRCLE_POINTS
        own, turned = orders * series[:, orders], (orders * series[:, -orders]).conj()
        place = (points - middles[disc]) @ np.array([1, 1j]) / radius[disc]
        by_own, by_turned = np.zeros((2, len(points)), dtype=np.complex128)
        for order in range(DISC_ORDERS - 1, -1, -1):
            by_own = by_own * place + own[disc, order]
            by_turned = by_turned * place + turned[disc, order]
        by_turned = by_turned.conj()
        return curl(np.stack([by_own + by_turned, 1j * (by_own - by_turned)], axis=1) / radius[disc, None])

    def linkage(self, nodal: Complexes, first: Floats, second: Floats) -> Complexes:
        """Flux per metre between two lines through points (q, 2) [m] each, shape (q,). [Wb/m]

        A at the first less A at the second, with the potential of the earth current; nodal, shape (p,): potentials at
        the nodes of the mesh. A pair close to each other, on a circle in clear air, has the odd terms of the Fourier
        series of A on a larger circle about its middle: 2 sum (r/rho)^n (c_n e^{jn theta} + c_-n e^{-jn theta}). The
        constant, which is far larger than their difference, is not in them.
        """
        middle, away = (first + second) / 2, (first - second) / 2
        half = np.linalg.norm(away, axis=1)
        clear = self.free_distance(middle)
        close = (half <= CLOSE_PAIR * CIRCLE_RATIO * clear) & (clear > self._least_clear)
        result = np.empty(len(first), dtype=np.complex128)
        wide = ~close
        result[wide] = self.potential(nodal, first[wide]) - self.potential(nodal, second[wide])
        radius = CIRCLE_RATIO * clear[close]
        angle = 2 * np.pi * np.arange(CIRCLE_POINTS) / CIRCLE_POINTS
        around = middle[close][:, None] + radius[:, None, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        samples = self.potential(nodal, around.reshape(-1, 2)).reshape(-1, CIRCLE_POINTS)
        turn = np.exp(-1j * PAIR_ORDERS * angle[:, None])
        own = np.exp(1j * PAIR_ORDERS * np.arctan2(away[close, 1], away[close, 0])[:, None])
        scale = (half[close] / radius)[:, None] ** PAIR_ORDERS
        series = scale * ((samples @ turn) * own + (samples @ turn.conj()) * own.conj())
        result[close] = 2 / CIRCLE_POINTS * series.sum(axis=1)
        return result + self._earth_linkage(nodal, first, second)

    def _earth_linkage(self, nodal: Complexes, first: Floats, second: Floats) -> Complexes:
        """The part of the earth current, zero without an earth return, shape (q,). [Wb/m]"""
        fields = self._fields
        if fields.earth is None:
            return np.zeros(len(first), dtype=np.complex128)
        places, currents = self._earth_filaments(nodal)
        ends = [fields.earth.logarithms(fields.omega, places, points) @ currents for points in (first, second)]
        return np.asarray(mu_0 / (2 * np.pi) * (ends[0] - ends[1]), dtype=np.complex128)

    def earth_flux_density(self, nodal: Complexes, points: Floats) -> Complexes:
        """(Bx, By) of the earth current at points (q, 2) [m], zero without an earth return, shape (q, 2). [T]

        B = mu0/(2 pi) sum i (dG/dy, -dG/dx) with the net current and the dipole of all parts. The next moments are
        smaller by the size of the arrangement over the distance from the earth current.
        """
        fields = self._fields
        if fields.earth is None:
            return np.zeros((len(points), 2), dtype=np.complex128)
        places, currents = self._earth_filaments(nodal)
        slope = mu_0 / (2 * np.pi) * fields.earth.gradients(fields.omega, places, points) @ currents
        return curl(slope)

    def _earth_filaments(self, nodal: Complexes) -> tuple[Floats, Complexes]:
        """Line currents with the net current and the dipole of all parts: places (4, 2) [m], currents (4,) [A]."""
        fields, exterior = self._fields, self._fields.exterior
        if isinstance(exterior, GroupedExterior):
            raise TypeError("groups have no return through the earth")
        level = abs(exterior.centre[1] - (0.0 if fields.earth is None else fields.earth.surface))
        away = min(exterior.radius, max(level, 0.1 * exterior.radius)) / 2  # all four on one side of the surface
        return exterior.filaments(exterior.coefficients(nodal), away)

    def free_distance(self, points: Floats) -> Floats:
        """Distance of points (q, 2) [m] from the nearest solid, 0 inside one, shape (q,). [m]"""
        _, distances = self._outlines.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
        least: Floats = np.asarray(distances, dtype=np.float64)
        places = self._locator.places(points)
        region = self._fields.mesh.regions[np.maximum(places.triangle, 0)]
        least[(places.triangle >= 0) & self._solid[region]] = 0.0
        return least
