"""Magnetic flux density of long straight parallel line currents, exact.

Resultant and major axis of the field ellipse are taken from the components by the field package.
"""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import formula
from studies.formulas.inputs import finite, phasors, plane_points, positive, zero_or_above

FREE_LINES = "no steel and no eddy currents nearby, straight parallel conductors much longer than the distance"


@formula(
    quantity="flux density, rms phasors",
    unit="T",
    source="Law of Biot and Savart, superposed by component, textbook [C]",
    valid_for=f"line currents or round conductors with circular symmetry; {FREE_LINES}",
)
def line_field(points: ArrayLike, axes: ArrayLike, currents: ArrayLike) -> Complexes:
    """Flux density of parallel line currents as rms phasors of the two components.

    points, shape (n, 2): Field points, none on an axis. [m]
    axes, shape (m, 2): Positions of the lines. [m]
    currents, shape (m,), complex: Rms phasors of the currents, towards +z. [A]
    Returns field, shape (n, 2), complex: Rms phasors (Bx, By) at each point.

    Bx = -mu0 i y/(2 pi r^2), By = mu0 i x/(2 pi r^2), (x, y) from each line to the point, summed over the lines. Exact
    for lines without width or end in non-magnetic, non-conducting surroundings, and outside round conductors whose
    current density depends on the radius alone.

    >>> f"{1e6 * line_field([[2.0, 0.0]], [[0.0, 0.0]], [100.0])[0, 1].real:.1f} uT"
    '10.0 uT'
    """
    p, a = plane_points("points", points), plane_points("axes", axes)
    x, y = p[:, :1] - a[:, 0], p[:, 1:] - a[:, 1]
    squared = x * x + y * y
    if np.any(squared == 0):
        raise ValueError(f"points: number {int(np.argwhere(squared == 0)[0, 0])} lies on the axis of a line")
    i = phasors("currents", currents, a.shape[0])
    both = np.column_stack([i.real, i.imag])  # of real matrices with them: half the work of complex ones
    # z x (x, y): right-handed about a current towards +z
    field = np.stack([(-y / squared) @ both, (x / squared) @ both], axis=1) @ (1, 1j)
    return np.asarray(mu_0 / (2 * np.pi) * field, dtype=np.complex128)


@formula(
    quantity="voltage per metre, rms phasor",
    unit="V/m",
    source="Law of induction with the flux of `line_field` between two lines, textbook [C]",
    valid_for=f"line currents or round conductors with circular symmetry; {FREE_LINES}",
)
def loop_voltage(points: ArrayLike, axes: ArrayLike, currents: ArrayLike, frequency: ArrayLike) -> Complexes:
    """Voltage that parallel line currents induce in a loop of two wires along them, per metre.

    points, shape (2, 2): Places of the two wires of the loop, none on an axis. [m]
    axes, shape (m, 2): Positions of the lines. [m]
    currents, shape (m,), complex: Rms phasors of the currents, towards +z. [A]
    frequency: Frequency f, 0 or above. [Hz]
    Returns voltage, complex: Rms phasor of the voltage along the first wire and back along the second.

    -j w mu0/(2 pi) sum i ln(d2/d1), d1 and d2 from each line to the first and to the second wire; open loop.

    >>> loop = [[7.62, 0.0], [7.9248, 0.0]]  # 25 and 26 ft from a line whose return is 5 ft nearer
    >>> f"{abs(loop_voltage(loop, [[0.0, 0.0], [1.524, 0.0]], [100.0, -100.0], 60.0)):.3e} V/m"
    '7.215e-05 V/m'
    """
    p, a = plane_points("points", points), plane_points("axes", axes)
    if len(p) != 2:
        raise ValueError(f"points: {len(p)} of them, a loop has two wires")
    squared = np.sum((p[:, None, :] - a[None, :, :]) ** 2, axis=2)
    if np.any(squared == 0):
        raise ValueError(f"points: number {int(np.argwhere(squared == 0)[0, 0])} lies on the axis of a line")
    linkage = mu_0 / (4 * np.pi) * np.log(squared[1] / squared[0]) @ phasors("currents", currents, a.shape[0])
    return np.asarray(-2j * np.pi * zero_or_above("frequency", frequency) * linkage, dtype=np.complex128)


@formula(
    quantity="flux density, rms resultant",
    unit="T",
    source="Exact form derived and checked against `line_field` [D]; far form as in W. T. Kaune, L. E. "
    "Zaffanella, Analysis of magnetic fields produced far from electric power lines, IEEE Trans. Power Delivery "
    "7(4), 1992 [M]",
    valid_for=f"exact for balanced currents in one evenly spaced row; {FREE_LINES}",
)
def flat_field(x: ArrayLike, y: ArrayLike, spacing: ArrayLike, current: ArrayLike) -> Floats:
    """Resultant rms flux density of three balanced line currents in one row, exact.

    x: Position from the middle line, along the row. [m]
    y: Position from the middle line, across the row. [m]
    spacing: Axis to axis distance s of neighbours, above 0. [m]
    current: Rms current of each phase, 0 or above. [A]
    Returns magnitude: Resultant rms flux density in the broadcast shape of the inputs, infinite on an axis.

    B = (mu0 I s/2 pi) sqrt(3 r^2 + s^2)/(r r1 r2), r the distance to the middle line, r1 and r2 to the outer ones.
    Balanced currents in either phase sequence; no net current.

    >>> f"{1e6 * flat_field(0.0, 1.0, 0.1, 400.0):.2f} uT"
    '13.74 uT'
    """
    px, py = finite("x", x), finite("y", y)
    s, i = positive("spacing", spacing), zero_or_above("current", current)
    r = np.hypot(px, py)
    return _magnitude(i * s * np.sqrt(3 * r**2 + s**2), (r, np.hypot(px - s, py), np.hypot(px + s, py)))


@formula(
    quantity="flux density, rms resultant",
    unit="T",
    source="Exact form derived and checked against `line_field` [D]; far form as in P. Pettersson, "
    "Principles in transmission line magnetic field reduction, IEEE Trans. Power Delivery 11(3), 1996 [M]",
    valid_for=f"exact for balanced currents in an equilateral triangle; {FREE_LINES}",
)
def trefoil_field(x: ArrayLike, y: ArrayLike, spacing: ArrayLike, current: ArrayLike) -> Floats:
    """Resultant rms flux density of three balanced line currents in trefoil with the apex up, exact.

    x: Position from the centroid, along the base of the triangle. [m]
    y: Position from the centroid towards the apex. [m]
    spacing: Side s of the triangle, axis to axis, above 0. [m]
    current: Rms current of each phase, 0 or above. [A]
    Returns magnitude: Resultant rms flux density in the broadcast shape of the inputs, infinite on an axis.

    B = (mu0 I s/2 pi) sqrt(3/2) sqrt(r^2 + a^2)/(r1 r2 r3), r the distance to the centroid, a = s/sqrt(3), r1 to r3
    the distances to the lines. Balanced currents in either phase sequence; no net current.

    >>> f"{1e6 * trefoil_field(1.0, 0.0, 0.1, 400.0):.2f} uT"
    '9.81 uT'
    """
    px, py = finite("x", x), finite("y", y)
    s, i = positive("spacing", spacing), zero_or_above("current", current)
    a = s / np.sqrt(3)
    distances = (np.hypot(px - s / 2, py + a / 2), np.hypot(px + s / 2, py + a / 2), np.hypot(px, py - a))
    return _magnitude(i * s * np.sqrt(1.5 * (px**2 + py**2 + a**2)), distances)


def _magnitude(numerator: Floats, distances: tuple[Floats, ...]) -> Floats:
    product = np.ones(())
    for distance in distances:
        product = product * distance
    with np.errstate(divide="ignore"):
        magnitude: Floats = mu_0 / (2 * np.pi) * numerator / product
    return magnitude
