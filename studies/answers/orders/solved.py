"""A phase order solved in full to the asked accuracy, with the errors of its objective."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.answers.fields.compute import receptor_results
from studies.answers.limits.compute import zone_results
from studies.answers.limits.refined import DerivedNumbers
from studies.answers.net_currents.with_net import field_with_net, judged_with_net
from studies.answers.orders.objectives import Question, reactance_spread, value_of
from studies.answers.orders.rows import SolvedOrder
from studies.closed_forms.lines import line_model
from studies.section.parts import CrossSection
from studies.solve.accuracy import SAFETY, Requested, solve_to_tolerance
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.progress import Progress


def solve_order(study: Study, section: CrossSection, report_progress: Progress) -> Solution:
    """The full solution of a relabelled section, on as many meshes as the asked accuracy takes, two at least."""
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    solved, estimate, accuracy = solve_to_tolerance(
        section,
        receptors,
        (),
        study.accuracy.tolerance,
        lambda message: report_progress(f"best phase order: {message}"),
        derived=DerivedNumbers(study, section, with_distances=False).worst_error,
    )
    return Solution(section, solved, estimate, accuracy, line_model(section))


def solved_order(study: Study, question: Question, weights: Mapping[str, float], solution: Solution) -> SolvedOrder:
    """Objective, fields and verdict of an order from its full solution."""
    now = solution.estimate.now.receptors
    fields = [*resultant(now).tolist()]
    errors = [*solution.estimate.of_vector(lambda r: r.receptors).tolist()]
    zones = zone_results(study, (solution,))
    fields += [zone.b_max_rms_t for zone in zones]
    errors += [zone.b_max_rms_error_t for zone in zones]
    counted = [k for k, place in enumerate(question.places) if place.counts]
    ratios = [fields[k] / question.references[k] for k in counted]
    worst = counted[int(np.argmax(ratios))] if counted else None
    values = {"field": max(ratios, default=0.0)}
    spread = {"field": 0.0 if worst is None else errors[worst] / float(question.references[worst])}
    for name, number in (("sharing", _shares), ("inequality", _spread)):
        values[name] = number(solution, solution.estimate.now)
        change = number(solution, solution.estimate.now) - number(solution, solution.estimate.before)
        spread[name] = SAFETY * abs(change)
    judged = judged_with_net(study, field_with_net(study, (solution,)), [*receptor_results(study, (solution,)), *zones])
    limited = [within for k in counted if (within := judged[k].within_limit) is not None]
    count = len(study.receptors)
    return SolvedOrder(
        value=value_of(weights, values),
        value_error=value_of(weights, spread),
        receptor_b_rms_t=tuple(fields[:count]),
        receptor_b_rms_error_t=tuple(errors[:count]),
        zone_b_max_rms_t=tuple(fields[count:]),
        zone_b_max_rms_error_t=tuple(errors[count:]),
        worst_over_limit=None if worst is None else values["field"],
        worst_over_limit_error=None if worst is None else spread["field"],
        worst_at=None if worst is None else question.places[worst].name,
        within_limits=all(limited) if limited else None,
        largest_share=values["sharing"],
        largest_share_error=spread["sharing"],
        inequality=values["inequality"],
        inequality_error=spread["inequality"],
        unknowns=solution.accuracy.levels[-1].unknowns,
        within_tolerance=solution.accuracy.met,
    )


def _shares(solution: Solution, requested: Requested) -> float:
    """Largest current of a conductor over an equal share of its phase's. [-]"""
    names, section = solution.solved.fields.part_names, solution.section
    found = [1.0]
    for phase in section.phases:
        own = section.ties[phase.tie].parts
        if phase.current != 0:
            currents = requested.currents[[names.index(name) for name in own]]
            found.append(float(np.abs(currents).max()) * len(own) / abs(phase.current))
    return max(found)


def _spread(solution: Solution, requested: Requested) -> float:
    """Largest `x_spread` of the circuits. [-]"""
    names, section = solution.solved.fields.part_names, solution.section
    first = [names.index(section.ties[phase.tie].parts[0]) for phase in section.phases]
    circuits = list(dict.fromkeys(phase.circuit for phase in section.phases))
    groups = [[k for k, phase in enumerate(section.phases) if phase.circuit == name] for name in circuits]
    currents = np.array([phase.current for phase in section.phases], dtype=np.complex128)
    spread: Floats = reactance_spread(groups, currents, requested.voltages[first][:, None])
    return float(spread[0])
