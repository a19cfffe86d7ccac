"""Unbalance of three phases: symmetrical components, and one definition for each measure made of them."""

from collections.abc import Mapping
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from studies.formulas.formula import formula
from studies.formulas.inputs import phasors, positive

UNBALANCE = "IEC 61000-4-30, supply voltage unbalance [C]"

X_SPREAD, Z_DEVIATION, V2_OVER_V1, V0_OVER_V1, NEMA = "x_spread", "z_deviation", "V2/V1", "V0/V1", "NEMA"
DEFINITIONS: Mapping[str, str] = {
    X_SPREAD: "largest minus smallest reactance of the phases, Im(u/i), over their mean",
    Z_DEVIATION: "largest deviation of a phase's impedance u/i from the mean of the phases, over the mean",
    V2_OVER_V1: "negative- over positive-sequence voltage; of the drops that balanced currents make, |Z21/Z11|",
    V0_OVER_V1: "zero- over positive-sequence voltage; of the drops that balanced currents make, |Z01/Z11|",
    NEMA: "largest deviation of a line to line voltage from the mean of the three, over the mean (NEMA MG 1)",
}
"""The measures of unbalance by their names. x_spread and z_deviation hold the drop that is common to the phases."""

Values = TypeVar("Values", Floats, Complexes)

_TURN = np.exp(2j * np.pi / 3)
_TO_SEQUENCE = np.array([[1, 1, 1], [1, _TURN, _TURN**2], [1, _TURN**2, _TURN]]) / 3


@formula(
    quantity="zero, positive and negative sequence",
    unit="V",
    source="C. L. Fortescue, Trans. AIEE 37, 1918, p. 1027 [C]; definitions of IEC 61000-3-13 [C]",
    valid_for="any three phasors",
)
def sequence_components(voltages: ArrayLike) -> Complexes:
    """Zero, positive and negative sequence of three phasors.

    voltages, shape (3,), complex: Rms phasors of L1, L2, L3, voltages to neutral (or currents, in amperes). [V]
    Returns components, shape (3,), complex: U0, U1, U2.

    U0 = (Ua + Ub + Uc)/3, U1 = (Ua + a Ub + a^2 Uc)/3, U2 = (Ua + a^2 Ub + a Uc)/3, a = e^{+j 2 pi/3}.

    >>> turn = np.exp(-2j * np.pi / 3)
    >>> f"{abs(sequence_components([230.0, 230.0 * turn, 230.0 * turn**2])[1]):.1f} V"
    '230.0 V'
    """
    return _TO_SEQUENCE @ phasors("voltages", voltages, 3)


@formula(
    quantity="negative over positive sequence",
    unit="-",
    source=UNBALANCE,
    valid_for="any three phasors with a positive sequence",
)
def negative_sequence_unbalance(voltages: ArrayLike) -> Floats:
    """Negative over positive sequence of three phasors.

    voltages, shape (3,), complex: Rms phasors of L1, L2, L3, voltages to neutral (or currents, in amperes). [V]
    Returns unbalance: |U2|/|U1|.

    Exact by definition. A zero sequence has no effect.

    >>> turn = np.exp(-2j * np.pi / 3)
    >>> f"{100 * negative_sequence_unbalance([100.0, 100.0 * turn, 90.0 * turn**2]):.2f} %"
    '3.45 %'
    """
    _, positive_sequence, negative = _with_positive_sequence(voltages)
    return np.asarray(np.abs(negative / positive_sequence), dtype=np.float64)


@formula(
    quantity="zero over positive sequence",
    unit="-",
    source=UNBALANCE,
    valid_for="any three phasors with a positive sequence",
)
def zero_sequence_unbalance(voltages: ArrayLike) -> Floats:
    """Zero over positive sequence of three phasors.

    voltages, shape (3,), complex: Rms phasors of L1, L2, L3, voltages to neutral (or currents, in amperes). [V]
    Returns unbalance: |U0|/|U1|.

    Exact by definition; depends on the reference point of the voltages.

    >>> turn = np.exp(-2j * np.pi / 3)
    >>> f"{100 * zero_sequence_unbalance([100.0, 100.0 * turn, 90.0 * turn**2]):.2f} %"
    '3.45 %'
    """
    zero, positive_sequence, _ = _with_positive_sequence(voltages)
    return np.asarray(np.abs(zero / positive_sequence), dtype=np.float64)


@formula(
    quantity="largest deviation from the mean",
    unit="-",
    source="NEMA MG 1, voltage unbalance [C]",
    valid_for="magnitudes of three line voltages",
)
def largest_deviation_unbalance(line_voltages: ArrayLike) -> Floats:
    """Largest deviation of the three line voltages from their mean, over the mean.

    line_voltages, shape (3,): Rms line to line voltages, above 0. [V]
    Returns unbalance: max |U - mean|/mean.

    Needs no angles. Between sqrt(3)/2 and 1 times |U2|/|U1| while both are small [D].

    >>> f"{100 * largest_deviation_unbalance([462.0, 463.0, 455.0]):.2f} %"
    '1.09 %'
    """
    u = _three("line_voltages", line_voltages)
    return np.asarray(np.max(np.abs(u - u.mean())) / u.mean(), dtype=np.float64)


@formula(
    quantity="spread of reactances",
    unit="-",
    source="a definition of this project; a spread over the mean is common practice, no source [P]",
    valid_for="reactances of phases whose mean is not zero",
)
def x_spread(reactances: ArrayLike) -> Floats:
    """Largest minus smallest reactance of some phases, over the mean.

    reactances, shape (n, ...): Im(u/i) of each phase, along the first axis. [ohm/m]
    Returns spread: (max X - min X)/|mean X| in the shape of the other axes; 0 if the mean is 0.

    It holds the drop that the phases have in common, their zero sequence, although no voltage from line to line does.

    >>> f"{100 * x_spread([1.2e-4, 1.4e-4, 1.3e-4]):.1f} %"
    '15.4 %'
    """
    x = _some("reactances", np.asarray(reactances, dtype=np.float64))
    mean = np.abs(x.mean(axis=0))
    spread: Floats = np.divide(np.ptp(x, axis=0), mean, out=np.zeros_like(mean), where=mean > 0)
    return spread


@formula(
    quantity="largest deviation of an impedance",
    unit="-",
    source="a definition of this project, in the form of NEMA MG 1, voltage unbalance [D]",
    valid_for="impedances of phases whose mean is not zero",
)
def z_deviation(impedances: ArrayLike) -> Floats:
    """Largest deviation of an impedance of some phases from the mean, over the mean's magnitude.

    impedances, shape (n, ...), complex: u/i of each phase, along the first axis. [ohm/m]
    Returns deviation: max |Z - mean Z|/|mean Z| in the shape of the other axes; 0 if the mean is 0.

    It holds the drop that the phases have in common, as `x_spread` does.

    >>> f"{100 * z_deviation([1 + 1j, 1 + 2j, 1 + 3j]):.1f} %"
    '44.7 %'
    """
    z = _some("impedances", np.asarray(impedances, dtype=np.complex128))
    mean = np.abs(z.mean(axis=0))
    largest = np.abs(z - z.mean(axis=0)).max(axis=0)
    deviation: Floats = np.divide(largest, mean, out=np.zeros_like(mean), where=mean > 0)
    return deviation


def _some(name: str, values: Values) -> Values:
    if values.ndim == 0 or len(values) == 0 or not np.all(np.isfinite(values)):
        raise ValueError(f"{name} outside the range of this formula, finite numbers of one phase at least: {values!r}")
    return values


def _with_positive_sequence(voltages: ArrayLike) -> Complexes:
    components = sequence_components(voltages)
    if abs(components[1]) <= 1e-12 * np.max(np.abs(components)):
        raise ValueError(f"voltages have no positive sequence: {voltages!r}")
    return components


def _three(name: str, value: ArrayLike) -> Floats:
    array = positive(name, value)
    if array.shape != (3,):
        raise ValueError(f"{name} must have the shape (3,): {array.shape}")
    return array
