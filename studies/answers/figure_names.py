"""File stems of the figures of a result; free of the drawing library, so that the report can name figures too."""

from __future__ import annotations

from collections.abc import Iterable

from studies.answers.answers import Answers
from studies.section.parts import CrossSection, StudyPart
from studies.section.spectrum import components
from studies.text.file_names import slugs

CROSS_SECTION = "cross_section"
FIELD_MAP = "field_map"
FIELD_CLOSE = "field_close"
FORMULA_DIFFERENCE = "formula_difference"
CURRENT_DENSITY = "current_density"
SHARES = "shares"
PHASE_ORDERS = "phase_orders"
ROUTE = "route"
RUN_SECTION = "run_section"
FAULT_FORCES = "fault_forces"
SPECTRUM = "spectrum"
CURRENT_SWEEP = "current_sweep"
LIMIT_DISTANCES = "limit_distances"

NEGLIGIBLE_LOSS = 1e-3
"""Parts with less than this share of the loss of all trays and metalwork get no figure of their loss density. [-]"""
MOST_LOSS_FIGURES = 12


def traverse_stems(result: Answers) -> tuple[str, ...]:
    """Stem of each traverse's figure, in order."""
    return _distinct("traverse", (traverse.name for traverse in result.traverses))


def loss_stems(result: Answers) -> dict[str, str]:
    """Stem of the loss figure of each tray or other metal without a cable that has loss worth showing, by its name."""
    losses = {
        part.name: float(result.loss_fields.total[result.fields.part_names.index(part.name)])
        for part in result.cross_section.parts
        if part.cable is None
    }
    least = NEGLIGIBLE_LOSS * sum(losses.values())
    largest = sorted(losses, key=lambda part: -losses[part])[:MOST_LOSS_FIGURES]
    parts = [part for part, loss in losses.items() if part in largest and loss > least]
    return dict(zip(parts, _distinct("loss_density", parts), strict=True))


def carries_current(result: Answers) -> bool:
    """Whether anything flows at the study's own frequency, of which figures of a single frequency are."""
    return bool(abs(result.drive.currents).max(initial=0.0) > 0)


def shown_conductors(result: Answers) -> tuple[StudyPart, ...]:
    """Conductors of circuits that have a current at the study's own frequency."""
    circuits = {phase.circuit for phase in result.cross_section.phases if phase.current != 0}
    return tuple(
        part for part in result.cross_section.conductors() if part.cable is not None and part.cable.circuit in circuits
    )


def has_parallel_cables(section: CrossSection) -> bool:
    """Whether any phase has more than one cable."""
    return any(len(section.ties[phase.tie].parts) > 1 for phase in section.phases)


def frequencies(result: Answers) -> tuple[float, ...]:
    """Frequencies of a result, first that of its fields: the study's own if anything flows at it. [Hz]"""
    return tuple(component.frequency for component in components(result.study))


def several_frequencies(result: Answers) -> bool:
    """Whether the fields of a result have more than one frequency."""
    return len(frequencies(result)) > 1


def has_spectrum(result: Answers) -> bool:
    """Whether there are receptors and several frequencies."""
    return any(len(receptor.spectrum) > 1 for receptor in result.receptors)


def at_own_frequency(result: Answers) -> str:
    """What a figure or table of the study's own frequency alone adds to its title; nothing where there is no other."""
    return f", at {result.cross_section.frequency:g} Hz alone" if several_frequencies(result) else ""


NO_DIRECT = ", without direct currents"
"""In titles of what holds alternating currents alone."""


def with_net_currents(result: Answers) -> str:
    """What is added to a title or sentence on numbers that hold the net currents of a study that has them."""
    return ", with net currents" if result.study.has_net_currents() else ""


def without_net_currents(result: Answers) -> str:
    """What is added to a title or sentence on numbers that are without the net currents of a study that has them."""
    return ", without net currents" if result.study.has_net_currents() else ""


def over_all_frequencies(result: Answers) -> str:
    """What a figure adds to its title if there are several frequencies, or direct currents, which are not in it."""
    together = ", all frequencies together" if several_frequencies(result) else ""
    return together + (NO_DIRECT if result.study.has_direct_currents() else "")


def _distinct(prefix: str, names: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{prefix}_{name}" for name in slugs(names))
