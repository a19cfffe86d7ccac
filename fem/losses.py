"""Losses of the parts and loss density, from the field in the elements."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, curl, gradients_at, shape_values
from fem.solve import UnitFields


@dataclass(frozen=True)
class ElementFields:
    """Field quantities of each triangle."""

    flux_density: Complexes
    """(Bx, By) at the middle, shape (t, 2). [T]"""
    current_density: Complexes
    """J_z at the middle, shape (t,). [A/m^2]"""
    loss_density: Floats
    """Joule and magnetic loss, mean over the triangle, shape (t,). [W/m^3]"""


@dataclass(frozen=True)
class Losses:
    """Losses of the parts."""

    joule: Floats
    """int sigma |E|^2 of each part, shape (N,). [W/m]"""
    magnetic: Floats
    """w int Im(nu) |B|^2 of each part, shape (N,). [W/m]"""
    elsewhere: float
    """Magnetic loss in regions that belong to no part. [W/m]"""

    @property
    def total(self) -> Floats:
        """Joule and magnetic loss of each part, shape (N,). [W/m]"""
        return self.joule + self.magnetic


def losses(fields: UnitFields, voltages: Complexes, densities: Complexes | None = None) -> tuple[Losses, ElementFields]:
    """Losses of every part and fields of every triangle.

    voltages, shape (N,): Voltage of each part. [V/m]
    densities, shape (S,): Current density of each source; losses in the wire of sources are not included. [A/m^2]

    E_z = -j w A + u_k; Joule loss sigma |E|^2; magnetic loss w Im(nu) |B|^2 with rms B (nu = nu' + j nu'').
    The quadrature is exact for the square of a quadratic function on straight triangles.
    """
    mesh = fields.mesh
    nodal = fields.potential(voltages, densities)[mesh.triangles]
    nodes = mesh.points[mesh.triangles]
    sigma = np.array([material.conductivity for material in fields.materials])[mesh.regions]
    part = fields.part_of_region()[mesh.regions]
    imposed = np.where(part >= 0, fields.imposed(voltages)[part], 0)
    joule, magnetic, density = (np.zeros(len(nodes)) for _ in range(3))
    lossy = np.flatnonzero((sigma > 0) | (fields.reluctivity.imag != 0))
    joule[lossy], magnetic[lossy], area = _lost(
        nodes[lossy], nodal[lossy], sigma[lossy], fields.reluctivity.imag[lossy], imposed[lossy], fields.omega
    )
    density[lossy] = (joule[lossy] + magnetic[lossy]) / area
    of_parts = (fields.sum_over_parts(joule), fields.sum_over_parts(magnetic))
    flux_density, electric = _at_middle(nodes, nodal, imposed, fields.omega)
    elements = ElementFields(flux_density, sigma * electric, density)
    return Losses(*of_parts, float(magnetic[part < 0].sum())), elements


def _lost(
    nodes: Floats, nodal: Complexes, sigma: Floats, nu_loss: Floats, imposed: Complexes, omega: float
) -> tuple[Floats, Floats, Floats]:
    """Joule and magnetic loss [W/m] and area [m^2] of each of some triangles, shape (n,) each."""
    joule, magnetic, area = (np.zeros(len(nodes)) for _ in range(3))
    for local, weight in zip(QUADRATURE_POINTS, QUADRATURE_WEIGHTS, strict=True):
        gradients, jacobian = gradients_at(nodes, np.broadcast_to(local, (len(nodes), 2)))
        electric = imposed - 1j * omega * (nodal @ shape_values(local))
        slope = np.einsum("tni,tn->ti", gradients, nodal)
        area += weight * jacobian
        joule += weight * jacobian * sigma * np.abs(electric) ** 2
        magnetic += weight * jacobian * omega * nu_loss * np.sum(np.abs(slope) ** 2, axis=1)
    return joule, magnetic, area


def _at_middle(nodes: Floats, nodal: Complexes, imposed: Complexes, omega: float) -> tuple[Complexes, Complexes]:
    """B (t, 2) [T] and E (t,) [V/m] at the middle of each triangle."""
    middle = np.array([1 / 3, 1 / 3])
    gradients, _ = gradients_at(nodes, np.broadcast_to(middle, (len(nodes), 2)))
    slope = np.einsum("tni,tn->ti", gradients, nodal)
    electric: Complexes = imposed - 1j * omega * (nodal @ shape_values(middle))
    return curl(slope), electric
