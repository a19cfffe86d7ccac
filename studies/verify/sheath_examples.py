"""Sheaths in worked examples of textbooks, through study files with a route: current, loss and standing voltage."""

from __future__ import annotations

import math
from dataclasses import dataclass

from studies.answers.route.rows import RouteLineResult
from studies.runner import run
from studies.study.reading import loads
from studies.verify.checks import Checked, CheckFamily, Method, Source
from studies.verify.sources import SHEATHS_BONDED, SHEATHS_LONG, SHEATHS_OPEN
from studies.verify.states import MESH

FAMILY = CheckFamily("sheath-examples")
INCH, MILE = 25.4e-3, 1609.344
"""[m]"""
CURRENT = 400.0
"""Of all three examples. [A]"""
THIN = 2e-3
"""Radius of the conductors: the examples take them as lines on the axes. [m]"""


@dataclass(frozen=True)
class Sheaths:
    """Three cables in trefoil, as an example states them."""

    inner: float
    """Radius of the sheath. [m]"""
    outer: float
    """[m]"""
    spacing: float
    """Axis to axis. [m]"""
    resistance: float
    """Of a sheath. [ohm/m]"""
    frequency: float
    """[Hz]"""
    length: float
    """Of the run. [m]"""

    @property
    def neighbours(self) -> float:
        """What eddy currents of the neighbouring sheaths, which the examples leave out, may change: m (d/2s)^2. [-]"""
        m = 2 * math.pi * self.frequency * 1e-7 / self.resistance
        return m * ((self.inner + self.outer) / (2 * self.spacing)) ** 2

    def run(self, bonded: bool) -> RouteLineResult:
        """The sheath of L1 along the run, bonded at both ends or open."""
        area = math.pi * (self.outer**2 - self.inner**2)
        jacket = self.spacing / 2 - self.outer  # to half the spacing, so that cables touch
        text = f"""
            title = "Sheaths of an example"
            frequency = "{self.frequency!r} Hz"
            [materials.sheath]
            conductivity = "{1 / (self.resistance * area)!r} S/m"
            relative_permeability = 1
            [cables.c]
            conductor = {{ material = "copper", area = "{1e6 * math.pi * THIN**2!r} mm^2", temperature = "20 degC" }}
            insulation = "{self.inner - THIN!r} m"
            sheath = {{ material = "sheath", thickness = "{self.outer - self.inner!r} m", temperature = "20 degC" }}
            jacket = "{max(jacket, GAP)!r} m"
            [[circuits]]
            name = "F"
            cable = "c"
            arrangement = "trefoil"
            rests_at = ["0 m", "0 m"]
            phases = ["L1", "L2", "L3"]
            current = "{CURRENT} A"
            [[route]]
            length = "{self.length!r} m"
            [accuracy]
            tolerance = "0.5 %"
            """
        bond = '[[bonds]]\nparts = ["F sheaths"]\n' if bonded else ""
        route = run(loads(text + bond)).route
        assert route is not None
        return next(line for line in route.lines if line.layer == "sheath" and line.phase == "L1")


GAP = 0.03e-3
"""Jacket of sheaths that touch in the example: 0.15 % of the spacing in all. [m]"""
REASON = "eddy currents of the neighbouring sheaths, m (d/2s)^2, which the example leaves out, and the mesh [derived]"


@FAMILY.check("sheaths-bonded")
def bonded() -> tuple[Checked, ...]:
    """Textbook: touching lead sheaths, 35 kV, 60 Hz, both ends bonded."""
    conductor, insulation, lead, ohms = 0.681, 0.345, 0.105, 0.190  # [in], of the conductor [ohm/mi]
    inner = conductor / 2 + insulation
    outer = inner + lead
    per_mile = 0.2 / ((outer + inner) * (outer - inner))  # as the example has it, radii in inches [ohm/mi]
    cable = Sheaths(inner * INCH, outer * INCH, 2 * outer * INCH, per_mile / MILE, 60.0, 10 * MILE)
    ratio = per_mile * abs(cable.run(bonded=True).current_a / CURRENT) ** 2 / ohms
    # 0.15 % more spacing, through the logarithm of 2 s/d = 2.14 and squared
    tolerance = 2 * cable.neighbours + 2 * 0.0015 / math.log(2.14) + MESH + 0.5e-4 / 0.0347
    reason = f"{REASON}, both squared; the gap of 0.06 mm between sheaths, and half of the last digit"
    kilowatts = 3 * ratio * ohms * 10 * CURRENT**2 / 1e3
    return (
        _comparison(
            "loss of a sheath over that of its conductor", "-", SHEATHS_BONDED, 0.0347, ratio, tolerance, reason
        ),
        _comparison("loss of all sheaths", "kW", SHEATHS_BONDED, 31.6, kilowatts, tolerance, reason),
    )


@FAMILY.check("sheath-voltage")
def standing() -> tuple[Checked, ...]:
    """Textbook: sheaths of 2 km, one end bonded, standing voltage."""
    lead = 21.4e-8 / (math.pi * (11.4e-3**2 - 9.88e-3**2))  # IEC 60287-1-1; the example needs none
    cable = Sheaths(9.88e-3, 11.4e-3, 50.8e-3, lead, 314 / (2 * math.pi), 2000.0)
    volts = cable.run(bonded=False).largest_voltage_v or 0.0
    tolerance = cable.neighbours + MESH + 0.005 / 78.54
    return (_comparison("voltage of the open end", "V", SHEATHS_OPEN, 78.54, volts, tolerance, REASON),)


@FAMILY.check("sheaths-long")
def long_run() -> tuple[Checked, ...]:
    """Textbook: lead sheaths of 85 km, loss and standing voltage."""
    length, ohms = 85e3, 0.0875e-3 * 85e3
    rs = 23.2e-8 / (math.pi * (0.03**2 - 0.025**2))
    cable = Sheaths(0.025, 0.03, 0.08, rs, 50.0, length)
    ratio = rs * length * abs(cable.run(bonded=True).current_a / CURRENT) ** 2 / ohms
    volts = cable.run(bonded=False).largest_voltage_v or 0.0
    squared = 2 * cable.neighbours + MESH + 0.5e-4 / 0.1803
    return (
        _comparison("loss of a sheath over that of its conductor", "-", SHEATHS_LONG, 0.1803, ratio, squared, REASON),
        _comparison("effective resistance", "ohm", SHEATHS_LONG, 8.779, ohms * (1 + ratio), 0.2 * squared, REASON),
        _comparison("voltage of the open end", "V", SHEATHS_LONG, 2281.0, volts, cable.neighbours + MESH, REASON),
    )


def _comparison(
    quantity: str, unit: str, source: Source, published: float, computed: float, tolerance: float, reason: str
) -> Checked:
    return Checked(quantity, unit, source, Method.STUDY, published, computed, tolerance, reason)
