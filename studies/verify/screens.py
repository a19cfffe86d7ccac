"""Screens: circulating and eddy loss and standing voltage against IEC 60287-1-1, and all of it against the series."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from fem.arrays import Floats
from fem.multipole import RoundPart
from fem.ties import Tie
from geometry.formation import flat, trefoil
from studies.formulas.screen_eddy import eddy_factor
from studies.formulas.screens import (
    circulating_factor,
    flat_circulating_factor,
    flat_mutual_reactance,
    flat_outer_open_screen_voltage,
    screen_reactance,
    trefoil_open_screen_voltage,
)
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import FLAT_STANDING_VOLTAGE, IEC_CIRCULATING, IEC_EDDY, IEC_SCREEN_REACTANCE, SERIES
from studies.verify.states import MESH, MESH_REASON, ElementState, balanced, elements, series

FAMILY = CheckFamily("screens")
FREQUENCY = 50.0
"""[Hz]"""
COPPER = 58e6
"""Conductivity of screens and conductors. [S/m]"""
BORE = 12e-3
"""Inner radius of the screens. [m]"""
THIN_WIRE = 2e-3
"""Radius of conductors that are thin, as the standard's derivation takes them: a fifth of the skin depth. [m]"""
CONDUCTOR = 9e-3
"""Radius of conductors as cables have them. [m]"""
SPACING = 60e-3
"""Axis to axis distance: a clear gap of more than a screen's diameter. [m]"""
THICKNESSES = (0.2e-3, 1.0e-3)
"""Thickness of the screens: m = w 1e-7/Rs is 0.03 and 0.14. [m]"""
PLACES = ("leading", "centre", "lagging")
"""The cables of a row from the left, which carry L1, L2, L3."""
CONDUCTORS = ("c1", "c2", "c3")
SCREENS = ("s1", "s2", "s3")


@FAMILY.check("screen-circulating")
def circulating() -> Iterator[Checked]:
    """Screens bonded at both ends, thin conductors: circulating loss, s = 60 mm."""
    for thickness in THICKNESSES:
        mean, rs, x, xm = _screen(thickness)
        m = 2 * math.pi * FREQUENCY * 1e-7 / rs
        bond = (*balanced(CONDUCTORS), Tie(SCREENS))
        three, row = _states(thickness, bond)
        pairs = [("trefoil", float(circulating_factor(rs, rs, x)), abs(three.current("s1")) ** 2)]
        for place, name in zip(PLACES, SCREENS, strict=True):
            factor = float(flat_circulating_factor(place, rs, rs, x, xm))
            pairs.append((f"flat, {place}", factor, abs(row.current(name)) ** 2))
        reason = "eddy currents of the neighbouring screens, m (d/2s)^2, and the mesh [derived]"
        for where, published, computed in pairs:
            yield Checked(
                *(f"lambda1' R/Rs, {where}, screen {1e3 * thickness:g} mm", "-", IEC_CIRCULATING, Method.ELEMENTS),
                *(published, computed, m * (mean / (2 * SPACING)) ** 2 + MESH),
                reason,
            )


@FAMILY.check("screen-eddies")
def eddies() -> Iterator[Checked]:
    """Screens bonded at one end, thin conductors: eddy loss, s = 60 mm."""
    for thickness in THICKNESSES:
        mean, rs, _, _ = _screen(thickness)
        three, row = _states(thickness, _open())
        inputs = (rs, rs, mean, SPACING, thickness, 1 / COPPER, FREQUENCY)
        fit = (
            "the standard's corrections Delta are fits without a stated accuracy: 2 % of the loss at d/2s = 0.2, with "
            "thin conductors as the standard takes them; eddy currents in copper conductors of 9 mm radius inside the "
            "screens put the loss 4 to 9 % below the standard's here [derived]"
        )
        slow = (
            "as the others, and 3 % because the exact series has no term linear in d/2s, which the Delta1 of the "
            "lagging cable has [derived]"
        )
        rows = (
            ("trefoil", three.loss("s1"), 0.02, fit),
            ("flat, leading", row.loss("s1"), 0.02, fit),
            ("flat, centre", row.loss("s2"), 0.02, fit),
            ("flat, lagging", row.loss("s3"), 0.05, slow),
        )
        for where, loss, tolerance, reason in rows:
            yield Checked(
                *(f"lambda1'' R/Rs, {where}, screen {1e3 * thickness:g} mm", "-", IEC_EDDY, Method.ELEMENTS),
                *(float(eddy_factor(where.removeprefix("flat, "), *inputs)), loss / rs, tolerance),
                reason,
            )


@FAMILY.check("screen-voltage")
def standing_voltage() -> tuple[Checked, ...]:
    """Screens bonded at one end, thin conductors: standing voltage, s = 60 mm."""
    thickness = THICKNESSES[0]
    mean, rs, x, xm = _screen(thickness)
    three, row = _states(thickness, _open())
    inner, outer = float(trefoil_open_screen_voltage(1.0, x)), float(flat_outer_open_screen_voltage(1.0, x, xm))
    m = 2 * math.pi * FREQUENCY * 1e-7 / rs
    reason = "eddy currents of the neighbouring screens, m (d/2s)^2, and the mesh [derived]"
    rows = (
        ("trefoil", IEC_SCREEN_REACTANCE, inner, abs(three.voltage("s1"))),
        ("flat, leading", FLAT_STANDING_VOLTAGE, outer, abs(row.voltage("s1"))),
        ("flat, centre", IEC_SCREEN_REACTANCE, inner, abs(row.voltage("s2"))),
        ("flat, lagging", FLAT_STANDING_VOLTAGE, outer, abs(row.voltage("s3"))),
    )
    return tuple(
        Checked(
            *(f"voltage per ampere, {where}", "V/A/m", source, Method.ELEMENTS),
            *(published, computed, m * (mean / (2 * SPACING)) ** 2 + MESH),
            reason,
        )
        for where, source, published, computed in rows
    )


@FAMILY.check("screen-series")
def screened_cables() -> Iterator[Checked]:
    """Screened cables in trefoil, s = 30 mm."""
    parts = _cables(trefoil(1, 30e-3), THICKNESSES[1], CONDUCTOR)
    for bonding, ties in (("bonded at both ends", (*balanced(CONDUCTORS), Tie(SCREENS))), ("open", _open())):
        mesh, exact = elements(parts, FREQUENCY, ties), series(parts, FREQUENCY, ties)
        for name, part in (("c1", "conductor"), ("s1", "screen")):
            yield Checked(
                *(f"loss of a {part} at 1 A, screens {bonding}", "W/m", SERIES, Method.ELEMENTS),
                *(exact.loss(name), mesh.loss(name), MESH),
                MESH_REASON,
            )


def _states(thickness: float, ties: Sequence[Tie]) -> list[ElementState]:
    """Screened cables with thin conductors in trefoil and in a row."""
    layouts = (trefoil(1, SPACING), flat(3, SPACING, 2 * BORE))
    return [elements(_cables(axes, thickness, THIN_WIRE), FREQUENCY, ties) for axes in layouts]


def _screen(thickness: float) -> tuple[float, float, float, float]:
    """Mean diameter [m], resistance [ohm/m], X and Xm [ohm/m] of a screen."""
    mean = 2 * BORE + thickness
    resistance = 1 / (math.pi * mean * thickness * COPPER)
    return (
        mean,
        resistance,
        float(screen_reactance(SPACING, mean, FREQUENCY)),
        float(flat_mutual_reactance(FREQUENCY)),
    )


def _cables(axes: Floats, thickness: float, radius: float) -> list[RoundPart]:
    places = [(float(x), float(y)) for x, y in axes]
    return [
        *(RoundPart(name, at, radius, 0.0, COPPER) for name, at in zip(CONDUCTORS, places, strict=True)),
        *(RoundPart(name, at, BORE + thickness, BORE, COPPER) for name, at in zip(SCREENS, places, strict=True)),
    ]


def _open() -> tuple[Tie, ...]:
    return (*balanced(CONDUCTORS), *(Tie((name,)) for name in SCREENS))
