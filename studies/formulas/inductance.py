"""Inductance per metre of parallel conductors from geometric mean radii and distances."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Floats
from fem.constants import mu_0
from studies.formulas.formula import formula
from studies.formulas.inputs import above, plane_points, positive

STEVENSON = "Textbook form [C]; W. D. Stevenson, Elements of Power System Analysis, 4th ed., 1982, ch. 3 [M]"
CLASSICAL = "Classical, conformal map of two circles [M]"
UNIFORM = "no skin or proximity effect, no steel nearby, uniform current density"

STRAND_FACTORS: dict[int, float] = {
    1: float(np.exp(-0.25)),
    3: 0.678,
    7: 0.724,
    19: 0.758,
    37: 0.768,
    61: 0.772,
    91: 0.774,
    127: 0.776,
    169: 0.779,
}
"""Geometric mean radius over outer radius [-] of round stranded conductors by number of wires, as published [C]."""


@formula(
    quantity="geometric mean radius",
    unit="m",
    source=STEVENSON,
    valid_for="solid round non-magnetic conductor, uniform current density",
)
def solid_mean_radius(radius: ArrayLike) -> Floats:
    """Geometric mean radius of a solid round conductor with uniform current density.

    radius: Radius r of the metal, above 0. [m]
    Returns mean_radius: r' = r exp(-1/4) = 0.7788 r.

    Exact for a non-magnetic conductor at a frequency with negligible skin effect.

    >>> f"{1e3 * solid_mean_radius(0.01):.3f} mm"
    '7.788 mm'
    """
    mean_radius: Floats = positive("radius", radius) * np.exp(-0.25)
    return mean_radius


@formula(
    quantity="geometric mean radius",
    unit="m",
    source="Published coefficients of X = 0.0628 ln(2 s/(a d)) mohm/m at 50 Hz [C]",
    valid_for="round conductor of equal wires, not compacted, uniform current density",
)
def strand_mean_radius(radius: ArrayLike, strands: int) -> Floats:
    """Geometric mean radius of a round stranded conductor.

    radius: Radius r of the circle around the strands, above 0. [m]
    strands: Number of equal wires, one of `STRAND_FACTORS`; 1 is a solid conductor. [-]
    Returns mean_radius: Published factor times r.

    Wires of equal size, not compacted, uniform current density. A compacted conductor lies between this and the
    solid conductor. The factors are printed to three digits.

    >>> f"{1e3 * strand_mean_radius(0.01, 19):.2f} mm"
    '7.58 mm'
    """
    if strands not in STRAND_FACTORS:
        raise ValueError(f"strands must be one of {sorted(STRAND_FACTORS)}: {strands}")
    return positive("radius", radius) * STRAND_FACTORS[strands]


@formula(
    quantity="geometric mean distance",
    unit="m",
    source=STEVENSON,
    valid_for="current shared equally by the conductors of each group",
)
def mean_distance(axes_a: ArrayLike, axes_b: ArrayLike) -> Floats:
    """Geometric mean distance between two groups of conductors.

    axes_a, shape (n, 2): Positions of the conductors of one group. [m]
    axes_b, shape (m, 2): Positions of the conductors of the other group, none of them in the first. [m]
    Returns distance: The nm-th root of the product of the nm distances.

    Exact for line currents shared equally by the conductors of each group, and for round conductors in them.

    >>> f"{mean_distance([[0.0, 0.0], [0.1, 0.0]], [[1.0, 0.0], [1.1, 0.0]]):.4f} m"
    '0.9975 m'
    """
    a, b = plane_points("axes_a", axes_a), plane_points("axes_b", axes_b)
    distances = np.linalg.norm(a[:, None, :] - b[None, :, :], axis=2)
    if np.any(distances == 0):
        raise ValueError("axes_b: one of the positions is also in axes_a")
    return np.asarray(np.exp(np.mean(np.log(distances))), dtype=np.float64)


@formula(
    quantity="geometric mean radius of a phase",
    unit="m",
    source=STEVENSON,
    valid_for="current shared equally by the conductors of the phase",
)
def bundle_mean_radius(axes: ArrayLike, mean_radius: ArrayLike) -> Floats:
    """Geometric mean radius of parallel conductors that share one phase current equally.

    axes, shape (n, 2): Positions of the conductors of the phase. [m]
    mean_radius: Geometric mean radius r' of one conductor, above 0. [m]
    Returns bundle_radius: The n^2-th root of the product of the n r' and the n (n - 1) distances.

    sqrt(r' d) for two, (r' d^2)^(1/3) for a triangle, 1.0905 (r' d^3)^(1/4) for a square. Equal sharing is an
    assumption: `parallel_currents` gives the sharing that the positions allow.

    >>> f"{1e3 * bundle_mean_radius([[0.0, 0.0], [0.4, 0.0]], 0.01):.1f} mm"
    '63.2 mm'
    """
    a, r = plane_points("axes", axes), positive("mean_radius", mean_radius)
    n = a.shape[0]
    first, second = np.triu_indices(n, 1)
    distances = np.linalg.norm(a[first] - a[second], axis=1)
    if np.any(distances == 0):
        raise ValueError("axes: two of the positions are the same")
    bundle: Floats = np.exp((n * np.log(r) + 2 * np.sum(np.log(distances))) / n**2)
    return bundle


@formula(
    quantity="equivalent spacing",
    unit="m",
    source=STEVENSON,
    valid_for="regularly transposed circuit, or the mean of three phases",
)
def equivalent_spacing(d12: ArrayLike, d23: ArrayLike, d31: ArrayLike) -> Floats:
    """Geometric mean of the three spacings of a three-phase circuit.

    d12: Distance from the first to the second phase, above 0. [m]
    d23: Distance from the second to the third phase, above 0. [m]
    d31: Distance from the third to the first phase, above 0. [m]
    Returns spacing: (d12 d23 d31)^(1/3) in the broadcast shape of the inputs.

    Gives the mean of the three phases; each phase has it exactly if the circuit is regularly transposed. In flat
    formation it is 2^(1/3) = 1.26 times the axial spacing.

    >>> f"{1e3 * equivalent_spacing(0.1, 0.1, 0.2):.1f} mm"
    '126.0 mm'
    """
    return np.cbrt(positive("d12", d12) * positive("d23", d23) * positive("d31", d31))


@formula(
    quantity="inductance per phase",
    unit="H/m",
    source=STEVENSON,
    valid_for=f"regularly transposed circuit, or the mean of three phases; {UNIFORM}",
)
def positive_sequence_inductance(spacing: ArrayLike, mean_radius: ArrayLike) -> Floats:
    """Positive-sequence inductance per phase and metre, mean of the three phases.

    spacing: Equivalent spacing Dm of the phases, above 0. [m]
    mean_radius: Geometric mean radius Ds of a phase, above 0 and below the spacing. [m]
    Returns inductance: L = (mu0/2 pi) ln(Dm/Ds) in the broadcast shape of the inputs.

    Regularly transposed or the mean of three phases; no skin or proximity effect, no steel, no screen current.

    >>> f"{1e6 * positive_sequence_inductance(0.1, 0.01):.4f} uH/m"
    '0.4605 uH/m'
    """
    r = positive("mean_radius", mean_radius)
    return mu_0 / (2 * np.pi) * np.log(above("spacing", spacing, "mean_radius", r) / r)


@formula(
    quantity="inductance inside a stranded conductor",
    unit="H/m",
    source="From the published factors of `STRAND_FACTORS` [C]; that K is this logarithm [D]",
    valid_for="equal wires, not compacted, uniform current density",
)
def strand_inductance(strands: int) -> float:
    """Constant K of the cable form: inductance inside the circle around the strands.

    strands: Number of equal wires, one of `STRAND_FACTORS`; 1 is a solid conductor. [-]
    Returns inductance: K = (mu0/2 pi) ln(r/r'), 0.05 uH/m for a solid conductor.

    Usual rounded values in mH/km: solid 0.0500, 3 wires 0.0778, 7: 0.0642, 19: 0.0554, 37: 0.0528, 61: 0.0514 [M].

    >>> f"{1e6 * strand_inductance(1):.3f} uH/m"
    '0.050 uH/m'
    """
    return float(-mu_0 / (2 * np.pi) * np.log(strand_mean_radius(1.0, strands)))


@formula(quantity="loop inductance", unit="H/m", source="Textbook form [C]", valid_for=UNIFORM)
def two_wire_inductance(distance: ArrayLike, mean_radius: ArrayLike) -> Floats:
    """Loop inductance per metre of a conductor and its return, uniform current density.

    distance: Axis to axis distance D, above the mean radius. [m]
    mean_radius: Geometric mean radius r' of either conductor, above 0. [m]
    Returns inductance: L = (mu0/pi) ln(D/r') in the broadcast shape of the inputs.

    Exact without skin and proximity effect.

    >>> f"{1e6 * two_wire_inductance(0.1, 0.01):.4f} uH/m"
    '0.9210 uH/m'
    """
    r = positive("mean_radius", mean_radius)
    return mu_0 / np.pi * np.log(above("distance", distance, "mean_radius", r) / r)


@formula(quantity="loop inductance", unit="H/m", source=CLASSICAL, valid_for="skin depth much less than radius and gap")
def two_wire_skin_inductance(distance: ArrayLike, radius: ArrayLike) -> Floats:
    """Loop inductance per metre of two round wires with full skin effect, proximity included.

    distance: Axis to axis distance D, above 2 a. [m]
    radius: Radius a of either wire, above 0. [m]
    Returns inductance: L = (mu0/pi) arccosh(D/2a) in the broadcast shape of the inputs.

    Exact in the limit of a skin depth much less than the radius and the gap.

    >>> f"{1e6 * two_wire_skin_inductance(0.1, 0.01):.4f} uH/m"
    '0.9170 uH/m'
    """
    a = positive("radius", radius)
    return mu_0 / np.pi * np.arccosh(above("distance", distance, "2 radius", 2 * a) / (2 * a))


@formula(
    quantity="resistance over resistance without proximity",
    unit="-",
    source=CLASSICAL,
    valid_for="skin depth much less than radius and gap",
)
def two_wire_proximity_factor(distance: ArrayLike, radius: ArrayLike) -> Floats:
    """Resistance of two round wires with full skin effect over the resistance of two wires far apart.

    distance: Axis to axis distance D, above 2 a. [m]
    radius: Radius a of either wire, above 0. [m]
    Returns factor: 1/sqrt(1 - (2a/D)^2) in the broadcast shape of the inputs.

    Exact in the limit of a skin depth much less than the radius and the gap.

    >>> f"{two_wire_proximity_factor(0.025, 0.01):.4f}"
    '1.6667'
    """
    a = positive("radius", radius)
    return 1 / np.sqrt(1 - (2 * a / above("distance", distance, "2 radius", 2 * a)) ** 2)
