"""Capacitance per metre of parallel conductors, and the current that charges it."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import epsilon_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import above, axis_distances, not_below, one_each, plane_points, positive

_THIN = Limit(
    "spacing / radius",
    lambda spacing, radius: spacing / radius,
    "the charges move aside and the capacitance is more than 1 % off",
    least=7,
)


@formula(
    quantity="capacitance to the screen",
    unit="F/m",
    source="IEC 60287-1-1, capacitance of a screened cable [M]; law of Gauss [D]",
    valid_for="round conductor concentric with its screen",
)
def coaxial_capacitance(
    inner_diameter: ArrayLike, outer_diameter: ArrayLike, relative_permittivity: ArrayLike
) -> Floats:
    """Capacitance per metre between a round conductor and the screen around it.

    inner_diameter: Diameter d of the conductor, with its semiconducting layer if any, above 0. [m]
    outer_diameter: Diameter D over the insulation, above d. [m]
    relative_permittivity: Relative permittivity of the insulation, above 0. [-]
    Returns capacitance: C = 2 pi eps/ln(D/d).

    Exact for concentric circles; conductors outside the screen have no effect. The standard writes eps/(18 ln(D/d))
    nF/m.

    >>> f"{1e12 * coaxial_capacitance(0.02, 0.04, 2.5):.1f} pF/m"
    '200.7 pF/m'
    """
    d = positive("inner_diameter", inner_diameter)
    big = above("outer_diameter", outer_diameter, "inner_diameter", d)
    return 2 * np.pi * epsilon_0 * positive("relative_permittivity", relative_permittivity) / np.log(big / d)


@formula(
    quantity="capacitance to neutral",
    unit="F/m",
    source="Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 4 [M]",
    valid_for="transposed circuit or the mean of three phases; bare conductors in air, distances much above the radius",
    limits=(_THIN,),
)
def transposed_capacitance(spacing: ArrayLike, radius: ArrayLike) -> Floats:
    """Capacitance per metre to neutral of each conductor of a transposed three-phase line.

    spacing: Geometric mean GMD of the three axis to axis distances, above the radius. [m]
    radius: Radius r of the bare conductors, above 0. [m]
    Returns capacitance: C = 2 pi eps0/ln(GMD/r).

    Line charges in air: distances much above the radius, no earth and no insulation.

    >>> f"{1e12 * transposed_capacitance(1.0, 0.01):.2f} pF/m"
    '12.08 pF/m'
    """
    r = positive("radius", radius)
    return 2 * np.pi * epsilon_0 / np.log(above("spacing", spacing, "radius", r) / r)


@formula(
    quantity="capacitance matrix",
    unit="F/m",
    source="Potential coefficients, textbook form [M]; the insulation as a series capacitance [D]",
    valid_for="distances much above the radii, air about the cables, no metal near",
)
def line_capacitance_matrix(
    axes: ArrayLike,
    conductor_radii: ArrayLike,
    outer_radii: ArrayLike,
    relative_permittivity: ArrayLike,
    reference_distance: float,
) -> Floats:
    """Maxwell capacitance matrix per metre of insulated conductors in air, as line charges.

    axes, shape (m, 2): Positions of the conductors. [m]
    conductor_radii, shape (m,) or one number: Radius of each conductor, above 0. [m]
    outer_radii, shape (m,) or one number: Radius over the insulation of each, not below the conductor's radius. [m]
    relative_permittivity, shape (m,) or one number: Relative permittivity of each insulation, above 0. [-]
    reference_distance: Distance of the far earth at potential zero, above 0; almost without effect on balanced
        voltages. [m]
    Returns matrix, shape (m, m): C of q = C V.

    The inverse of the potential coefficients P_kk = [ln(ro/rc)/eps_r + ln(Dref/ro)]/(2 pi eps0),
    P_kl = ln(Dref/D_kl)/(2 pi eps0). Distances much above the radii: charges on the axes.

    >>> c = line_capacitance_matrix([[0.0, 0.0], [1.0, 0.0]], 0.01, 0.01, 1.0, 100.0)
    >>> f"{1e12 * (c[0, 0] - c[0, 1]) / 2:.2f} pF/m between the wires"
    '6.04 pF/m between the wires'
    """
    a, inner, outer, permittivity = _insulated(axes, conductor_radii, outer_radii, relative_permittivity)
    reference = float(positive("reference_distance", reference_distance))
    coefficients = np.log(reference / axis_distances(a, outer)) + np.diag(np.log(outer / inner) / permittivity)
    return _inverse(coefficients)


@formula(
    quantity="capacitance matrix",
    unit="F/m",
    source="Potential coefficients with images, textbook form [M]; the insulation as a series capacitance [D]",
    valid_for="distances and heights much above the radii, one wide earthed plane, no walls",
)
def line_capacitance_matrix_over_plane(
    axes: ArrayLike, conductor_radii: ArrayLike, outer_radii: ArrayLike, relative_permittivity: ArrayLike
) -> Floats:
    """Maxwell capacitance matrix per metre of insulated conductors over an earthed plane at y = 0, as line charges.

    axes, shape (m, 2): Positions of the conductors, y at least the outer radius. [m]
    conductor_radii, shape (m,) or one number: Radius of each conductor, above 0. [m]
    outer_radii, shape (m,) or one number: Radius over the insulation of each, not below the conductor's radius. [m]
    relative_permittivity, shape (m,) or one number: Relative permittivity of each insulation, above 0. [-]
    Returns matrix, shape (m, m): C of q = C V.

    The inverse of P_kk = [ln(ro/rc)/eps_r + ln(2 y/ro)]/(2 pi eps0), P_kl = ln(D'_kl/D_kl)/(2 pi eps0), D' to the
    image under the plane. Distances and heights much above the radii, no walls.

    >>> f"{1e12 * line_capacitance_matrix_over_plane([[0.0, 1.0]], 0.01, 0.01, 1.0)[0, 0]:.2f} pF/m"
    '10.50 pF/m'
    """
    a, inner, outer, permittivity = _insulated(axes, conductor_radii, outer_radii, relative_permittivity)
    if np.any(a[:, 1] < outer):
        raise ValueError(f"axes must lie one outer radius above the plane y = 0 at least: {a[:, 1]}")
    images = np.linalg.norm(a[:, None, :] - a[None, :, :] * (1, -1), axis=2)
    coefficients = np.log(images / axis_distances(a, outer)) + np.diag(np.log(outer / inner) / permittivity)
    return _inverse(coefficients)


def _insulated(
    axes: ArrayLike, conductor_radii: ArrayLike, outer_radii: ArrayLike, relative_permittivity: ArrayLike
) -> tuple[Floats, Floats, Floats, Floats]:
    a = plane_points("axes", axes)
    inner = one_each("conductor_radii", positive("conductor_radii", conductor_radii), len(a))
    outer = one_each("outer_radii", not_below("outer_radii", outer_radii, "conductor_radii", inner), len(a))
    permittivity = positive("relative_permittivity", relative_permittivity)
    return a, inner, outer, one_each("relative_permittivity", permittivity, len(a))


def _inverse(coefficients: Floats) -> Floats:
    return np.asarray(2 * np.pi * epsilon_0 * np.linalg.inv(coefficients), dtype=np.float64)
