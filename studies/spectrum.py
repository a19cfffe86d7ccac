"""The frequencies of a study and what flows at each of them."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace

from studies.cross_section import CrossSection
from studies.study import Circuit, Study, phase_currents

SAME_FREQUENCY = 1e-9
"""Frequencies closer than this are one. [-]"""


@dataclass(frozen=True)
class Component:
    """The phase currents of one frequency."""

    frequency: float
    """[Hz]"""
    currents: dict[tuple[str, str], complex]
    """Rms phasor of each (circuit, phase) that has one. [A]"""


def fundamental(study: Study, circuit: Circuit) -> float:
    """Frequency of a circuit's fundamental. [Hz]"""
    return study.frequency if circuit.frequency is None else circuit.frequency


def components(study: Study) -> tuple[Component, ...]:
    """Currents by frequency, the study's own frequency first, the others rising.

    Notes
    -----
    A harmonic of order h of a balanced or unbalanced circuit has in each phase the stated share of that phase's
    fundamental and h times its angle: orders 1, 4, 7 are positive, 2, 5, 8 negative, 3, 6, 9 zero sequence. The
    neutral, where there is one, carries what the other phases leave.
    """
    found: list[Component] = [Component(study.frequency, {})]
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
            working = [phase for phase in currents if phase != "PE"]
            if "N" in currents:
                own["N"] = -sum(current for phase, current in own.items() if phase != "PE")
            elif len(working) == 2:  # go and return, whatever the order
                own[working[1]] = -own[working[0]]
            _add(found, order * base, circuit.name, own)
    first, *others = found
    return (first, *sorted(others, key=lambda component: component.frequency))


def at_component(section: CrossSection, component: Component) -> CrossSection:
    """The cross-section with the currents of one frequency."""
    phases = tuple(
        replace(phase, current=component.currents.get((phase.circuit, phase.phase), 0j)) for phase in section.phases
    )
    current_of = {phase.tie: phase.current for phase in phases}
    ties = tuple(replace(tie, current=current_of.get(k, tie.current)) for k, tie in enumerate(section.ties))
    return replace(section, phases=phases, ties=ties, frequency=component.frequency)


def _add(found: list[Component], frequency: float, circuit: str, currents: dict[str, complex]) -> None:
    entry = {(circuit, phase): current for phase, current in currents.items()}
    for component in found:
        if math.isclose(component.frequency, frequency, rel_tol=SAME_FREQUENCY):
            component.currents.update(entry)
            return
    found.append(Component(frequency, entry))
