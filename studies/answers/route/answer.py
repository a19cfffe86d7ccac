"""The answer on the run: its sections, circuits, loads and fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.route.compute import RouteSolution, route_result, route_solution
from studies.answers.route.rows import RouteResult
from studies.answers.route.words import route_rows, route_section, route_tables, route_verdict, run_lines
from studies.text.file_names import slugs


def _solution(asked: Asked) -> RouteSolution | None:
    return None if asked.maps is None else route_solution(asked.study, asked.base, asked.maps, asked.report_progress)


def _route(asked: Asked) -> RouteResult | None:
    solved = asked.done["route_solution"]
    return None if solved is None else route_result(asked.study, solved)


def _files(route: RouteResult | None) -> Mapping[str, Sequence[object]]:
    """Tables of the run, by name."""
    if route is None:
        return {}
    return {
        "route_sections": route.sections,
        "route_circuits": route.circuits,
        "route_loads": [circuit.delivered for circuit in route.circuits if circuit.delivered is not None],
        "route_transpositions": [entry for circuit in route.circuits for entry in circuit.transpositions],
        "route_lines": route.lines,
        "route_fields": route.fields,
    }


def _figures(seen: Answers) -> Mapping[str, Draw]:
    """The run of each circuit, and the cross-sections of the run that are not the study's own."""
    from studies.answers.route.figure import draw_run
    from studies.drawing.cross_section import draw_cross_section

    found = seen.route_solution
    if found is None:
        return {}
    figures: dict[str, Draw] = {}
    circuits = list(found.runs.now.impedances)
    for circuit, slug in zip(circuits, slugs(circuits), strict=True):
        figures[f"{names.ROUTE}_{slug}"] = partial(draw_run, seen, found, circuit)
    drawn = {id(seen.study)}
    run_sections = found.runs.now.run_sections
    stems = slugs(section.name for section in run_sections)
    for stem, study, whole in zip(stems, found.solved.studies, found.solved.sections, strict=True):
        if id(study) not in drawn:
            drawn.add(id(study))
            figures[f"{names.RUN_SECTION}_{stem}"] = partial(draw_cross_section, study, whole)
    return figures


ROUTE_SOLUTION = Answer("route_solution", "route", _solution, empty=None, kept=False)
ROUTE = Answer(
    "route",
    "numbers of the route",
    _route,
    empty=None,
    needs=("route_solution",),
    files=_files,
    sections={"The route": route_section},
    brief=lambda seen: [table for table in route_tables(seen) if any(column.brief for column in table.columns)],
    notes=run_lines,
    verdicts=lambda seen: (route_verdict(seen),),
    sheet=route_rows,
    figures=_figures,
    sees=("route_solution", "receptors", "zones"),
)
