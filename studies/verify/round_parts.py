"""Round wires, tubes and groups of wires against tables, Bessel functions and the multipole series."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fem.arrays import Floats
from fem.constants import mu_0
from fem.multipole import RoundPart
from fem.ties import Tie
from geometry.formation import flat, trefoil
from studies.formulas.inductance import two_wire_proximity_factor, two_wire_skin_inductance
from studies.formulas.resistance import skin_factor
from studies.formulas.round_conductor import round_conductor_internal_impedance, round_conductor_internal_inductance
from studies.formulas.tubular import tube_impedances
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import IEC_RESISTANCE, NBS_TABLE, NEHER_MCGRATH, SCHELKUNOFF, SERIES, SKIN_LIMIT
from studies.verify.states import FINE, MESH, MESH_REASON, State, balanced, elements, series, wires

FAMILY = CheckFamily("round")
RADIUS = 9e-3
"""Radius of the wires. [m]"""
COPPER = 58e6
"""Conductivity of the wires. [S/m]"""
WIRE_TABLE = {
    0.5: (1.00033, 0.99984),
    1.0: (1.00519, 0.99741),
    1.5: (1.02582, 0.98711),
    2.0: (1.07816, 0.96114),
    2.5: (1.17538, 0.91347),
    3.0: (1.31809, 0.84517),
    4.0: (1.67787, 0.68632),
    5.0: (2.04273, 0.55597),
    6.0: (2.39359, 0.46521),
    8.0: (3.09445, 0.35107),
    10.0: (3.79858, 0.28162),
    20.0: (7.32767, 0.14128),
}
"""R/R0 and Li/Li0 [-] of a round wire by x = a sqrt(w mu sigma) [-]."""
ONE_BY_ELEMENTS = (0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
"""Those x [-] that are also solved by finite elements."""
HALF_DIGIT = 0.5001e-5
"""Half of the last printed digit of the table, and rounding. [-]"""
TUBES = ((8e-3, 10e-3, 50.0), (5e-3, 10e-3, 400.0), (9e-3, 10e-3, 4000.0))
"""Bore radius [m], outer radius [m] and frequency [Hz] of the tubes: walls of 0.2, 1.5 and 1 skin depths."""
SPACING = 24e-3
"""Axis to axis distance of the wires: a gap of a third of their diameter. [m]"""


@FAMILY.check("round-wire")
def round_wire() -> Iterator[Checked]:
    """Skin effect of one round wire."""
    for x, published in WIRE_TABLE.items():
        impedance = round_conductor_internal_impedance(RADIUS, COPPER, _frequency(x))
        internal = round_conductor_internal_inductance(RADIUS, COPPER, _frequency(x))
        exact = (float(impedance.real) * np.pi * RADIUS**2 * COPPER, float(internal) * 8 * np.pi / mu_0)
        reason = "half of the last printed digit"
        yield from _wire_rows(x, published, exact, Method.FORMULA, tuple(HALF_DIGIT / p for p in published), reason)
    for x in ONE_BY_ELEMENTS:
        yield from _wire_rows(x, WIRE_TABLE[x], _wire_by_elements(x), Method.ELEMENTS, (MESH, MESH), MESH_REASON)


@FAMILY.check("skin-point")
def skin_point() -> tuple[Checked, ...]:
    """A printed point of skin effect."""
    x, printed = 2.14, 0.1005
    r0 = 1 / (np.pi * RADIUS**2 * COPPER)
    bessel = float(round_conductor_internal_impedance(RADIUS, COPPER, _frequency(x)).real) / r0 - 1
    rows = (
        (Method.FORMULA, "IEC 60287-1-1 fit", float(skin_factor(r0, _frequency(x)))),
        (Method.FORMULA, "Bessel functions", bessel),
        (Method.ELEMENTS, "finite elements", _wire_by_elements(x)[0] - 1),
    )
    reason = "half of the last printed digit of 10.05 %"
    return tuple(
        Checked(f"R/R0 - 1 at x = 2.14, {what}", "-", NEHER_MCGRATH, method, printed, value, 0.5e-4 / printed, reason)
        for method, what, value in rows
    )


@FAMILY.check("skin-fit")
def iec_skin_fit() -> Iterator[Checked]:
    """The standard's skin effect factor."""
    for x in (0.5, 1.0, 1.5, 2.0, 2.5):
        r0 = 1 / (np.pi * RADIUS**2 * COPPER)
        fit = 1 + float(skin_factor(r0, _frequency(x)))
        exact = float(round_conductor_internal_impedance(RADIUS, COPPER, _frequency(x)).real) / r0
        reason = "accuracy of the fit up to xs = 2.8, 0.11 % of the resistance [derived]; the standard states none"
        yield Checked(f"1 + ys at xs = {x:g}", "-", IEC_RESISTANCE, Method.FORMULA, fit, exact, 1.1e-3, reason)


@FAMILY.check("tube")
def tube() -> Iterator[Checked]:
    """Tube with its return outside."""
    for bore, outer, frequency in TUBES:
        exact = complex(tube_impedances(bore, outer, COPPER, frequency).outer)
        parts, ties = [RoundPart("tube", (0.0, 0.0), outer, bore, COPPER)], (Tie(("tube",), 1.0),)
        outside = 1j * frequency * mu_0 * np.log(2)  # w (mu0/2 pi) ln 2: the current returns at twice the radius
        states: tuple[tuple[Method, State, float, str], ...] = (
            (Method.ELEMENTS, elements(parts, frequency, ties, reference_radius=2 * outer), MESH, MESH_REASON),
            (Method.SERIES, series(parts, frequency, ties, 2 * outer), 1e-9, "both exact: rounding"),
        )
        where = f"tube {2e3 * bore:g}/{2e3 * outer:g} mm, {frequency:g} Hz"
        for method, state, tolerance, reason in states:
            internal = state.impedance("tube") - outside
            for name, value, reference in (("R", internal.real, exact.real), ("X internal", internal.imag, exact.imag)):
                yield Checked(f"{name}, {where}", "ohm/m", SCHELKUNOFF, method, reference, value, tolerance, reason)


@FAMILY.check("two-wires")
def two_wires() -> Iterator[Checked]:
    """A wire and its return, skin and proximity effect."""
    return _against_series(flat(2, SPACING, 2 * RADIUS), (Tie(("1",), 1.0), Tie(("2",), -1.0)), ("1",))


@FAMILY.check("flat-row")
def flat_row() -> Iterator[Checked]:
    """Three wires in a row, skin and proximity effect."""
    return _against_series(flat(3, SPACING, 2 * RADIUS), balanced(("1", "2", "3")), ("1", "2", "3"))


@FAMILY.check("trefoil")
def trefoil_wires() -> Iterator[Checked]:
    """Three wires in trefoil, skin and proximity effect."""
    axes = trefoil(1, 2 * RADIUS, spacing=SPACING)
    return _against_series(axes, balanced(("1", "2", "3")), ("1",))


@FAMILY.check("skin-limit")
def skin_limit() -> Iterator[Checked]:
    """Two wires at full skin effect."""
    depth = RADIUS / 1000
    frequency = float(1 / (np.pi * mu_0 * COPPER * depth**2))
    distance = 1.25 * 2 * RADIUS
    parts = wires(flat(2, distance, 2 * RADIUS), RADIUS, COPPER)
    ties = (Tie(("1",), 1.0), Tie(("2",), -1.0))
    inductance = float(two_wire_skin_inductance(distance, RADIUS))
    factor = float(two_wire_proximity_factor(distance, RADIUS))
    far = 1 / (2 * np.pi * RADIUS * depth * COPPER)
    # at full skin effect the metal holds X = R of its surface; the next order is the depth over radius and gap
    order = 2 * depth / RADIUS
    states = (
        (Method.SERIES, series(parts, frequency, ties), 0.0, ""),
        (Method.ELEMENTS, elements(parts, frequency, ties), 5 * MESH, ", and the mesh at a skin depth of 9 µm"),
    )
    for method, state, mesh, also in states:
        resistance = state.resistance("1")
        outside = 2 * (state.impedance("1").imag - resistance) / (2 * np.pi * frequency)
        reason = f"next order of the limit, 2 delta/a = 0.002{also}"
        for name, unit, published, value in (
            ("loop L outside of the metal", "H/m", inductance, outside),
            ("R over that of wires far apart", "-", factor, resistance / far),
        ):
            yield Checked(f"{name}, D = 2.5 a", unit, SKIN_LIMIT, method, published, value, order + mesh, reason)


def _frequency(x: float) -> float:
    """Frequency at which a sqrt(w mu sigma) is x [-]. [Hz]"""
    return float((x / RADIUS) ** 2 / (2 * np.pi * mu_0 * COPPER))


def _wire_by_elements(x: float) -> tuple[float, float]:
    parts = [RoundPart("wire", (0.0, 0.0), RADIUS, 0.0, COPPER)]
    state = elements(parts, _frequency(x), (Tie(("wire",), 1.0),), FINE, reference_radius=2 * RADIUS)
    outside = mu_0 / (2 * np.pi) * np.log(2)  # the current returns at twice the radius
    internal = state.impedance("wire").imag / (2 * np.pi * _frequency(x)) - outside
    return state.resistance("wire") * np.pi * RADIUS**2 * COPPER, float(internal * 8 * np.pi / mu_0)


def _wire_rows(
    x: float,
    published: tuple[float, float],
    computed: tuple[float, float],
    method: Method,
    tolerances: tuple[float, ...],
    reason: str,
) -> list[Checked]:
    return [
        Checked(f"{name} at x = {x:g}", "-", NBS_TABLE, method, reference, value, tolerance, reason)
        for name, reference, value, tolerance in zip(("R/R0", "Li/Li0"), published, computed, tolerances, strict=True)
    ]


def _against_series(axes: Floats, ties: tuple[Tie, ...], shown: tuple[str, ...]) -> Iterator[Checked]:
    """Loss and reactance of wires at 50 and 400 Hz, radius 0.96 and 2.7 skin depths."""
    for frequency in (50.0, 400.0):
        parts = wires(axes, RADIUS, COPPER)
        mesh, exact = elements(parts, frequency, ties), series(parts, frequency, ties)
        for name in shown:
            for what, value, reference in (
                ("loss/I^2", mesh.resistance(name), exact.resistance(name)),
                ("Re u/i", mesh.impedance(name).real, exact.impedance(name).real),
                ("Im u/i", mesh.impedance(name).imag, exact.impedance(name).imag),
            ):
                yield Checked(
                    *(f"{what} of wire {name}, {frequency:g} Hz", "ohm/m", SERIES, Method.ELEMENTS),
                    *(reference, value, MESH),
                    MESH_REASON,
                )
