"""The sections of a transposed run, each as a solution of its own with the currents that the whole run drives."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np

from fem.arrays import Complexes, Floats
from fem.checks import check_solution
from fem.field import FieldProbe
from fem.losses import ElementFields, Losses, losses
from fem.solve import UnitFields
from fem.ties import Drive, Tie, drive
from studies.answers.answers import Answers
from studies.answers.fields.compute import receptor_results
from studies.answers.limits.compute import zone_results
from studies.answers.losses.compute import loss_results, part_results
from studies.answers.phases.compute import phase_results, sequence_results
from studies.answers.route.maps import formula_maps, phase_currents_of, section_maps
from studies.answers.route.solved import receptor_points, run_section_of
from studies.closed_forms.lines import formula_resistance, line_model
from studies.closed_forms.losses import CIRCULATING
from studies.section.lines import RunSection, SectionMaps, ports_of, route_of
from studies.section.parts import CrossSection, parallel_conductors
from studies.section.places import FOLLOWED, parts_followed
from studies.section.run_bonds import run_bonds, turned_layers
from studies.section.run_parts import Route, line_state, tied_impedance
from studies.section.turning import relabelled
from studies.solve.accuracy import Estimate, Requested, displaced_fields, requested_numbers, worst_error
from studies.solve.cancelling_fields import least_field
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.text.failures import guarded

AnyAnswers = TypeVar("AnyAnswers", bound=Answers)


def section_solutions(study: Study, solutions: tuple[Solution, ...]) -> tuple[tuple[Solution, ...], ...]:
    """For each section of a transposed run the solution of each frequency, with the currents of the whole run.

    study: A study of which `is_transposed` holds.
    solutions: Of its own cross-section, one for each frequency.

    The sections differ only in the place of each line, so that one set of unit fields serves them all. The
    currents are those of `answers.route`: conductors run through, and layers of metal are joined as the bonds say.
    """
    return tuple(zip(*(tuple(_sections(study, solution)) for solution in solutions), strict=True))


def section_results(study: Study, base: AnyAnswers, solutions: tuple[Solution, ...]) -> tuple[AnyAnswers, ...]:
    """The numbers of each section of a transposed run.

    study: A study of which `is_transposed` holds.
    base: Of its own cross-section; numbers without currents are taken from it.
    solutions: Of its own cross-section, one for each frequency.
    """
    each = section_solutions(study, solutions)
    by_formula = guarded("closed forms of the run", lambda: closed_forms(study, solutions), (RunForms(),) * len(each))
    return tuple(_result(study, base, own, formula) for own, formula in zip(each, by_formula, strict=True))


def _result(study: Study, base: AnyAnswers, own: tuple[Solution, ...], formula: RunForms) -> AnyAnswers:
    first = own[0]
    parallel = parallel_conductors(first.section)
    losses = tuple(
        replace(loss, formula_loss_w_per_m=formula.losses[loss.part])
        if loss.part in formula.losses and (loss.part in parallel or loss.formula.startswith(CIRCULATING))
        else loss
        for loss in guarded("losses", lambda: loss_results(study, own), ())
    )
    parts = tuple(
        replace(part, formula_current_rms_a=formula.currents.get(part.part, part.formula_current_rms_a))
        if part.part in parallel
        else part
        for part in guarded("currents and resistances of the parts", lambda: part_results(study, own), ())
    )
    return replace(
        base,
        cross_section=first.section,
        receptors=guarded("fields at the receptors", lambda: receptor_results(study, own), ()),
        zones=guarded("zones", lambda: zone_results(study, own), ()),
        losses=losses,
        parts=parts,
        phases=guarded("impedances of the phases", lambda: phase_results(study, own), ()),
        sequence_impedance=guarded("sequence impedances", lambda: sequence_results(study, own), ()),
        checks=first.solved.checks,
        accuracy=max((one.accuracy for one in own), key=lambda accuracy: accuracy.worst_error),
        drive=first.solved.drive,
        loss_fields=first.solved.losses,
        element_fields=first.solved.elements,
    )


@dataclass(frozen=True)
class RunForms:
    """Currents and losses of the parts of one section by line currents and thin tubes, over all frequencies."""

    currents: Mapping[str, float] = field(default_factory=dict)
    """Of conductors and layers of metal, rms. [A]"""
    losses: Mapping[str, float] = field(default_factory=dict)
    """Of these currents. [W/m]"""


def closed_forms(study: Study, solutions: tuple[Solution, ...]) -> tuple[RunForms, ...]:
    """Currents and their losses in each section, as the whole run drives them.

    The loss of three screens alone, joined at both ends and transposed at each third, is that by the factor of
    IEC 60287-1-1 for flat formation with transposition.
    """
    squares: list[dict[str, float]] = [{} for _ in study.route]
    losses: list[dict[str, float]] = [{} for _ in study.route]
    for solution in solutions:
        section = solution.section
        radius = section.return_radius() or solution.solved.fields.exterior.reference_radius
        run = _run(study, section, formula_maps(section, radius, None, FOLLOWED), with_metal=False)
        parts = [part for part in parts_followed(section) if part.cable is not None]
        ohms = [
            formula_resistance(section, part)[0] if part.kind == CONDUCTOR else part.dc_resistance for part in parts
        ]
        for square, loss, one, own in zip(squares, losses, run.route.sections, run.currents, strict=True):
            for place, current in zip(one.places, own, strict=True):
                name, of_current = parts[place].name, float(abs(current) ** 2)
                square[name] = square.get(name, 0.0) + of_current
                loss[name] = loss.get(name, 0.0) + of_current * float(ohms[place])
    return tuple(
        RunForms({name: math.sqrt(value) for name, value in square.items()}, loss)
        for square, loss in zip(squares, losses, strict=True)
    )


@dataclass(frozen=True)
class _Run:
    """The run by one set of maps."""

    run_sections: tuple[RunSection, ...]
    route: Route
    currents: Complexes
    """Of the lines in each section, shape (sections, lines). [A]"""


def _run(study: Study, section: CrossSection, maps: SectionMaps, with_metal: bool = True) -> _Run:
    crossed = turned_layers(section)
    run_sections = tuple(run_section_of(one, number, maps, crossed) for number, one in enumerate(study.route))
    bonds = run_bonds(section, sum(one.length for one in study.route), with_metal)
    route = route_of(run_sections, phase_currents_of(section), bonds)
    return _Run(run_sections, route, line_state(route).currents)


@dataclass(frozen=True)
class _Driven:
    """The run on one set of unit fields."""

    fields: UnitFields
    probe: FieldProbe
    run: _Run
    impedances: Complexes
    """Of the phases over the run, in the order of the cross-section's, shape (phases, phases). [ohm/m]"""


def _sections(study: Study, solution: Solution) -> Iterator[Solution]:
    """Each section at one frequency."""
    section, solved, coarser = solution.section, solution.solved, solution.estimate.coarser

    def driven(fields: UnitFields, probe: FieldProbe) -> _Driven:
        run = _run(study, section, section_maps(section, fields, None, FOLLOWED))
        ports = [ports_of(run.route, phase.circuit, (phase.phase,))[0] for phase in section.phases]
        return _Driven(fields, probe, run, tied_impedance(run.route, ports) / run.route.length)

    moved = displaced_fields(section, solved)
    now = driven(solved.fields, solved.probe)
    before = driven(coarser, FieldProbe(coarser))
    displaced = None if moved is None else driven(moved, solved.probe)
    for number, run_section in enumerate(now.run.run_sections):
        labels = {
            name: run_section.orders.get(name, run_section.maps.labels(name)) for name in run_section.maps.circuits()
        }
        yield _solution(study, solution, relabelled(section, labels), number, now, before, displaced)


def _solution(
    study: Study,
    solution: Solution,
    section: CrossSection,
    number: int,
    now: _Driven,
    before: _Driven,
    displaced: _Driven | None,
) -> Solution:
    """One section; `section` has the labels of its cables there."""
    receptors = receptor_points(study)
    state, loss, elements, requested = _numbers(section, number, now, receptors)
    coarser = _numbers(section, number, before, receptors)[3]
    others = None if displaced is None else _numbers(section, number, displaced, receptors)[3]
    at = None
    if displaced is not None and others is not None:
        nodal = displaced.fields.potential(others.voltages)

        def at(points: Floats) -> Complexes:
            return displaced.probe.flux_density(nodal, points)

    estimate = Estimate(requested, coarser, before.fields, others, at)
    worst = max(solution.accuracy.worst_error, worst_error(estimate, least_field(section, receptors)))
    accuracy = replace(solution.accuracy, worst_error=worst, met=worst <= solution.accuracy.tolerance)
    solved = replace(
        solution.solved,
        nodal=now.fields.potential(state.voltages),
        drive=state,
        losses=loss,
        elements=elements,
        checks=check_solution(now.fields, state, loss),
        requested=requested,
    )
    return Solution(section, solved, estimate, accuracy, line_model(section))


def drive_of_lines(section: CrossSection, fields: UnitFields, places: Sequence[int], currents: Complexes) -> Drive:
    """State of a section whose followed parts carry the currents (lines,) [A] of the lines in some of its places."""
    names = [part.name for part in parts_followed(section)]
    followed = [Tie((names[place],), complex(i)) for place, i in zip(places, currents, strict=True)]
    rest = [
        Tie(left, 0j, tie.impedance)
        for tie in section.ties
        if (left := tuple(part for part in tie.parts if part not in names))
    ]
    return drive(fields.admittance, fields.part_names, (*followed, *rest))


def _numbers(
    section: CrossSection, number: int, driven: _Driven, receptors: Floats
) -> tuple[Drive, Losses, ElementFields, Requested]:
    """State, losses and requested numbers of a section with the currents of its lines."""
    run, fields = driven.run, driven.fields
    state = drive_of_lines(section, fields, run.route.sections[number].places, run.currents[number])
    loss, elements = losses(fields, state.voltages)
    numbers = requested_numbers(section, fields, state, loss, driven.probe, receptors, ())
    return state, loss, elements, replace(numbers, impedances=np.asarray(driven.impedances))
