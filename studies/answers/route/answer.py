"""The answer on the run: its sections, circuits, loads and fields."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.route.compute import RouteSolution, route_result, route_solution
from studies.answers.route.files import route_files
from studies.answers.route.rows import RouteResult


def _solution(asked: Asked) -> RouteSolution | None:
    return None if asked.maps is None else route_solution(asked.study, asked.base, asked.maps, asked.tell)


def _route(asked: Asked) -> RouteResult | None:
    solved = asked.done["route_solution"]
    return None if solved is None else route_result(asked.study, solved)


ROUTE_SOLUTION = Answer("route_solution", "route", _solution, empty=None, kept=False)
ROUTE = Answer("route", "numbers of the route", _route, empty=None, needs=("route_solution",), files=route_files)
