"""What the CSV tables and results.json hold: the field of the result that each column and key is named after."""

import csv
import dataclasses
import io
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from studies.answers.space.words import PieceShare
from studies.result import Result

UNITS = (
    *(
        "_m",
        "_t",
        "_a",
        "_v",
        "_w",
        "_n",
        "_hz",
        "_deg",
        "_rad",
        "_ohm",
        "_w_per_m",
        "_w_per_m2",
        "_m2_per_m",
        "_j_per_m",
        "_j",
        "_v_per_m",
        "_ohm_per_m",
        "_h_per_m",
    ),
    *("_n_per_m", "_a_per_m", "_f_per_m", "_v_per_100m", "_in_unit"),
)
"""What the key of a number with a unit ends in; "_in_unit" stands beside the key "unit"."""
RATIOS = (
    *(
        "rule_error",
        "exposure_index",
        "exposure_error",
        "share_of_phase",
        "of_equal_share",
        *(f"relative_permeability{end}" for end in ("", "_uncertainty", "_stated", "_lowest", "_highest")),
        "factor",
    ),
    *("load", "load_factor_uncertainty", "deviation", "fitted_deviation", "chi_square", "probability"),
    *("tolerance", "worst_error", "worst_change", "fineness", "power_balance", "reciprocity", "ampere_law"),
    *(
        "share",
        "median_share",
        "p95_largest_share",
        "p95_worst_over_limit",
        "shares",
        "p95_shares",
        "p95_share",
        "worst_share",
        "rms_difference",
        "variance_ratio",
        "field_at_most",
        "share_at_most",
    ),
    *("current_ratio", "current_ratio_error", "cost_per_m", "cost", "field_over_limit"),
    *("value", "value_error", "least_value", "worst_over_limit", "worst_over_limit_error", "largest_difference"),
    *("largest_share", "largest_share_error", "inequality", "inequality_error", "circuit_inequality", "run_inequality"),
    *("formula_inequality", "coupling", "standard_difference", "nema_unbalance", "i2_over_i1"),
    *("relative_drop", "relative_drop_error", "formula_relative_drop"),
    *("v0_over_v1", "v2_over_v1", "v2_over_v1_error", "formula_v2_over_v1"),
    *("z21_over_z11", "z21_over_z11_error", "formula_z21_over_z11"),
    *("z01_over_z11", "z01_over_z11_error", "formula_z01_over_z11"),
    *("v0_over_v1_error", "i2_over_i1_error", "of_equal_share_error", "coupling_error"),
    *("index", "index_error", "formula_index"),
    *("circuit_inequality_error", "run_inequality_error", "nema_unbalance_error"),
)
"""Keys of numbers without a unit."""


def csv_mistakes(result: Result, files: Mapping[str, str]) -> Iterator[str]:
    """What the CSV tables of a result hold that they should not, in sentences."""
    expected = {name: entries for name, entries in _entries(result).items() if entries}
    traverses = [name for name in files if name.startswith("traverse_")]
    lines = [name for name in files if name.startswith("space_") and name not in expected]
    others = {*expected, *(["phase_orders.csv"] if result.order_search is not None else []), *traverses, *lines}
    if set(files) != others or len(traverses) != len(result.traverses):
        yield f"CSV tables {sorted(set(files) ^ others)} are missing or unknown to tests/studies/cells_of_files.py"
        return
    for name, entries in expected.items():
        yield from _table_mistakes(name, files[name], entries)
    for name, traverse in zip(traverses, result.traverses, strict=True):
        yield from _traverse_mistakes(name, files[name], traverse)
    for name, line in zip(lines, () if result.space is None else result.space.lines, strict=True):
        yield from _line_mistakes(name, files[name], line)
    if result.order_search is not None:
        yield from _order_mistakes(files["phase_orders.csv"], result.order_search)


def _entries(result: Result) -> dict[str, Sequence[Any]]:
    """Entries of each table."""
    found: dict[str, Sequence[Any]] = {
        "receptors.csv": result.receptors,
        "losses.csv": result.losses,
        "parts.csv": result.parts,
        "phases.csv": result.phases,
        "sequence_impedance.csv": result.sequence_impedance,
        "zones.csv": result.zones,
        "reservations.csv": result.reservations,
        "limit_distances.csv": result.limit_distances,
        "saturation.csv": result.saturation,
        "current_sweep.csv": result.current_sweep,
        "faults.csv": result.faults,
        "charging.csv": result.charging,
        "fault_pairs.csv": result.fault_pairs,
        "ladder_of_formulas.csv": result.ladder,
        "mesh_levels.csv": result.accuracy.levels,
        "fault_design.csv": result.fault_design,
        **{f"{key}.csv": getattr(result, key) for key in FURTHER},
    }
    laying = result.laying_tolerance
    if laying is not None:
        found |= {"laying_field.csv": laying.fields, "laying_share.csv": laying.shares}
        found["laying_loss.csv"] = laying.losses
    space = result.space
    if space is not None:
        shares = [PieceShare(row.name, one.section, one.share) for row in space.receptors for one in row.shares]
        found |= {"space_receptors.csv": space.receptors, "space_shares.csv": shares}
        found["space_along.csv"] = space.along
    if result.order_search is not None:
        found["laid_orders.csv"] = result.order_search.laid
    if result.survey is not None:
        found["survey_readings.csv"] = result.survey.readings
    permitted = result.permitted
    if permitted is not None:
        found |= {"permitted.csv": permitted.cables, "surfaces.csv": permitted.surfaces}
    net = result.net_currents
    if net is not None:
        found |= {"net_current_field.csv": net.fields, "net_current_loss.csv": net.losses}
        found["net_current_distance.csv"] = net.distances
    direct = result.direct_currents
    if direct is not None:
        found |= {"direct_field.csv": direct.fields, "direct_loss.csv": direct.conductors}
    if result.energy is not None:
        found["energy.csv"] = result.energy.rows
    route = result.route
    if route is not None:
        loads = [circuit.delivered for circuit in route.circuits if circuit.delivered is not None]
        turned = [entry for circuit in route.circuits for entry in circuit.transpositions]
        found |= {"route_sections.csv": route.sections, "route_circuits.csv": route.circuits, "route_loads.csv": loads}
        found |= {"route_transpositions.csv": turned, "route_lines.csv": route.lines, "route_fields.csv": route.fields}
    return found


def _table_mistakes(name: str, text: str, entries: Sequence[Any]) -> Iterator[str]:
    rows = list(csv.DictReader(io.StringIO(text)))
    if len(rows) != len(entries):
        yield f"{name}: {len(rows)} lines for {len(entries)} entries"
        return
    scalars = [
        field.name
        for field in dataclasses.fields(entries[0])
        if any(isinstance(getattr(entry, field.name), str | int | float | complex) for entry in entries)
    ]
    columns = {column.removesuffix("_re").removesuffix("_im") for column in rows[0]}
    if missing := set(scalars) - columns:
        yield f"{name}: no column for {sorted(missing)}"
    for k, (row, entry) in enumerate(zip(rows, entries, strict=True), 1):
        for column, cell in row.items():
            value = _field(entry, column)
            if not _same(cell, value):
                yield f"{name}, line {k}, {column}: “{cell}” where {value!r} is expected"


def _field(entry: Any, column: str) -> Any:
    """The field that a column is named after, of a phasor its real or imaginary part."""
    if hasattr(entry, column):
        return getattr(entry, column)
    value = getattr(entry, column[:-3])
    return None if value is None else value.real if column.endswith("_re") else value.imag


def _same(cell: str, value: Any) -> bool:
    if value is None:
        return cell == ""
    if isinstance(value, float):
        return float(cell) == value or (math.isnan(value) and cell == "nan")
    return cell == str(value)


def _traverse_mistakes(name: str, text: str, traverse: Any) -> Iterator[str]:
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
    yield from _column_mistakes(name, text, columns)


def _line_mistakes(name: str, text: str, line: Any) -> Iterator[str]:
    columns = dict(zip(("x_m", "y_m", "z_m"), line.points_m.T, strict=True))
    columns |= {"distance_m": line.distance_m, "b_rms_t": line.b_rms_t, "b_rms_error_t": line.b_rms_error_t}
    columns |= {"second_b_rms_t": line.second_b_rms_t, "nearest_b_rms_t": line.nearest_b_rms_t}
    yield from _column_mistakes(name, text, columns)


def _column_mistakes(name: str, text: str, columns: Mapping[str, Any]) -> Iterator[str]:
    rows = list(csv.DictReader(io.StringIO(text)))
    if set(rows[0]) != set(columns):
        yield f"{name}: columns {sorted(set(rows[0]) ^ set(columns))} are missing or unknown to the tests"
        return
    for column, values in columns.items():
        if not np.array_equal([float(row[column]) for row in rows], values):
            yield f"{name}, {column}: not the values of the line"


def _order_mistakes(text: str, found: Any) -> Iterator[str]:
    header, *lines = csv.reader(io.StringIO(text))
    count = len(found.today.phases)
    judged = [("as stated", found.today), *((f"best {k}", order) for k, order in enumerate(found.best, 1))]
    full = (("as stated", found.today, found.today_solved), ("best 1", found.best[0], found.best_solved))
    expected = [
        [name, "judged", *_labels(order), *_measures(order), *_fields(order), *([None] * len(_fields(order)))]
        for name, order in judged
    ]
    expected += [
        [
            *(name, "full solution", *_labels(order), *_measures(solved), *_fields(solved)),
            *(*solved.receptor_b_rms_error_t, *solved.zone_b_max_rms_error_t),
        ]
        for name, order, solved in full
    ]
    numbers = ["value", "worst_over_limit", "worst_at", "largest_share", "inequality"]
    receptors, zones = len(found.receptors), len(found.zones)
    fields = [*["b_rms_t_"] * receptors, *["b_max_rms_t_zone_"] * zones]
    errors = [*["b_rms_error_t_"] * receptors, *["b_max_rms_error_t_zone_"] * zones]
    heads = ["order", "source", *["labels_"] * count, *numbers, *fields, *errors]
    if len(header) != len(heads) or not all(name.startswith(head) for name, head in zip(header, heads, strict=True)):
        yield f"phase_orders.csv: columns {header} are not those that the tests know"
        return
    for line, values in zip(lines, expected, strict=True):
        for column, cell, value in zip(header, line, values, strict=True):
            if not _same(cell, value):
                yield f"phase_orders.csv, {line[0]} {line[1]}, {column}: “{cell}” where {value!r} is expected"


def _labels(order: Any) -> list[str]:
    return [" ".join(labels) for labels in order.phases.values()]


def _measures(order: Any) -> list[Any]:
    return [order.value, order.worst_over_limit, order.worst_at, order.largest_share, order.inequality]


def _fields(order: Any) -> list[float]:
    return [*order.receptor_b_rms_t, *order.zone_b_max_rms_t]


SECTIONS = (
    *("receptors", "losses", "parts", "phases", "sequence_impedance", "ladder", "zones", "limit_distances"),
    *("reservations", "space", "survey"),
    *("saturation", "current_sweep", "order_search", "route", "charging", "faults", "fault_pairs", "fault_design"),
    *(
        "laying_tolerance",
        "net_currents",
        "direct_currents",
        "permitted",
        "energy",
        "traverses",
        "accuracy",
        "checks",
        "cautions",
    ),
)
"""Keys of results.json that are fields of a result."""
NOT_WRITTEN = (
    *("study", "cross_section", "map", "fields", "drive", "loss_fields", "element_fields", "fault_forces"),
    *("route_solution", "readings", "solutions", "failures"),
)
"""Fields of a result that are no key: what was asked, arrays of the mesh, and what is written in another form."""
FURTHER = tuple(field.name for field in dataclasses.fields(Result) if field.name not in (*SECTIONS, *NOT_WRITTEN))
"""Fields of answers that are listed nowhere here: each is a key, and a table of its name."""
OTHERS = ("schema", "title", "frequency_hz", "software", "loss_totals", "files", "failures")


def json_mistakes(result: Result, text: str) -> Iterator[str]:
    """What results.json holds that it should not, in sentences."""
    document = json.loads(text)
    if unknown := set(document) ^ {*SECTIONS, *FURTHER, *OTHERS}:
        yield f"results.json: keys {sorted(unknown)} are missing or unknown to tests/studies/cells_of_files.py"
    if document.get("failures"):
        yield f"results.json: {document['failures']} failed"
    for section in (*SECTIONS, *FURTHER):
        yield from _entry_mistakes(section, document[section], getattr(result, section), section)
    kinds = {loss.kind for loss in result.losses}
    for kind in kinds:
        total = math.fsum(loss.loss_w_per_m for loss in result.losses if loss.kind == kind)
        if not math.isclose(document["loss_totals"][f"{kind}_w_per_m"], total, rel_tol=1e-9):
            yield f"results.json: loss_totals.{kind}_w_per_m is not the sum of its parts"
    if document["failures"]:
        yield f"results.json: failures {document['failures']} where none is expected"
    if document["frequency_hz"] != result.study.frequency:
        yield "results.json: frequency_hz is not the study's"


def _entry_mistakes(path: str, found: Any, value: Any, key: str) -> Iterator[str]:
    """Compare what was read with a field, and the last key of its path with the unit that a number has."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        names = {field.name for field in dataclasses.fields(value)}
        if set(found) != names:
            yield f"results.json: {path} has or lacks the keys {sorted(set(found) ^ names)}"
            return
        for name in names:
            yield from _entry_mistakes(f"{path}.{name}", found[name], getattr(value, name), name)
    elif isinstance(value, Mapping):
        for name, own in value.items():
            yield from _entry_mistakes(f"{path}.{name}", found[name], own, key)
    elif isinstance(value, complex):
        yield from _entry_mistakes(path, found, (value.real, value.imag), key)
    elif isinstance(value, tuple | np.ndarray):
        if len(found) != len(value):
            yield f"results.json: {path} has {len(found)} entries of {len(value)}"
            return
        for k, own in enumerate(value):
            yield from _entry_mistakes(f"{path}[{k}]", found[k], own, key)
    else:
        if isinstance(value, float) and not key.endswith((*UNITS, "_factor", "_factor_error")) and key not in RATIOS:
            yield f"results.json: {path} has no unit in its key; if it is a ratio, add its key to RATIOS of the tests"
        expected = None if isinstance(value, float) and not math.isfinite(value) else value
        if found != expected or isinstance(found, bool) is not isinstance(expected, bool | np.bool_):
            yield f"results.json: {path} is {found!r} where {value!r} is expected"
