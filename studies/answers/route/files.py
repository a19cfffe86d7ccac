"""The tables of the run as files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers.route.rows import RouteResult


def route_files(route: RouteResult | None) -> Mapping[str, Sequence[object]]:
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
