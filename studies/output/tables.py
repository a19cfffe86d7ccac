"""The tables and traverses of a result as CSV: one line of column names with units, then numbers in SI."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np

from studies.answers.answers import Answers
from studies.answers.fields.rows import TraverseResult
from studies.answers.orders.rows import OrderSearchResult
from studies.answers.route.rows import RouteResult
from studies.text.csv import csv_text
from studies.text.failures import guarded
from studies.text.file_names import slugs


def tables(result: Answers) -> dict[str, str]:
    """CSV text of every table, by file name; a table that fails costs no other."""
    written = {name: guarded(f"table {name}", make, None) for name, make in _makers(result).items()}
    return {name: text for name, text in written.items() if text is not None}


def _makers(result: Answers) -> dict[str, Callable[[], str]]:
    """What writes each table, by file name."""
    rows: Mapping[str, Sequence[object]] = {
        "receptors": result.receptors,
        "losses": result.losses,
        "parts": result.parts,
        "phases": result.phases,
        "sequence_impedance": result.sequence_impedance,
        "zones": result.zones,
        "reservations": result.reservations,
        "limit_distances": result.limit_distances,
        "saturation": result.saturation,
        "current_sweep": result.current_sweep,
        "faults": result.faults,
        "fault_pairs": result.fault_pairs,
        "fault_design": result.fault_design,
        "charging": result.charging,
        "ladder_of_formulas": result.ladder,
        "mesh_levels": result.accuracy.levels,
    }
    if result.route is not None:
        rows = {**rows, **_of_route(result.route)}
    found: dict[str, Callable[[], str]] = {
        f"{name}.csv": partial(_table, entries) for name, entries in rows.items() if entries
    }
    if result.order_search is not None:
        found["phase_orders.csv"] = partial(_orders, result.order_search)
    names = slugs(traverse.name for traverse in result.traverses)
    for slug, traverse in zip(names, result.traverses, strict=True):
        found[f"traverse_{slug}.csv"] = partial(_traverse, traverse)
    return found


def _of_route(route: RouteResult) -> Mapping[str, Sequence[object]]:
    """Tables of the run, by name."""
    return {
        "route_sections": route.sections,
        "route_circuits": route.circuits,
        "route_loads": [circuit.delivered for circuit in route.circuits if circuit.delivered is not None],
        "route_transpositions": [entry for circuit in route.circuits for entry in circuit.transpositions],
        "route_lines": route.lines,
        "route_fields": route.fields,
    }


def _table(entries: Sequence[object]) -> str:
    """One line an entry; a phasor becomes two columns, real and imaginary part."""
    lines = [_flat(entry) for entry in entries]
    columns = list(dict.fromkeys(column for line in lines for column in line))
    complete = [column for column in columns if f"{column}_re" not in columns]  # a phasor that is missing in a line
    return csv_text(complete, [[line.get(column) for column in complete] for line in lines])


def _flat(entry: object) -> dict[str, object]:
    assert dataclasses.is_dataclass(entry)
    flat: dict[str, object] = {}
    for field in dataclasses.fields(entry):
        value = getattr(entry, field.name)
        if isinstance(value, tuple | Mapping) or dataclasses.is_dataclass(value):
            continue  # what is no single number or word has no column; results.json holds it
        if isinstance(value, complex | np.complexfloating):
            flat[f"{field.name}_re"], flat[f"{field.name}_im"] = value.real, value.imag
        else:
            flat[field.name] = value
    return flat


def _orders(found: OrderSearchResult) -> str:
    """One line for the order as stated and each of the best, as judged, and one for each of the two that are solved."""
    names = [(f"labels_{slug}", k) for k, slug in enumerate(slugs(found.today.phases))]
    fields = [f"b_rms_t_{slug}" for slug in slugs(found.receptors)]
    fields += [f"b_max_rms_t_zone_{slug}" for slug in slugs(found.zones)]
    errors = [f"{field.replace('_rms_t_', '_rms_error_t_')}" for field in fields]
    numbers = ("value", "worst_over_limit", "worst_at", "largest_share", "inequality")
    columns = ["order", "source", *(name for name, _ in names), *numbers, *fields, *errors]
    judged = [("as stated", found.today), *((f"best {k}", order) for k, order in enumerate(found.best, 1))]
    lines: list[list[object]] = []
    for name, order in judged:
        labels = [" ".join(own) for own in order.phases.values()]
        values = [getattr(order, number) for number in numbers]
        own = [*order.receptor_b_rms_t, *order.zone_b_max_rms_t]
        lines.append([name, "judged", *labels, *values, *own, *(None for _ in own)])
    for name, order, solved in (
        ("as stated", found.today, found.today_solved),
        ("best 1", found.best[0], found.best_solved),
    ):
        labels = [" ".join(own) for own in order.phases.values()]
        values = [getattr(solved, number) for number in numbers]
        own = [*solved.receptor_b_rms_t, *solved.zone_b_max_rms_t]
        lines.append(
            [
                *(name, "full solution", *labels, *values, *own),
                *solved.receptor_b_rms_error_t,
                *solved.zone_b_max_rms_error_t,
            ]
        )
    return csv_text(columns, lines)


def _traverse(traverse: TraverseResult) -> str:
    columns = {
        "distance_m": traverse.distance_m,
        "x_m": traverse.points_m[:, 0],
        "y_m": traverse.points_m[:, 1],
        "b_rms_t": traverse.b_rms_t,
        "b_rms_error_t": traverse.b_rms_error_t,
        "b_major_axis_rms_t": traverse.b_major_axis_rms_t,
        "b_major_axis_rms_error_t": traverse.b_major_axis_rms_error_t,
        "line_formula_b_rms_t": traverse.line_formula_b_rms_t,
        "line_formula_shared_b_rms_t": traverse.line_formula_shared_b_rms_t,
    }
    return csv_text(list(columns), zip(*(column.tolist() for column in columns.values()), strict=True))
