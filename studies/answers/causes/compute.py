"""The difference between formula and finite element, as the sum of what each cause adds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from studies.answers.causes.rows import CAUSES, FIELDS, INDUCTANCES, KEYS, LOSSES, CauseResult, DifferenceSplit
from studies.answers.causes.stages import Stage, stages
from studies.answers.fields.compute import formula_magnitude
from studies.closed_forms.lines import formula_sequence_inductance
from studies.solve.accuracy import SAFETY
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.phases import LINES
from studies.text.progress import Progress

ALL_CONDUCTORS = "all conductors"
Values = Callable[[Sequence[Sequence[Stage]], int], float]
"""A number of a stage, from the stages of each frequency."""


def cause_results(study: Study, solutions: tuple[Solution, ...], report_progress: Progress) -> tuple[CauseResult, ...]:
    """The split of each field, of the losses of the conductors, and of the inductance of each circuit.

    `solutions`: one for each frequency.

    Fields and losses are over all frequencies, inductances at the study's own.
    """
    if study.causes is None:
        return ()
    report_progress("splitting the differences from the formulas")
    points = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    circuits = [
        circuit.name
        for circuit in study.circuits
        if {(circuit.name, line) for line in LINES}
        <= {(phase.circuit, phase.phase) for phase in solutions[0].section.phases}
    ]
    every = [stages(solution, points, circuits) for solution in solutions]
    now, before = [own[0] for own in every], [own[1] for own in every]
    asked = study.causes.of or tuple(KEYS)
    found: list[DifferenceSplit] = []
    if FIELDS in asked and len(points):
        formulas = formula_magnitude(solutions, points)
        for k, receptor in enumerate(study.receptors):
            found.append(_row(FIELDS, receptor.name, float(formulas[k]), now, before, _field_of(k)))
    if LOSSES in asked:
        formula = sum(float(np.sum(np.abs(s.model.currents) ** 2 * s.model.resistances)) for s in solutions)
        found.append(_row(LOSSES, ALL_CONDUCTORS, formula, now, before, _loss))
    if INDUCTANCES in asked:
        found += _inductances(solutions[0], circuits, now, before)
    return tuple(row for split in found for row in split.rows())


def _field_of(k: int) -> Values:
    return lambda all_stages, stage: float(np.sqrt(sum(own[stage].fields[k] ** 2 for own in all_stages)))


def _loss(all_stages: Sequence[Sequence[Stage]], stage: int) -> float:
    return sum(own[stage].loss for own in all_stages)


def _inductances(
    base: Solution, circuits: Sequence[str], now: Sequence[Sequence[Stage]], before: Sequence[Sequence[Stage]]
) -> Iterator[DifferenceSplit]:
    for k, name in enumerate(circuits):
        formula = formula_sequence_inductance(base.section, base.model, name)
        if formula is not None:

            def value(all_stages: Sequence[Sequence[Stage]], stage: int, k: int = k) -> float:
                return float(all_stages[0][stage].inductances[k])

            yield _row(INDUCTANCES, name, formula, now, before, value)


def _row(
    of: str,
    place: str,
    formula: float,
    now: Sequence[Sequence[Stage]],
    before: Sequence[Sequence[Stage]],
    value: Values,
) -> DifferenceSplit:
    """One row; a stage less than the one after it is what its cause adds."""
    own, coarser = ([value(levels, stage) for stage in range(len(CAUSES) + 1)][::-1] for levels in (now, before))
    parts = dict(zip(CAUSES, np.diff(own).tolist(), strict=True))
    errors = dict(zip(CAUSES, (SAFETY * np.abs(np.diff(own) - np.diff(coarser))).tolist(), strict=True))
    rest = own[0] - formula
    if of == LOSSES:  # the formula has skin and proximity factors of its own
        parts["proximity_and_skin"] += rest
        rest = 0.0
    return DifferenceSplit(
        of=of,
        place=place,
        formula=formula,
        rest=rest,
        computed=own[-1],
        **parts,
        **{f"{cause}_error": error for cause, error in errors.items()},
    )
