"""Short-circuit current and electromagnetic force per metre between parallel conductors."""

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from studies.formulas.formula import Limit, formula
from studies.formulas.inputs import phasors, plane_points, positive, zero_or_above

PEAK = "IEC 60909-0, peak short-circuit current [C]"
FLAT_FORCE = "IEC 61914, force in flat formation [M]"
AMPERE = "Law of Ampere [D]"
EVENLY_SPACED = "straight parallel conductors evenly spaced, three-phase short circuit, no magnetic parts nearby"
_KAPPA = Limit(
    "R/X", lambda resistance_over_reactance: resistance_over_reactance, "the standard's graph ends there", most=1.2
)

TREFOIL_FACTOR = 0.85
"""Factor on mu0 ip^2/(2 pi S) of a trefoil conductor as printed: 0.17 with kA [-], IEC 61914 [C]."""
FLAT_MIDDLE_FACTOR = 0.85
"""Factor on mu0 ip^2/(2 pi S) of the middle conductor as printed: 0.17 with kA [-], IEC 61914 [M]."""
FLAT_OUTER_FACTOR = 0.80
"""Factor on mu0 ip^2/(2 pi S) of an outer conductor as printed: 0.16 with kA [-], IEC 61914 [M]."""
TREFOIL_FACTOR_EXACT = float(np.sqrt(3) / 2)
"""Greatest force in trefoil with three balanced sinusoids of amplitude ip [-], 0.17321 with kA [D]."""
FLAT_MIDDLE_FACTOR_EXACT = float(np.sqrt(3) / 2)
"""Greatest force on the middle conductor with three balanced sinusoids of amplitude ip [-], 0.17321 with kA [D]."""
FLAT_OUTER_FACTOR_EXACT = float((3 + 2 * np.sqrt(3)) / 8)
"""Greatest force on an outer conductor with three balanced sinusoids of amplitude ip [-], 0.16160 with kA [D]."""


@formula(
    quantity="factor of the peak short-circuit current",
    unit="-",
    source=PEAK,
    valid_for="one series R and X, or its equivalent; R/X up to 1.2 as the standard's graph shows [M]",
    limits=(_KAPPA,),
)
def peak_factor(resistance_over_reactance: ArrayLike) -> Floats:
    """Factor kappa of the peak short-circuit current, IEC 60909.

    resistance_over_reactance: R/X of the short-circuit path, 0 or above. [-]
    Returns factor: kappa = 1.02 + 0.98 exp(-3 R/X), between 1.02 and 2.

    For one series R and X, or the equivalent of a network at 50 Hz or 60 Hz.

    >>> f"{peak_factor(0.1):.3f}"
    '1.746'
    """
    return 1.02 + 0.98 * np.exp(-3 * zero_or_above("resistance_over_reactance", resistance_over_reactance))


@formula(quantity="peak short-circuit current", unit="A", source=PEAK, valid_for="as good as its factor")
def peak_current(initial_current: ArrayLike, factor: ArrayLike) -> Floats:
    """Peak short-circuit current, IEC 60909.

    initial_current: Initial symmetrical short-circuit current Ik'', rms, 0 or above. [A]
    factor: Factor kappa of `peak_factor`, above 0. [-]
    Returns current: ip = kappa sqrt(2) Ik'', an instantaneous peak.

    The peak of the phase with the greatest offset.

    >>> f"{peak_current(10e3, 1.8):.0f} A"
    '25456 A'
    """
    current: Floats = positive("factor", factor) * np.sqrt(2) * zero_or_above("initial_current", initial_current)
    return current


@formula(
    quantity="current of a two-phase short circuit",
    unit="A",
    source="IEC 60909-0, line-to-line short circuit [M]; the ratio [D]",
    valid_for="equal positive- and negative-sequence impedances, far from generators",
)
def two_phase_current(current: ArrayLike) -> Floats:
    """Current of a two-phase short circuit from the three-phase current, IEC 60909.

    current: Initial or peak current of the three-phase short circuit, 0 or above. [A]
    Returns current: sqrt(3)/2 times the three-phase current, initial or peak: the factor kappa is the same.

    For equal positive- and negative-sequence impedances, far from generators: c Un/(2 Z1) over c Un/(sqrt(3) Z1).

    >>> f"{two_phase_current(10e3):.0f} A"
    '8660 A'
    """
    two: Floats = np.sqrt(3) / 2 * zero_or_above("current", current)
    return two


@formula(
    quantity="greatest force",
    unit="N/m",
    source="IEC 61914, force in trefoil [C]",
    valid_for="straight parallel conductors, three-phase short circuit, no magnetic parts nearby",
)
def trefoil_force(current: ArrayLike, spacing: ArrayLike, factor: float = TREFOIL_FACTOR) -> Floats:
    """Greatest force per metre on a conductor in trefoil in a three-phase short circuit, IEC 61914.

    current: Peak short-circuit current ip, 0 or above. [A]
    spacing: Axis to axis distance S, above 0. [m]
    factor: Factor on mu0 ip^2/(2 pi S): the printed one, or `TREFOIL_FACTOR_EXACT`. [-]
    Returns force: Ft = 0.17 ip^2/S with ip in kA, away from the centre.

    Straight parallel conductors, no magnetic parts near. The printed factor is 1.9 % below the exact one [D].

    >>> f"{trefoil_force(50e3, 0.05):.0f} N/m"
    '8500 N/m'
    """
    return _force(current, spacing, factor)


@formula(quantity="greatest force", unit="N/m", source=FLAT_FORCE, valid_for=EVENLY_SPACED)
def flat_middle_force(current: ArrayLike, spacing: ArrayLike, factor: float = FLAT_MIDDLE_FACTOR) -> Floats:
    """Greatest force per metre on the middle conductor of a flat formation, three-phase short circuit, IEC 61914.

    current: Peak short-circuit current ip, 0 or above. [A]
    spacing: Axis to axis distance S of neighbours, above 0. [m]
    factor: Factor on mu0 ip^2/(2 pi S): the printed one, or `FLAT_MIDDLE_FACTOR_EXACT`. [-]
    Returns force: Fm = 0.17 ip^2/S with ip in kA, to either side in turn.

    Straight parallel conductors, no magnetic parts near. The printed factor is 1.9 % below the exact one [D].

    >>> f"{flat_middle_force(50e3, 0.05):.0f} N/m"
    '8500 N/m'
    """
    return _force(current, spacing, factor)


@formula(quantity="greatest force", unit="N/m", source=FLAT_FORCE, valid_for=EVENLY_SPACED)
def flat_outer_force(current: ArrayLike, spacing: ArrayLike, factor: float = FLAT_OUTER_FACTOR) -> Floats:
    """Greatest force per metre on an outer conductor of a flat formation, three-phase short circuit, IEC 61914.

    current: Peak short-circuit current ip, 0 or above. [A]
    spacing: Axis to axis distance S of neighbours, above 0. [m]
    factor: Factor on mu0 ip^2/(2 pi S): the printed one, or `FLAT_OUTER_FACTOR_EXACT`. [-]
    Returns force: Fo = 0.16 ip^2/S with ip in kA, away from the middle.

    Straight parallel conductors, no magnetic parts near. The printed factor is 1 % below the exact one [D].

    >>> f"{flat_outer_force(50e3, 0.05):.0f} N/m"
    '8000 N/m'
    """
    return _force(current, spacing, factor)


@formula(
    quantity="greatest force",
    unit="N/m",
    source="IEC 61914, single-phase [M]; law of Ampere [D]",
    valid_for="straight parallel conductors, single-phase or two-phase short circuit, no magnetic parts nearby",
)
def two_conductor_force(current: ArrayLike, spacing: ArrayLike) -> Floats:
    """Greatest force per metre between two conductors that carry one current and its return, IEC 61914.

    current: Peak short-circuit current ip, 0 or above. [A]
    spacing: Axis to axis distance S, above 0. [m]
    Returns force: F = mu0 ip^2/(2 pi S), 0.2 ip^2/S with ip in kA, apart.

    Single-phase or two-phase short circuit; straight parallel conductors, no magnetic parts near.

    >>> f"{two_conductor_force(50e3, 0.05):.0f} N/m"
    '10000 N/m'
    """
    return _force(current, spacing, 1.0)


@formula(quantity="mean force", unit="N/m", source=AMPERE, valid_for="line currents, no magnetic parts nearby")
def mean_line_force(axes: ArrayLike, currents: ArrayLike) -> Floats:
    """Mean force per metre on each of some parallel line currents.

    axes, shape (m, 2): Positions of the lines, all different. [m]
    currents, shape (m,), complex: Rms phasors of the currents. [A]
    Returns force, shape (m, 2): Mean over a cycle of the components (Fx, Fy).

    mu0/(2 pi) times the sum over l of Re(i_k conj(i_l)) (r_l - r_k)/D_kl^2. Exact for line currents.

    >>> f"{mean_line_force([[0.0, 0.0], [0.1, 0.0]], [1000.0, -1000.0])[1, 0]:.3f} N/m"
    '2.000 N/m'
    """
    pull, i = _pull(axes, currents)
    return np.real(np.einsum("k,l,klc->kc", i, np.conj(i), pull))


@formula(
    quantity="double-frequency force", unit="N/m", source=AMPERE, valid_for="line currents, no magnetic parts nearby"
)
def alternating_line_force(axes: ArrayLike, currents: ArrayLike) -> Complexes:
    """Double-frequency force per metre on each of some parallel line currents.

    axes, shape (m, 2): Positions of the lines, all different. [m]
    currents, shape (m,), complex: Rms phasors of the currents. [A]
    Returns force, shape (m, 2), complex: Amplitude phasors (Fx, Fy) at twice the frequency; the force in time is mean +
        Re(F e^{2jwt}).

    mu0/(2 pi) times the sum over l of i_k i_l (r_l - r_k)/D_kl^2. Exact for line currents.

    >>> f"{alternating_line_force([[0.0, 0.0], [0.1, 0.0]], [1000.0, -1000.0])[1, 0].real:.3f} N/m"
    '2.000 N/m'
    """
    pull, i = _pull(axes, currents)
    force: Complexes = np.einsum("k,l,klc->kc", i, i, pull)
    return force


def _force(current: ArrayLike, spacing: ArrayLike, factor: float) -> Floats:
    i, s = zero_or_above("current", current), positive("spacing", spacing)
    return positive("factor", factor) * mu_0 * i**2 / (2 * np.pi * s)


def _pull(axes: ArrayLike, currents: ArrayLike) -> tuple[Floats, Complexes]:
    """Force per metre on k from l at one ampere each, shape (m, m, 2), and the currents."""
    a = plane_points("axes", axes)
    towards = a[None, :, :] - a[:, None, :]
    squared = np.sum(towards**2, axis=2)
    np.fill_diagonal(squared, np.inf)
    if np.any(squared == 0):
        raise ValueError("axes: two of the positions are the same")
    pull: Floats = mu_0 / (2 * np.pi) * towards / squared[:, :, None]
    return pull, phasors("currents", currents, a.shape[0])
