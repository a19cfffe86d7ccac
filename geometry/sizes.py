"""Conductor sizes by name: nominal square millimetres, American wire gauge and thousand circular mils, as areas [m^2].

Nominal areas in mm^2: IEC 60228:2004, table 1 and 2 [C].
American wire gauge: ASTM B258, diameter = 0.005 in * 92^((36 - n)/39), n = 0, -1, -2, -3 for 1/0 to 4/0 [C].
Circular mil: the area of a circle of 0.001 in diameter, pi/4 * (25.4e-6 m)^2 (definition).
Standard kcmil sizes: NEC chapter 9 table 8 [M].
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

INCH = 25.4e-3
"""One inch, exact by definition. [m]"""

CIRCULAR_MIL = math.pi / 4 * (1e-3 * INCH) ** 2
"""One circular mil. [m^2]"""

IEC_AREAS_MM2 = (
    *(0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0, 185.0, 240.0),
    *(300.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1200.0, 1400.0, 1600.0, 1800.0, 2000.0, 2500.0),
)
"""Nominal cross-sectional areas of IEC 60228. [mm^2]"""

KCMIL_SIZES = (250, 300, 350, 400, 450, 500, 550, 600, 650, 700, 750, 800, 900, 1000, 1250, 1500, 1750, 2000)
"""Standard sizes above 4/0 AWG. [kcmil]"""

LARGEST_GAUGE_NUMBER = 40


def gauge_diameter(number: int) -> float:
    """Diameter [m] of a solid round wire of American wire gauge n, from -3 (4/0 AWG) through 0 (1/0 AWG) to 40."""
    if not -3 <= number <= LARGEST_GAUGE_NUMBER:
        raise ValueError(f"gauge number outside -3 to {LARGEST_GAUGE_NUMBER}: {number}")
    diameter: float = 0.005 * INCH * 92 ** ((36 - number) / 39)
    return diameter


def _gauge_name(number: int) -> str:
    return f"{number} AWG" if number > 0 else f"{1 - number}/0 AWG"


def _areas() -> dict[str, float]:
    areas = {f"{area:g} mm^2": area * 1e-6 for area in IEC_AREAS_MM2}
    for number in range(-3, LARGEST_GAUGE_NUMBER + 1):
        areas[_gauge_name(number)] = math.pi / 4 * gauge_diameter(number) ** 2
    for size in KCMIL_SIZES:
        areas[f"{size} kcmil"] = size * 1000 * CIRCULAR_MIL
    return areas


AREAS: Mapping[str, float] = MappingProxyType(_areas())
"""Area of every conductor size by its exact name: "240 mm^2", "4/0 AWG", "500 kcmil". [m^2]"""
