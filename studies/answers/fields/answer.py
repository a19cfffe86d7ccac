"""Answers on fields: at receptors, along traverses, over the map."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.fields.compute import map_result, receptor_results, traverse_results
from studies.answers.fields.files import traverse_files
from studies.answers.fields.rows import MapResult, ReceptorResult, TraverseResult


def _receptors(asked: Asked) -> tuple[ReceptorResult, ...]:
    return receptor_results(asked.study, asked.solutions)


def _traverses(asked: Asked) -> tuple[TraverseResult, ...]:
    return traverse_results(asked.study, asked.solutions)


def _map(asked: Asked) -> MapResult | None:
    return map_result(asked.study, asked.solutions, asked.done["limit_distances"])


RECEPTORS = Answer("receptors", "fields at the receptors", _receptors)
TRAVERSES = Answer("traverses", "traverses", _traverses, files=traverse_files)
MAP = Answer("map", "field map", _map, empty=None, needs=("limit_distances",), kept=False)
