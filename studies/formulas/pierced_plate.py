"""Loss of plates that single cables pass through: gland plates and metal walls.

By symmetry the field at both faces of a plate round a straight conductor is that of the conductor alone, I/(2 pi r),
whatever the plate is made of, so its loss is an integral over radii of a loss per area.
"""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import above, axis_distances, phasors, plane_points, positive, zero_or_above
from studies.formulas.shielding import SATURATED, saturated_depth, saturated_plate_loss

DERIVED = "exact field I/(2 pi r) and one-dimensional penetration, re-derived [D]"
NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)
"""Quadrature over the logarithm of the radius."""
RIM_WAVES = 2 * np.arange(400) + 1
"""Odd numbers of the waves across a rim; what is left out falls with their fourth power. [-]"""
_THIN_RIM = Limit(
    "thickness / hole radius",
    lambda thickness, hole_radius: thickness / hole_radius,
    "the rim of the hole adds more than about 5 %",
    most=0.3,
)


@formula(
    quantity="loss per square of the field",
    unit="ohm",
    source="J. Lammeraner, M. Stafl, Eddy Currents, 1966 [M]; re-derived [D]",
    valid_for="exact for a linear plate with the same uniform tangential field at both faces",
)
def plate_resistance(
    thickness: ArrayLike, conductivity: ArrayLike, frequency: ArrayLike, relative_permeability: ArrayLike = 1.0
) -> Floats:
    """Loss per area of a plate with one tangential field at both faces, over the square of the rms field.

    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns resistance: R = 2/(sigma delta) (sinh x - sin x)/(cosh x + cos x), x = t/delta.

    2/(sigma delta) of both faces if the plate is thick, (w mu)^2 sigma t^3/12 if it is thin.

    >>> f"{1e6 * plate_resistance(0.005, 6e6, 50.0, 300.0):.0f} uohm"
    '216 uohm'
    """
    t, depth = positive("thickness", thickness), _skin_depth(conductivity, frequency, relative_permeability)
    x = np.minimum(t / depth, 40.0)  # the share is 1 there to all digits, and sinh still a number
    thick = (np.sinh(x) - np.sin(x)) / (np.cosh(x) + np.cos(x))
    share = np.where(x < 0.03, x**3 / 6, thick)  # sinh x - sin x loses its digits; the next term is 1e-8
    return 2 / (np.asarray(conductivity) * depth) * share


def _skin_depth(conductivity: ArrayLike, frequency: ArrayLike, relative_permeability: ArrayLike) -> Floats:
    sigma, f = positive("conductivity", conductivity), positive("frequency", frequency)
    return 1 / np.sqrt(np.pi * f * mu_0 * positive("relative_permeability", relative_permeability) * sigma)


@formula(
    quantity="loss",
    unit="W",
    source=DERIVED,
    valid_for="round linear plate about one conductor, its two faces without the rims of hole and edge",
    limits=(_THIN_RIM,),
)
def pierced_plate_loss(
    current: ArrayLike,
    hole_radius: ArrayLike,
    edge_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """Loss in a round plate with a current through the hole in its middle.

    current: Net current I through the hole, rms, 0 or above. [A]
    hole_radius: Radius a of the hole, above 0. [m]
    edge_radius: Radius b of the plate's edge, above a. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns loss: P = R I^2/(2 pi) ln(b/a), R of `plate_resistance`; I^2/(pi sigma delta) ln(b/a) of a thick plate.

    Balanced currents through holes of one infinite plate lose as much as each alone out to the geometric mean of the
    distances of the holes.

    >>> f"{pierced_plate_loss(400.0, 0.02, 0.15, 0.02, 6e6, 50.0, 300.0):.1f} W"
    '10.2 W'
    """
    i, a = zero_or_above("current", current), positive("hole_radius", hole_radius)
    b = above("edge_radius", edge_radius, "hole_radius", a)
    resistance = plate_resistance(thickness, conductivity, frequency, relative_permeability)
    return resistance * i**2 * np.log(b / a) / (2 * np.pi)


@formula(
    quantity="loss",
    unit="W",
    source=DERIVED,
    valid_for="rim of a round linear plate, much thinner than the radius",
)
def plate_rim_loss(
    current: ArrayLike,
    radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """What the rim of a hole or an edge adds to the loss of the faces of a round plate.

    current: Net current I through the plate, rms, 0 or above. [A]
    radius: Radius r of the rim, above 0. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns loss: P = I^2/(2 pi r) Re(j w mu sum over odd n of 8 t g^2/(pi^2 n^2 q^3)), q^2 = (n pi/t)^2 + g^2,
        g^2 = j w mu sigma; I^2 t/(2 pi r sigma delta) of a very thick plate, slightly below 0 of a thin one.

    The field is I/(2 pi r) all round the end of the plate, taken as straight. With the rims of hole and edge the loss
    of a round plate is exact to 1 % for t up to a [D].

    >>> f"{plate_rim_loss(400.0, 0.02, 0.02, 6e6, 50.0, 300.0):.2f} W"
    '1.99 W'
    """
    i, r, t = zero_or_above("current", current), positive("radius", radius), positive("thickness", thickness)
    sigma, omega = positive("conductivity", conductivity), 2 * np.pi * positive("frequency", frequency)
    mu = mu_0 * positive("relative_permeability", relative_permeability)
    square = np.asarray(1j * omega * mu * sigma)[..., None]
    across = (RIM_WAVES * np.pi / t[..., None]) ** 2
    waves = 8 * square / ((RIM_WAVES * np.pi) ** 2 * (across + square) ** 1.5)
    return np.asarray(i**2 * t / (2 * np.pi * r) * (1j * omega * mu * waves.sum(axis=-1)).real)


@formula(
    quantity="loss",
    unit="W",
    source=SATURATED,
    valid_for="round plate about one conductor, field far above the knee of the curve, its faces without the rims",
    limits=(_THIN_RIM,),
)
def saturated_pierced_plate_loss(
    current: ArrayLike,
    hole_radius: ArrayLike,
    edge_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    saturation: ArrayLike,
) -> Floats:
    """Loss in a round plate with a rectangular magnetisation curve, with a current through the hole in its middle.

    current: Net current I through the hole, rms, above 0. [A]
    hole_radius: Radius a of the hole, above 0. [m]
    edge_radius: Radius b of the plate's edge, above a. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    saturation: Flux density Bs of the curve's two levels, above 0; for practical steel 0.75 of the highest. [T]
    Returns loss: integral over r of 2 (1 - (1 - s^2)^1.5) 8 H0^2/(3 pi sigma d) 2 pi r, H0 = 2^0.5 I/(2 pi r),
        d = sqrt(2 H0/(w sigma Bs)), s = min(1, t/(2 d)).

    The fronts from both faces meet in the middle of a plate thinner than 2 d; then the flux has turned over and the
    loss stops. Thick plate: 2^4.75/(3 pi) (w Bs/(pi sigma))^0.5 I^1.5 (b^0.5 - a^0.5).

    >>> f"{saturated_pierced_plate_loss(400.0, 0.02, 0.15, 0.02, 6e6, 50.0, 1.5):.1f} W"
    '28.1 W'
    """
    i, a = positive("current", current), positive("hole_radius", hole_radius)
    b = above("edge_radius", edge_radius, "hole_radius", a)
    t, sigma = positive("thickness", thickness), positive("conductivity", conductivity)
    radii, weights = _radii(a, b)
    field = np.sqrt(2) * i[..., None] / (2 * np.pi * radii)
    plate = (sigma[..., None], np.asarray(frequency)[..., None], np.asarray(saturation)[..., None])
    full = np.minimum(1.0, t[..., None] / (2 * saturated_depth(field, *plate)))
    loss = 2 * (1 - (1 - full**2) ** 1.5) * saturated_plate_loss(field, *plate)
    return np.asarray((loss * 2 * np.pi * radii * weights).sum(axis=-1))


def _radii(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Radii between two and their weights of an integral over the radius, along a last axis. [m]"""
    half = np.log(b / a)[..., None] / 2
    radii = np.sqrt(a * b)[..., None] * np.exp(half * NODES)
    return radii, radii * half * WEIGHTS


@formula(
    quantity="loss over that without a slot",
    unit="-",
    source="magnetic circuit in series, its flux in and about the slot between equal potentials in arcs [D]",
    valid_for="round linear plate about one conductor, one straight slot from the hole to the edge",
)
def slotted_plate_share(
    slot_width: ArrayLike,
    hole_radius: ArrayLike,
    edge_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
    leakage: ArrayLike = 1.0,
) -> Floats:
    """Loss of a round plate with a slot from the hole to the edge, over that without.

    slot_width: Width w of the slot, 0 or above. [m]
    hole_radius: Radius a of the hole, above 0. [m]
    edge_radius: Radius b of the plate's edge, above a. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    leakage: Share of the flux about the slot that is counted, 0 or above; 1 overrates it, 0 leaves it out. [-]
    Returns share: mean of abs(2 pi r/(2 pi r + m t/L))^2 over ln r, m = mu_r tanh(x)/x, x = (1 + j) t/(2 delta),
        L = t/w + leakage (2/pi) ln(1 + pi^2 r/w).

    L is the permeance of slot and faces for each metre of radius, over mu0. The faces' flux goes in half circles over
    the slot, all of it under the whole voltage: the loss is an upper figure, 3 to 30 % above a solution of the field
    [D]. Without it (leakage 0) the loss is up to ten times too low.

    >>> f"{slotted_plate_share(0.003, 0.02, 0.15, 0.005, 6e6, 50.0, 300.0):.2f}"
    '0.52'
    """
    w, a = zero_or_above("slot_width", slot_width), positive("hole_radius", hole_radius)
    b, t = above("edge_radius", edge_radius, "hole_radius", a), positive("thickness", thickness)
    x = (1 + 1j) * t / (2 * _skin_depth(conductivity, frequency, relative_permeability))
    flux = np.asarray(np.asarray(relative_permeability) * t * np.tanh(x) / x)[..., None]
    radii, weights = _radii(a, b)
    slot = np.maximum(w, 1e-12)[..., None]
    faces = zero_or_above("leakage", leakage)[..., None] * 2 / np.pi * np.log(1 + np.pi**2 * radii / slot)
    around = 2 * np.pi * radii
    share = np.abs(around / (around + flux / (t[..., None] / slot + faces))) ** 2
    return np.asarray((share * weights / radii).sum(axis=-1) / np.log(b / a))


@formula(
    quantity="loss",
    unit="W",
    source="energy of line currents that sum to zero, by distances of the holes [D]",
    valid_for="infinite linear plate, holes much smaller than their distances; its faces without the rims of the holes",
)
def shared_plate_loss(
    currents: ArrayLike,
    holes: ArrayLike,
    hole_radius: ArrayLike,
    edge_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """Loss in one plate with currents through several holes, whose fields add in it.

    currents, shape (n,), complex: Net currents through the holes, rms. [A]
    holes, shape (n, 2): Middles of the holes. [m]
    hole_radius: Radius a of each hole, above 0. [m]
    edge_radius: Distance b at which the field of the sum of the currents is cut off, above a. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns loss: P = R/(2 pi) [abs(sum of I)^2 ln b - sum over j, k of Re(I_j I_k*) ln d_jk], d_kk = a, R of
        `plate_resistance`.

    Three balanced currents lose 3 R I^2/(2 pi) ln(GMD/a): less than each alone out to an edge beyond the GMD. Cables
    of one phase beside each other lose more than alone.

    >>> three = [400.0, 400.0 * np.exp(-2j * np.pi / 3), 400.0 * np.exp(2j * np.pi / 3)]
    >>> plate = (0.02, 0.15, 0.02, 6e6, 50.0, 300.0)
    >>> f"{shared_plate_loss(three, [[-0.06, 0], [0, 0], [0.06, 0]], *plate):.1f} W"
    '20.2 W'
    """
    places = plane_points("holes", holes)
    i = phasors("currents", currents, len(places))
    a = positive("hole_radius", hole_radius)
    b = above("edge_radius", edge_radius, "hole_radius", a)
    resistance = plate_resistance(thickness, conductivity, frequency, relative_permeability)
    together = np.outer(i, i.conj()).real
    logarithms = np.log(b) - np.log(axis_distances(places, np.broadcast_to(a, len(places))))
    return np.asarray(resistance * (together * logarithms).sum() / (2 * np.pi))


@formula(
    quantity="loss",
    unit="W",
    source="multipoles of the line currents about the middle of the opening [D]",
    valid_for="linear plate with a round opening round all conductors; the plate's effect on their field left out",
)
def common_opening_loss(
    currents: ArrayLike,
    axes: ArrayLike,
    opening_radius: ArrayLike,
    edge_radius: ArrayLike,
    thickness: ArrayLike,
    conductivity: ArrayLike,
    frequency: ArrayLike,
    relative_permeability: ArrayLike = 1.0,
) -> Floats:
    """Loss in a plate with several currents through one opening.

    currents, shape (n,), complex: Net currents of the conductors, rms. [A]
    axes, shape (n, 2): Their places from the middle of the opening. [m]
    opening_radius: Radius a of the opening, above the distance of each conductor from its middle. [m]
    edge_radius: Radius b of the plate's edge, above a. [m]
    thickness: Thickness t, above 0. [m]
    conductivity: Conductivity sigma, above 0. [S/m]
    frequency: Frequency f, above 0. [Hz]
    relative_permeability: Relative permeability mu_r, above 0. [-]
    Returns loss: P = R/(2 pi) [abs(sum of I)^2 ln(b/a) + sum over n of (abs(m_n)^2 + abs(m_-n)^2)/(4 n)
        (a^-2n - b^-2n)], m_n = sum of I z^n, m_-n = sum of I* z^n, z the places as complex numbers, R of
        `plate_resistance`.

    The field at the faces is that of the conductors alone, as if the plate had no hole.

    >>> three = [400.0, 400.0 * np.exp(-2j * np.pi / 3), 400.0 * np.exp(2j * np.pi / 3)]
    >>> places = [[-0.015, -0.0087], [0.015, -0.0087], [0, 0.0173]]
    >>> f"{common_opening_loss(three, places, 0.04, 0.15, 0.02, 6e6, 50.0, 300.0):.2f} W"
    '2.19 W'
    """
    places = plane_points("axes", axes)
    i = phasors("currents", currents, len(places))
    a = above("opening_radius", opening_radius, "the distance of each conductor", np.linalg.norm(places, axis=1).max())
    b = above("edge_radius", edge_radius, "opening_radius", a)
    resistance = plate_resistance(thickness, conductivity, frequency, relative_permeability)
    z = (places / a) @ np.array([1, 1j])
    orders = np.arange(1, ORDERS + 1)
    powers = z[None, :] ** orders[:, None]
    squares = np.abs(powers @ i) ** 2 + np.abs(powers @ i.conj()) ** 2
    poles = (squares / (4 * orders) * (1 - (a / b) ** (2 * orders))).sum()
    return np.asarray(resistance * (abs(i.sum()) ** 2 * np.log(b / a) + poles) / (2 * np.pi))


ORDERS = 200
"""Multipoles of a common opening; conductors at 0.95 of its radius leave out less than 1e-8."""
