"""Voltage drop by the rule of installation practice, from length, section and power factor alone."""

import numpy as np
from numpy.typing import ArrayLike

from studies.formulas.formula import formula
from studies.formulas.inputs import FloatArray, positive, zero_or_above

RULE_RESISTIVITY = {"copper": 0.023e-6, "aluminium": 0.037e-6}
"""Resistivity in service, 1.25 times 18.51 and 29.41 nohm m at 20 degC [ohm m], UTE C 15-105 annex G [C]."""
RULE_REACTANCE = {"trefoil or multicore": 0.08e-3, "flat, touching": 0.09e-3, "flat, spaced": 0.13e-3}
"""Reactance of each conductor by its formation, where none is known [ohm/m], UTE C 15-105 annex G [C]."""


@formula(
    quantity="voltage drop to neutral",
    unit="V",
    source="UTE C 15-105, annex G [C], as IEC 60364-5-52, annex G [M]",
    valid_for="installation practice; conductors close together, each up to about 300 mm^2, beyond which skin "
    "effect tells",
)
def rule_voltage_drop(
    current: ArrayLike,
    length: ArrayLike,
    area: ArrayLike,
    power_factor: ArrayLike,
    resistivity: ArrayLike,
    reactance: ArrayLike,
    factor: ArrayLike = 1.0,
) -> FloatArray:
    """Voltage drop to neutral along a circuit, the rule of IEC 60364-5-52 and UTE C 15-105.

    Parameters
    ----------
    current : array_like
        Rms current of each phase, 0 or above. [A]
    length : array_like
        Length of the circuit, 0 or above. [m]
    area : array_like
        Cross-section of all conductors of a phase together, above 0. [m^2]
    power_factor : array_like
        Cosine of the load's lagging angle, above 0 and at most 1. [-]
    resistivity : array_like
        Resistivity in service, above 0. [ohm m]
    reactance : array_like
        Reactance of each phase, 0 or above; that of its formation in `RULE_REACTANCE`. [ohm/m]
    factor : array_like
        1 in a three-phase circuit, 2 in a single-phase one, above 0. [-]

    Returns
    -------
    drop : ndarray
        u = b (rho L/S cos phi + x L sin phi) I.

    Notes
    -----
    The part of the drop in phase with the voltage; a fixed reactance for each formation, no skin effect, equal phases.
    """
    cosine = positive("power_factor", power_factor)
    if np.any(cosine > 1):
        raise ValueError(f"power_factor must be 1 or below: {power_factor!r}")
    ohms = positive("resistivity", resistivity) / positive("area", area)
    drop: FloatArray = (
        positive("factor", factor)
        * (ohms * cosine + zero_or_above("reactance", reactance) * np.sqrt(1 - cosine**2))
        * zero_or_above("length", length)
        * zero_or_above("current", current)
    )
    return drop
