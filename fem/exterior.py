"""Air from the outer circle of the mesh to infinity, exactly, as a Fourier series on the circle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from fem.arrays import Complexes, Flags, Floats, Ints
from fem.constants import mu_0
from fem.mesh import RegionMesh

HARMONICS = 32
"""Order of the series. Of sources within rho of the centre it neglects (rho/R)^33 of the field."""

CHUNK = 4096
"""Points that are evaluated at a time, as each needs 130 numbers."""


@dataclass(frozen=True)
class Exterior:
    """Fourier integrals of the shape functions of the nodes on the outer circle.

    e(A, v) = 1/(mu0 pi) sum n [(int A cos)(int v cos) + (int A sin)(int v sin)]
              + 1/(2 pi mu0 ln(Rref/R)) (int A)(int v), with integrals over the angle. Outside the circle,
    A = A0 ln(Rref/r)/ln(Rref/R) + sum (R/r)^n (a_n cos n theta + b_n sin n theta).
    """

    centre: tuple[float, float]
    """Centre of the circle. [m]"""
    radius: float
    """Radius R of the circle. [m]"""
    reference_radius: float
    """Radius Rref on which a net current returns. [m]"""
    nodes: Ints
    """Mesh nodes on the circle, shape (m,)."""
    functionals: Floats
    """int N cos(n theta) for n = 0..N, then int N sin(n theta) for n = 1..N, of each node, shape (2N+1, m). [-]"""

    @property
    def least_radius(self) -> float:
        """Radius of the smallest circle, which is the only one. [m]"""
        return self.radius

    @property
    def depth(self) -> float:
        """ln(Rref/R). [-]"""
        return float(np.log(self.reference_radius / self.radius))

    def block(self) -> Floats:
        """The dense matrix e(., .) of the nodes on the circle, shape (m, m). [m/H]"""
        n = np.arange(1, HARMONICS + 1)
        weights = np.concatenate([[0.5 / self.depth], n, n]) / (np.pi * mu_0)
        return np.asarray((self.functionals.T * weights) @ self.functionals, dtype=np.float64)

    def matrix(self, size: int) -> sparse.csr_matrix:
        """The matrix e(., .) as a sparse matrix over all nodes, shape (size, size). [m/H]"""
        m = len(self.nodes)
        rows, columns = np.repeat(self.nodes, m), np.tile(self.nodes, m)
        return sparse.csr_matrix((self.block().ravel(), (rows, columns)), shape=(size, size))

    def coefficients(self, potential: Complexes) -> Complexes:
        """Coefficients (A0, a_1..a_N, b_1..b_N) of the potentials (p, ...) of all nodes, shape (2N+1, ...). [Wb/m]"""
        coefficients = np.tensordot(self.functionals, potential[self.nodes], axes=1) / np.pi
        coefficients[0] /= 2
        return coefficients

    def beyond(self, points: Floats, share: float = 1.0) -> Flags:
        """Whether points (..., 2) [m] lie on or outside the circle, or one of a share of its radius, shape (...)."""
        x, y = points[..., 0] - self.centre[0], points[..., 1] - self.centre[1]
        return np.asarray(x * x + y * y >= (share * self.radius) ** 2)

    def potential(self, coefficients: Complexes, points: Floats) -> Complexes:
        """Potential at points (q, 2) on or outside the circle for coefficients (2N+1, ...), shape (q, ...). [Wb/m]"""
        zeta = self._places(points)
        logarithm = 1 - np.log(np.abs(zeta) / self.radius) / self.depth  # ln(Rref/r)/ln(Rref/R)
        # (R/zeta)^n = (R/r)^n (cos n theta - j sin n theta): the sines are the negative imaginary parts
        own, turned = _analytic(coefficients, self.radius / zeta)
        harmonics = (own + turned.conj()).reshape(len(points), *coefficients.shape[1:])
        return np.tensordot(logarithm, coefficients[0], axes=0) + harmonics

    def field(self, coefficients: Complexes, points: Floats) -> Complexes:
        """Flux density (Bx, By) at points (q, 2) on or outside the circle, shape (q, 2, ...). [T]"""
        pieces = [self._field(coefficients, points[k : k + CHUNK]) for k in range(0, len(points), CHUNK)]
        empty = np.zeros((0, 2, *coefficients.shape[1:]), dtype=np.complex128)
        return np.concatenate(pieces) if pieces else empty

    def _field(self, coefficients: Complexes, points: Floats) -> Complexes:
        """B = curl(A e_z) = (dA/dy, -dA/dx) of the series at points on or outside the circle, shape (q, 2, ...). [T]"""
        zeta = self._places(points)
        n = np.arange(1, HARMONICS + 1)
        # every term of A is the real or the negative imaginary part of some f(zeta): df/dx = f', df/dy = j f'
        slopes = coefficients * np.concatenate([[1 / self.depth], n, n]).reshape(-1, *[1] * (coefficients.ndim - 1))
        half_net = slopes[0].reshape(-1) / 2  # its logarithm is the real part of -ln zeta
        own, turned = _analytic(slopes, self.radius / zeta)
        own, turned = ((net + sums) / -zeta[:, None] for net, sums in ((half_net, own), (half_net.conj(), turned)))
        turned = turned.conj()
        slope = np.stack([1j * (own - turned), -(own + turned)], axis=1)
        return slope.reshape(len(points), 2, *coefficients.shape[1:])

    def filaments(self, coefficients: Complexes, away: float) -> tuple[Floats, Complexes]:
        """Four line currents with the net current and the dipole of a series: places (4, 2) [m], currents (4,) [A].

        They lie to the right, above, left and below the centre, at a distance [m] from it.
        """
        n = HARMONICS
        direction = np.array([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
        # A = mu0/(2 pi) sum i ln(Rref/|zeta - z_i|) = mu0/(2 pi) (net ln(Rref/r) + Re(sum i z_i/zeta) + ...)
        net = 2 * np.pi * coefficients[0] / (mu_0 * self.depth)
        dipole = 2 * np.pi * self.radius * coefficients[[1, n + 1]] / mu_0  # sum of i (x, y) from the centre
        # currents net/4 + d . dipole/(2 away) in the directions d have that dipole, as sum of d (d . p) = 2 p
        return np.asarray(self.centre) + away * direction, net / 4 + direction @ dipole / (2 * away)

    def _places(self, points: Floats) -> Complexes:
        """Points as zeta = x + j y from the centre, shape (q,). [m]"""
        return (points[:, 0] - self.centre[0]) + 1j * (points[:, 1] - self.centre[1])


def _analytic(coefficients: Complexes, place: Complexes) -> tuple[Complexes, Complexes]:
    """Two power series c(p) and d(p) of places p (q,) with sum a_n Re p^n - b_n Im p^n = c + conj(d), shape (q, k).

    The coefficients (2N+1, ...) are complex: c_n = (a_n + j b_n)/2, and d_n = conj(a_n - j b_n)/2.
    """
    cosines, sines = coefficients[1:].reshape(2, HARMONICS, -1)
    rows = np.empty((HARMONICS, len(place)), dtype=np.complex128)
    rows[0], known = place, 1
    while known < HARMONICS:  # p^(k + known) = p^k p^known, ten times as fast as one after the other
        more = min(known, HARMONICS - known)
        np.multiply(rows[:more], rows[known - 1], out=rows[known : known + more])
        known += more
    powers = rows.T
    return powers @ ((cosines + 1j * sines) / 2), powers @ ((cosines - 1j * sines).conj() / 2)


def exterior_of(mesh: RegionMesh, reference_radius: float) -> Exterior:
    """Exterior of a mesh, with the net current returning at a radius. [m]"""
    if not reference_radius > mesh.circle_radius:
        raise ValueError(
            f"reference_radius must exceed the mesh's circle, {mesh.circle_radius:.4g} m: {reference_radius:.4g} m"
        )
    edges = mesh.circle_edges()
    nodes, local = np.unique(edges, return_inverse=True)
    local = local.reshape(edges.shape)
    place = mesh.points[edges[:, :2]] - mesh.circle_centre
    start, end = np.arctan2(place[..., 1], place[..., 0]).T
    span = np.mod(end - start, 2 * np.pi)
    abscissae, weights = np.polynomial.legendre.leggauss(10)
    x = (abscissae + 1) / 2
    shapes = np.stack([(1 - x) * (1 - 2 * x), x * (2 * x - 1), 4 * x * (1 - x)])  # start, end, middle
    angle = start[:, None] + span[:, None] * x  # taken as linear in the local coordinate of the edge
    n = np.arange(HARMONICS + 1)[:, None, None]
    waves = np.concatenate([np.cos(n * angle), np.sin(n[1:] * angle)])  # (2N+1, edges, abscissae)
    integrals = np.einsum("neg,sg,g,e->nes", waves, shapes, weights / 2, span)
    functionals = np.zeros((2 * HARMONICS + 1, len(nodes)))
    for s in range(3):
        np.add.at(functionals.T, local[:, s], integrals[:, :, s].T)
    centre = (float(mesh.circle_centre[0]), float(mesh.circle_centre[1]))
    return Exterior(centre, mesh.circle_radius, reference_radius, nodes, functionals)
