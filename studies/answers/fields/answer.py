"""Answers on fields: at receptors, along traverses, over the map."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache, partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.fields.compute import map_result, receptor_results, traverse_results
from studies.answers.fields.readings import FieldReadings, field_readings
from studies.answers.fields.rows import MapResult, ReceptorResult, TraverseResult
from studies.answers.fields.tables import receptor_table, traverse_files
from studies.answers.fields.words import (
    map_section,
    receptor_rows,
    receptor_section,
    traverse_rows,
    traverse_section,
    unjudged_line,
    verdict_line,
)


def _receptors(asked: Asked) -> tuple[ReceptorResult, ...]:
    return receptor_results(asked.study, asked.solutions)


def _traverses(asked: Asked) -> tuple[TraverseResult, ...]:
    return traverse_results(asked.study, asked.solutions)


def _map(asked: Asked) -> MapResult | None:
    found, net = asked.done["limit_distances"], asked.done["net_currents"]
    reach = {} if net is None else {row.of: row.from_outline_m for row in net.distances}
    further = (replace(row, from_outline_m=reach[row.of]) for row in found if row.of in reach)
    return map_result(asked.study, asked.solutions, (*found, *further))


def _readings(asked: Asked) -> Callable[[], FieldReadings] | None:
    field = asked.done["map"]
    return None if field is None else cache(partial(field_readings, asked.study, asked.solutions, field))


def _map_figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.fields.close_figure import draw_field_close
    from studies.answers.fields.formula_map_figure import draw_formula_map
    from studies.answers.fields.map_figure import draw_field_map

    figures: dict[str, Draw] = {}
    if seen.map is not None:
        figures[names.FIELD_MAP] = partial(draw_field_map, seen)
    if names.carries_current(seen):
        figures[names.FIELD_CLOSE] = partial(draw_field_close, seen)
    if seen.map is not None:
        figures[names.FORMULA_DIFFERENCE] = partial(draw_formula_map, seen)
    return figures


def _spectrum_figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.fields.spectrum_figure import draw_spectrum

    return {names.SPECTRUM: partial(draw_spectrum, seen)} if names.has_spectrum(seen) else {}


def _traverse_figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.fields.traverse_figure import draw_traverse

    stems = zip(names.traverse_stems(seen), seen.traverses, strict=True)
    return {stem: partial(draw_traverse, seen, traverse) for stem, traverse in stems}


RECEPTORS = Answer(
    "receptors",
    "fields at the receptors",
    _receptors,
    sections={"Receptors": receptor_section},
    brief=lambda seen: (receptor_table(seen),),
    verdicts=lambda seen: (unjudged_line(seen), verdict_line(seen)),
    sheet=receptor_rows,
    figures=_spectrum_figure,
    sees=("reservations", "zones", "net_currents", "direct_currents"),
)
TRAVERSES = Answer(
    "traverses",
    "traverses",
    _traverses,
    files=traverse_files,
    sections={"Traverses": traverse_section},
    sheet=traverse_rows,
    figures=_traverse_figures,
    sees=("receptors", "zones", "survey", "net_currents"),
)
READINGS = Answer("readings", "readings of the field map", _readings, empty=None, needs=("map",), kept=False)
MAP = Answer(
    "map",
    "field map",
    _map,
    empty=None,
    needs=("limit_distances", "net_currents"),
    kept=False,
    sections={"Field maps": map_section},
    figures=_map_figures,
    sees=("receptors", "zones", "readings", "survey", "net_currents"),
)
