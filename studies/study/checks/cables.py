"""Cables: metal layers that must not touch, and a conductor whose numbers agree."""

import math
from collections.abc import Iterator, Mapping

from studies.study.checks.findings import Finding, Place, Reader, Table
from studies.study.checks.materials import resistivity_of
from studies.study.parts import ARMOUR, METAL_LAYERS, SCREEN, SHEATH

# Common practice, no source: a strand bundle fills from about half (flexible, hollow) to all of its circle, and a solid
# conductor of the maximum resistance has a little less metal than its nominal area.
FILL_RANGE = (0.4, 1.15)
"""Nominal area over the area of the conductor's circle. [-]"""

# Common practice, no source: wide enough for any stranding, narrow enough to catch ohm/m written for ohm/km.
RESISTANCE_RANGE = (0.5, 2.0)
"""Stated dc resistance over resistivity over nominal area. [-]"""


def cable_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each cable."""
    for name, cable in reader.named("cables").items():
        yield from _layers(("cables", name), cable)
        conductor = cable.get("conductor")
        if isinstance(conductor, Mapping):
            yield from _conductor(reader, ("cables", name, "conductor"), conductor)


def _layers(place: Place, cable: Table) -> Iterator[Finding]:
    metal = [layer for layer in METAL_LAYERS if layer in cable]
    if metal and "jacket" not in cable:
        what = {SCREEN: "a screen", SHEATH: "a sheath", ARMOUR: "an armour"}[metal[-1]]
        right = f'jacket = "1.8 mm"; without one, touching {metal[-1]}s would be one part'
        yield Finding((*place, "jacket"), f"is missing over {what}", right)
    both = SCREEN in cable and SHEATH in cable
    if both and "separation" not in cable:
        right = 'separation = "0.5 mm"; screen and sheath in contact are one metal layer'
        yield Finding((*place, "separation"), "is missing between screen and sheath", right)
    if "separation" in cable and not both:
        wrong = "lies between screen and sheath, of which this cable has not both"
        yield Finding((*place, "separation"), wrong, "leave it out; insulation and bedding are the other layers")
    under = [layer for layer in metal if layer != ARMOUR]
    if ARMOUR in cable and under and "bedding" not in cable:
        right = 'bedding = "1.2 mm"; metal layers in contact are one'
        yield Finding((*place, "bedding"), f"is missing between {under[-1]} and armour", right)
    if "bedding" in cable and ARMOUR not in cable:
        yield Finding((*place, "bedding"), "lies under an armour, of which this cable has none", "leave it out")


def _conductor(reader: Reader, place: Place, conductor: Table) -> Iterator[Finding]:
    area = reader.number(conductor.get("area"), "area")
    if area is None:
        return
    diameter = reader.number(conductor.get("diameter"), "diameter")
    low, high = FILL_RANGE
    if diameter is not None and not low <= area / (math.pi / 4 * diameter**2) <= high:
        least, most = (math.sqrt(4 * area / math.pi / fill) * 1e3 for fill in (high, low))
        wrong = f"does not go with the area of {area * 1e6:.4g} mm^2"
        yield Finding((*place, "diameter"), wrong, f"from {least:.3g} mm to {most:.3g} mm, outside of the strands")
    resistance = reader.number(conductor.get("dc_resistance"), "dc resistance")
    resistivity = resistivity_of(reader, conductor.get("material"))
    if resistance is not None and resistivity is not None:
        expected = resistivity / area
        if not RESISTANCE_RANGE[0] <= resistance / expected <= RESISTANCE_RANGE[1]:
            wrong = "does not go with the conductor's material and area"
            yield Finding((*place, "dc_resistance"), wrong, f"near {expected * 1e3:.3g} ohm/km at 20 degC")
