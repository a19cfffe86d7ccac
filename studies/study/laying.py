"""How far the installed run may be from the drawn one: spreads of places, currents and materials, and their checks."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from studies.study.entries import KeyTable, number_entry, quantity_entry, word_entry
from studies.study.findings import Finding, Reader

NORMAL, UNIFORM = "normal", "uniform"
"""Distributions of what is spread."""
SECTION, FAR = "section", "far"
"""Where the sum of the scattered currents returns."""
SINGLY, CLEATS = "singly", "cleats"
"""How cables are held."""
SPREADS = ("across", "up", "within", "current", "angle", "permeability", "conductivity", "temperature")
"""What may be spread, in the order of tables."""
OF_METAL = ("permeability", "conductivity")
"""Spreads that act on trays and metalwork alone."""


class LayingTolerance(KeyTable):
    """Spreads about the study as drawn: standard deviations, or half-widths of a uniform distribution."""

    across: Annotated[float, quantity_entry("laying spread")] = 0.0
    """of the place of each cable to the side"""
    up: Annotated[float, quantity_entry("laying spread")] = 0.0
    """of the height of each cable; none enters what bears it or another cable"""
    held: Annotated[str, word_entry("hold of the cables", (SINGLY, CLEATS))] = SINGLY
    """cleats: the cables of each trefoil move together, by one of across and up; singly: each by its own"""
    within: Annotated[float, quantity_entry("laying spread")] = 0.0
    """with cleats: of the place of each cable in its own, either way, beside that of the trefoil"""
    current: Annotated[float, quantity_entry("current spread")] = 0.0
    """of the current of each phase, over itself"""
    angle: Annotated[float, quantity_entry("angle spread")] = 0.0
    """of the angle of the current of each phase"""
    permeability: Annotated[float, quantity_entry("material spread")] = 0.0
    """of the relative permeability of all trays and metalwork together, over itself"""
    conductivity: Annotated[float, quantity_entry("material spread")] = 0.0
    """of the conductivity of all trays and metalwork together, over itself"""
    temperature: Annotated[float, quantity_entry("temperature spread")] = 0.0
    """of the temperature of all cables together"""
    distribution: Annotated[str, word_entry("distribution", (NORMAL, UNIFORM))] = NORMAL
    """normal: spreads are standard deviations; uniform: half-widths"""
    residual: Annotated[str, word_entry("return of the residual current", (SECTION, FAR))] = SECTION
    """return of what scatter adds to the sum of the currents: section, it is taken off; far, far away or the earth"""
    samples: Annotated[int, number_entry(200, 100_000, "10000", whole=True)] = 10_000
    """layings that are drawn by lot"""
    solves: Annotated[int, number_entry(5, 2000, "20", whole=True)] = 20
    """layings of these that are meshed and solved again"""
    seed: Annotated[int, number_entry(0, 1_000_000_000, "1", whole=True)] = Field(default=1)
    """seed of the lot: the same one gives the same layings"""

    def spread(self) -> tuple[str, ...]:
        """Names of what is spread at all."""
        return tuple(name for name in SPREADS if getattr(self, name) > 0)


def laying_findings(reader: Reader) -> Iterator[Finding]:
    """A tolerance that spreads nothing, or metal that is not there; and no place that it could be asked at."""
    asked = reader.data.get("laying_tolerance")
    if not isinstance(asked, Mapping):
        return
    stated = [name for name in SPREADS if name in asked]
    if not stated and not reader.bare_numbers:  # from Python a spread of zero is as if left out
        right = 'across = "3 mm", up = "3 mm" or another spread'
        yield Finding(("laying_tolerance",), "spreads nothing", right)
    trefoil = any(circuit.get("arrangement") == "trefoil" for _, circuit in reader.entries("circuits"))
    if asked.get("held") == CLEATS and not trefoil:
        yield Finding(
            ("laying_tolerance", "held"), "is of trefoils, the study has none", f'"{SINGLY}", or leave it out'
        )
    if asked.get("within") and asked.get("held") != CLEATS:
        yield Finding(
            ("laying_tolerance", "within"), "is of cables in cleats", f'with held = "{CLEATS}", or leave it out'
        )
    metal = [*reader.entries("trays"), *reader.entries("metalwork")]
    for name in OF_METAL:
        if name in asked and not metal:
            wrong = "is of trays and metalwork, the study has none"
            yield Finding(("laying_tolerance", name), wrong, "leave it out")
