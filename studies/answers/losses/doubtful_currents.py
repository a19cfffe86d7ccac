"""Currents that the area of a conductor cannot bear for long: a doubt about the study's data, and no rating."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from studies.answers.losses.rows import PartResult
from studies.data.materials import MATERIALS
from studies.section.parts import CrossSection
from studies.section.spectrum import components
from studies.study.direct_currents import direct_phase_currents
from studies.study.file import Study
from studies.study.materials import material_of
from studies.study.parts import CONDUCTOR
from studies.text.numbers import GAP, plain, with_unit
from studies.text.units import CURRENT

TABLE_CURRENT, TABLE_AREA = 620.0, 253.35e-6
"""500 kcmil of copper at 75 degC in free air of 30 degC, NEC table 310.17 as a tray maker's manual prints it [C].
[A], [m^2]"""
EXPONENT = 0.625
"""Power of the area with which such tables grow: I = A S^m of IEC 60364-5-52, annex on formulas [M]. [-]"""
FACTOR = 2.0
"""Doubted is more than this many times the table's current: four times its heat, so that 45 K of rise become 180 K,
which no insulation of such cables bears [D]; the factor is common practice, no source. [-]"""
MOST_NAMED = 4
"""Most cables of one current, and most currents, that the sentence lists."""


@dataclass(frozen=True)
class DoubtfulCurrent:
    """A conductor whose current density is doubted."""

    cable: str
    phase: str
    current: float
    """Rms over all frequencies. [A]"""
    area: float
    """Nominal. [m^2]"""
    bound: float
    """Current from which on it is doubted. [A]"""


def doubted_current(area: float, conductivity: float) -> float:
    """Current from which on a conductor's data are doubted. [A]

    `area`: nominal area S, above 0. [m^2]
    `conductivity`: sigma of its material at 20 degC, above 0. [S/m]

    2 x 620 A (S/253 mm^2)^0.625 sqrt(sigma/sigma_copper): the heat of a metre goes with I^2/(sigma S).
    """
    if not (area > 0 and conductivity > 0):
        raise ValueError(f"area and conductivity must be above 0: {area}, {conductivity}")
    metal = math.sqrt(conductivity / MATERIALS["copper"].conductivity)
    grown: float = (area / TABLE_AREA) ** EXPONENT
    return FACTOR * TABLE_CURRENT * grown * metal


def stated_currents(study: Study, section: CrossSection) -> dict[str, float]:
    """Rms current over all frequencies, direct currents included, of each phase's conductors, shared equally. [A]"""
    squares: dict[str, float] = {}
    direct = {
        (circuit.name, phase): complex(current)
        for circuit in study.circuits
        for phase, current in direct_phase_currents(circuit.phases, circuit.direct_current).items()
    }
    for currents in (direct, *(component.currents for component in components(study))):
        for phase in section.phases:
            parts = section.ties[phase.tie].parts
            share = abs(currents.get((phase.circuit, phase.phase), 0j)) / len(parts)
            for part in parts:
                squares[part] = squares.get(part, 0.0) + share**2
    return {part: math.sqrt(square) for part, square in squares.items()}


def computed_currents(parts: Iterable[PartResult]) -> dict[str, float]:
    """The same of every conductor as it is computed. [A]"""
    return {part.part: part.current_rms_a for part in parts if part.kind == CONDUCTOR}


def doubtful_currents(
    study: Study, section: CrossSection, currents: Mapping[str, float]
) -> tuple[DoubtfulCurrent, ...]:
    """Conductors that carry more than their area can bear for long, the worst first."""
    cables = {circuit.name: study.cables[circuit.cable].conductor for circuit in study.circuits}
    found = []
    for part in section.conductors():
        assert part.cable is not None
        conductor, current = cables[part.cable.circuit], currents.get(part.name, 0.0)
        bound = doubted_current(conductor.area, material_of(study, conductor.material).conductivity)
        if current > bound:
            found.append(DoubtfulCurrent(part.cable.label, part.cable.phase, current, conductor.area, bound))
    return tuple(sorted(found, key=lambda entry: -entry.current / entry.bound))


def doubt_in_words(found: Sequence[DoubtfulCurrent]) -> str:
    """The doubt with its reason and what to do; empty where there is none."""
    if not found:
        return ""
    cables: dict[str, list[str]] = {}
    for entry in found:
        words = (
            f"{with_unit(entry.current, CURRENT)} on {1e6 * entry.area:.4g}{GAP}mm², "
            f"{plain(1e-6 * entry.current / entry.area)}{GAP}A/mm² against a bound of "
            f"{plain(1e-6 * entry.bound / entry.area)}{GAP}A/mm²"
        )
        cables.setdefault(words, []).append(entry.cable)
    named = [f"{_listed(own)} {words}" for words, own in cables.items()]
    return (
        f"Current beyond what the area of the conductor can carry: {_listed(named, '; ')}. The bound is twice the "
        "current of a table for free air, scaled by area and metal (NEC 310.17: 620 A on 253 mm² of copper [seen]; the "
        "factor two is common practice, no source). Check the current, the area and the number of parallel cables. The "
        "bound is no rating: a lower current may be too high as well."
    )


def _listed(names: Sequence[str], comma: str = ", ") -> str:
    more = f"{comma}and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return f"{comma.join(names[:MOST_NAMED])}{more}"
