"""The frequencies of a study and the currents at each of them."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace

from studies.section.parts import CrossSection
from studies.study.circuits import Circuit, further_phase_currents, phase_currents
from studies.study.file import Study

SAME_FREQUENCY = 1e-9
"""Relative difference below which two frequencies count as one. [-]"""
OPPOSITE = 1e-9
"""Two currents are go and return if their sum is below this share of either, since angles are rounded. [-]"""


@dataclass(frozen=True)
class Component:
    """The phase currents of one frequency."""

    frequency: float
    """[Hz]"""
    currents: dict[tuple[str, str], complex]
    """Rms phasor of each (circuit, phase) with a current. [A]"""


def fundamental(study: Study, circuit: Circuit) -> float:
    """Frequency of a circuit's fundamental. [Hz]"""
    return study.frequency if circuit.frequency is None else circuit.frequency


def components(study: Study) -> tuple[Component, ...]:
    """Currents by frequency, the study's own frequency first if any circuit has it, the others rising.

    A harmonic of order h of a balanced or unbalanced circuit has in each phase the stated share of that phase's
    fundamental and h times its angle: orders 1, 4, 7 are positive, 2, 5, 8 negative, 3, 6, 9 zero sequence. The
    neutral, if there is one, carries the sum of the others back; of two conductors that are go and return, the second
    carries the current of the first back. Further currents have a frequency of their own.
    """
    found: list[Component] = []
    for circuit in study.circuits:
        base = fundamental(study, circuit)
        currents = phase_currents(circuit)
        _add(found, base, circuit.name, currents)
        for order, harmonic in sorted(circuit.harmonics.items()):
            own = {
                phase: cmath.rect(abs(i) * harmonic.share, order * cmath.phase(i) + harmonic.angle)
                for phase, i in currents.items()
                if phase != "N" and i != 0
            }
            working = [phase for phase in own if phase != "PE"]
            if "N" in currents:
                own["N"] = -sum(own.values())
            elif len(working) == 2 and _go_and_return(*(currents[phase] for phase in working)):
                own[working[1]] = -own[working[0]]
            if any(own.values()):  # a frequency at which nothing flows is not solved
                _add(found, order * base, circuit.name, own)
        for further in circuit.further_currents:
            own = further_phase_currents(circuit, further)
            if any(own.values()):
                _add(found, further.frequency, circuit.name, own)
    found.sort(key=lambda component: (not _same(component.frequency, study.frequency), component.frequency))
    return tuple(found)


def at_component(section: CrossSection, component: Component) -> CrossSection:
    """The cross-section with the currents of one frequency."""
    phases = tuple(
        replace(phase, current=component.currents.get((phase.circuit, phase.phase), 0j)) for phase in section.phases
    )
    current_of = {phase.tie: phase.current for phase in phases}
    ties = tuple(replace(tie, current=current_of.get(k, tie.current)) for k, tie in enumerate(section.ties))
    return replace(section, phases=phases, ties=ties, frequency=component.frequency)


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME_FREQUENCY)


def _go_and_return(go: complex, back: complex) -> bool:
    return abs(go + back) <= OPPOSITE * abs(go)


def _add(found: list[Component], frequency: float, circuit: str, currents: dict[str, complex]) -> None:
    entry = {(circuit, phase): current for phase, current in currents.items()}
    for component in found:
        if _same(component.frequency, frequency):
            component.currents.update(entry)
            return
    found.append(Component(frequency, entry))
