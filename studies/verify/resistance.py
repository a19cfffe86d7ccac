"""Alternating-current resistance of three single-core cables against IEC 60287-1-1."""

from __future__ import annotations

import math

from geometry.formation import flat, trefoil
from studies.formulas.resistance import dc_resistance, flat_proximity_spacing, proximity_factor_three, skin_factor
from studies.verify.checks import Checked, CheckFamily, Method, Source
from studies.verify.sources import IEC_FLAT_SPACING, IEC_RESISTANCE
from studies.verify.states import balanced, elements, wires

FAMILY = CheckFamily("resistance")
RESISTANCE_20 = {95: 0.193e-3, 240: 0.0754e-3, 400: 0.0470e-3, 630: 0.0283e-3, 1000: 0.0176e-3}
"""Maximum dc resistance of copper, class 2, at 20 degC [ohm/m] by area [mm2]: IEC 60228."""
TEMPERATURE = 90.0
"""Temperature of the conductors. [degC]"""
COEFFICIENT = 3.93e-3
"""Temperature coefficient of copper at 20 degC, IEC 60287-1-1. [1/K]"""
FREQUENCY = 50.0
"""[Hz]"""
SPACING_RATIO = 1.3
"""Axis to axis distance over conductor diameter: touching low-voltage cables. [-]"""
SKIN_ACCURACY = 1.1e-3
"""Accuracy of 1 + ys up to xs = 2.8, against Bessel functions. [-]"""
PROXIMITY_ACCURACY = 0.04
"""Accuracy of yp. [-]"""
REASON = (
    "accuracy of the fit, the standard states none: 0.11 % of R for ys, 4 % of yp, both against exact solutions "
    "[derived]; at small xp the standard's coefficient is 1.18/0.27 = 4.37 where eddy loss in the field of two wires "
    "gives 4.5"
)


@FAMILY.check("resistance-trefoil")
def trefoil_resistance() -> tuple[Checked, ...]:
    """Skin and proximity effect in trefoil, 50 Hz, 90 degC."""
    return tuple(_row(area, "trefoil", IEC_RESISTANCE) for area in RESISTANCE_20)


@FAMILY.check("resistance-flat")
def flat_resistance() -> tuple[Checked, ...]:
    """Skin and proximity effect in a row, mean of three, 50 Hz, 90 degC."""
    return tuple(_row(area, "flat", IEC_FLAT_SPACING) for area in RESISTANCE_20)


def _row(area: int, formation: str, source: Source) -> Checked:
    dc = float(dc_resistance(RESISTANCE_20[area], COEFFICIENT, TEMPERATURE))
    radius = math.sqrt(area * 1e-6 / math.pi)
    spacing = SPACING_RATIO * 2 * radius
    skin = float(skin_factor(dc, FREQUENCY))
    proximity = float(proximity_factor_three(dc, FREQUENCY, 2 * radius, flat_proximity_spacing(spacing, spacing)))
    axes = trefoil(1, spacing) if formation == "trefoil" else flat(3, spacing, 2 * radius)
    parts = wires(axes, radius, 1 / (dc * area * 1e-6))
    state = elements(parts, FREQUENCY, balanced(("1", "2", "3")))
    mean = sum(state.resistance(name) for name in state.names) / 3
    published = 1 + skin + proximity
    return Checked(
        *(f"R/R' of {area} mm2 copper, {formation}, s = 1.3 dc", "-", source, Method.ELEMENTS),
        *(published, mean / dc, SKIN_ACCURACY + PROXIMITY_ACCURACY * proximity / published),
        REASON,
    )
