"""A study of three cables in a steel channel, run as a user runs it, against a solution with another library."""

from __future__ import annotations

from studies.runner import run
from studies.study.reading import loads
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import SECOND_LIBRARY

FAMILY = CheckFamily("library")
STUDY = """\
title = "Flat in a steel channel"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC", dc_resistance = "0.0754 ohm/km" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[materials.sheet]
conductivity = "6 MS/m"
relative_permeability = 300

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "sheet"
"""
"""The cross-section as a study."""
LOSSES = {
    "F1.1.conductor": 14.78140029,
    "F1.2.conductor": 15.03287412,
    "F1.3.conductor": 14.81361251,
    "T1": 4.167298731,
}
"""Loss of each part. [W/m]"""
VOLTAGES = {
    "F1.1.conductor": 0.06537170736 + 0.08433083539j,
    "F1.2.conductor": 0.04213349737 - 0.06914448093j,
    "F1.3.conductor": -0.08725018819 - 0.02981779227j,
    "T1": -0.0003902147745 + 0.0002090995325j,
}
"""Voltage drop per metre of each part, the tray without net current. [V/m]"""
FIELDS = {
    (1.5, 0.5): 2.253798018e-06,
    (0.6, 0.05): 1.534016752e-05,
    (-0.4, 0.3): 2.687214769e-05,
    (0.0, 1.2): 4.36116739e-06,
    (3.0, 1.0): 5.535868514e-07,
    (0.0, -5.0): 2.102800357e-07,
    (20.0, 0.0): 1.359864962e-08,
    (0.0, 0.08): 1.639196196e-03,
}
"""Resultant rms field at points (x, y) [m]. [T]"""
TOLERANCE = 1e-3
"""Tolerance that the study asks for, "0.1 %". [-]"""


@FAMILY.check("second-library")
def steel_channel() -> tuple[Checked, ...]:
    """Three cables flat in a steel channel, 400 A, 50 Hz."""
    receptors = "".join(
        f'[[receptors]]\nname = "point {k}"\nat = ["{x} m", "{y} m"]\n' for k, (x, y) in enumerate(FIELDS, start=1)
    )
    result = run(loads(f'{STUDY}\n{receptors}\n[accuracy]\ntolerance = "{100 * TOLERANCE:g} %"\n'))
    rows: list[tuple[str, str, float, float, float | None]] = [
        (f"loss of {entry.part}", "W/m", LOSSES[entry.part], entry.loss_w_per_m, None) for entry in result.losses
    ]
    for part in result.parts:
        exact = VOLTAGES[part.part]
        for name, published, computed in (
            ("Re u", exact.real, part.voltage_v_per_m.real),
            ("Im u", exact.imag, part.voltage_v_per_m.imag),
        ):
            rows.append((f"{name} of {part.part}", "V/m", published, computed, abs(exact)))
    rows += [
        (f"B at ({entry.x_m:g} m, {entry.y_m:g} m)", "T", FIELDS[entry.x_m, entry.y_m], entry.b_rms_t, None)
        for entry in result.receptors
    ]
    return tuple(
        Checked(
            *(name, unit, SECOND_LIBRARY, Method.STUDY),
            *(published, computed, TOLERANCE),
            "the accuracy that the study asks for",
            scale,
        )
        for name, unit, published, computed, scale in rows
    )
