"""What the tables of a report hold of phase orders, and of the route."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from studies.answers.route.rows import RouteLineResult, RouteResult
from studies.result import Result
from studies.section.spectrum import components
from tests.studies.cells import (
    FLUX,
    LOSS,
    Expected,
    Known,
    angle,
    err,
    first_of_most,
    lists,
    num,
    off,
    words,
)
from tests.studies.cells_of_forces import charging_table, fault_tables


def decision_tables(result: Result) -> Iterator[Known]:
    """All of them, in the order of the page."""
    yield from _orders(result)
    if result.route is not None:
        yield from _route(result.route)
    if result.charging:
        yield charging_table(result)
    if result.faults:
        yield from fault_tables(result)


def _orders(result: Result) -> Iterator[Known]:
    found = result.order_search
    if found is None:
        return
    several = len(components(result.study)) > 1
    alone = f", at {result.cross_section.frequency:g} Hz alone" if several else ""
    yield Known(
        f"Phase orders{alone}",
        [("as stated", found.today), *((f"no. {k}", order) for k, order in enumerate(found.best, 1))],
        (
            words("Order", lambda row: row[0]),
            words("Phases", lambda row: _phases(row[1].phases)),
            num("Objective", "–", lambda row: row[1].value),
            num("Worst field over its limit", "–", lambda row: row[1].worst_over_limit),
            words("At", lambda row: row[1].worst_at),
            num("Largest share", "%", lambda row: row[1].largest_share),
            num("x_spread", "%", lambda row: row[1].inequality),
        ),
    )
    today, best, judged = found.today_solved, found.best_solved, found.best[0]
    entries: tuple[Any, ...] = (*result.receptors, *result.zones)
    limits = [entry.limit_t for entry in entries]
    names = [*found.receptors, *(f"{name}, highest" for name in found.zones)]
    rows = list(
        zip(
            names,
            limits,
            (*today.receptor_b_rms_t, *today.zone_b_max_rms_t),
            (*today.receptor_b_rms_error_t, *today.zone_b_max_rms_error_t),
            (*judged.receptor_b_rms_t, *judged.zone_b_max_rms_t),
            (*best.receptor_b_rms_t, *best.zone_b_max_rms_t),
            (*best.receptor_b_rms_error_t, *best.zone_b_max_rms_error_t),
            strict=True,
        )
    )
    if rows:
        yield Known(
            f"Field of the phase order as stated and of the best one{alone}",
            rows,
            (
                words("Field at", lambda row: row[0]),
                num("Limit", FLUX, lambda row: row[1]),
                num("As stated", FLUX, lambda row: row[2]),
                err(FLUX, lambda row: row[3]),
                num("No. 1, judged", FLUX, lambda row: row[4]),
                num("No. 1, in full", FLUX, lambda row: row[5]),
                err(FLUX, lambda row: row[6]),
                num("Judged differs", "%", lambda row: off(row[4], row[5])),
            ),
        )

    def error(name: str) -> Any:
        return lambda row: getattr(row[1], name, None)

    yield Known(
        f"The phase order as stated and the best one{alone}",
        [("as stated", today), ("no. 1, judged", judged), ("no. 1, in full", best)],
        (
            words("Order", lambda row: row[0]),
            num("Objective", "–", lambda row: row[1].value),
            err("–", error("value_error")),
            num("Worst field over its limit", "–", lambda row: row[1].worst_over_limit),
            err("–", error("worst_over_limit_error")),
            words("At", lambda row: row[1].worst_at),
            num("Largest share", "%", lambda row: row[1].largest_share),
            err("%", error("largest_share_error")),
            num("x_spread", "%", lambda row: row[1].inequality),
            err("%", error("inequality_error")),
            words("Verdict", lambda row: order_verdict(row[1])),
        ),
    )
    yield from _laid(found)


def columns_of_laid(found: Any) -> tuple[Expected, ...]:
    """The stated order and the best ones over all layings, on a page and in a terminal."""
    places = [*found.receptors, *found.zones]

    def at_worst(key: str) -> Callable[[Any], Any]:
        return lambda row: None if row.worst_at is None else getattr(row, key)[places.index(row.worst_at)]

    return (
        words("Order", lambda row: row.order),
        words("Place", lambda row: row.worst_at),
        num("Field as drawn", FLUX, at_worst("b_rms_t")),
        num("95th percentile", FLUX, at_worst("p95_b_rms_t")),
        num("Over its limit", ("", "–"), lambda row: row.p95_worst_over_limit),
        num("Largest share", "%", lambda row: row.largest_share),
        num("95th percentile", "%", lambda row: row.p95_largest_share),
    )


def _laid(found: Any) -> Iterator[Known]:
    if not found.laid:
        return
    yield Known("Phase orders over all layings", found.laid, columns_of_laid(found))
    columns = [words("Cable", lambda k: found.laid[0].parts[k].removesuffix(".conductor"))]
    for order in found.laid:
        columns.append(num(order.order, "%", order.shares.__getitem__))
        columns.append(num(f"{order.order}, 95th percentile", "%", order.p95_shares.__getitem__))
    yield Known("Shares of the cables by phase order", range(len(found.laid[0].parts)), tuple(columns))


def order_verdict(order: Any) -> str:
    """Of all fields that count together; a dash where an order is judged alone."""
    if not hasattr(order, "within_limits"):
        return "–"
    return {True: "within the limits", False: "above a limit", None: "no limit stated"}[order.within_limits]


def _phases(phases: dict[str, tuple[str, ...]]) -> Any:
    """Labels of each circuit in their order, with wider gaps after each six of many."""
    texts = [rf"{re.escape(name)}: {'[ ·]+'.join(labels)}" for name, labels in phases.items()]
    return re.compile("; ".join(texts) + "$")


def _route(route: RouteResult) -> Iterator[Known]:
    at_load = (
        num("Loss at the load", LOSS, lambda row: row.load_loss_w_per_m),
        err(LOSS, lambda row: row.load_loss_error_w_per_m),
        num("Formula, no tray", LOSS, lambda row: row.load_formula_loss_w_per_m),
    )
    yield Known(
        "Sections of the run",
        route.sections,
        (
            words("Section", lambda row: row.section),
            num("From", "m", lambda row: row.start_m),
            num("To", "m", lambda row: row.end_m),
            words("Phases by position", lambda row: _phases(row.phases)),
            words("Cross-section", lambda row: "; ".join(row.changes) or "as stated"),
            num("Loss at the study's currents", LOSS, lambda row: row.loss_w_per_m),
            err(LOSS, lambda row: row.loss_error_w_per_m),
            num("Formula, no tray", LOSS, lambda row: row.formula_loss_w_per_m),
            *(at_load if route.load_loss_w is not None else ()),
        ),
    )
    drops = [(row, k) for row in route.circuits for k in range(3)]
    yield Known(
        "Voltage drop of the whole run, study's currents",
        drops,
        (
            words("Circuit", lambda row: row[0].circuit),
            words("Phase", lambda row: f"L{row[1] + 1}"),
            num("Drop", "V", lambda row: abs(row[0].drop_v[row[1]])),
            err("V", lambda row: row[0].drop_error_v[row[1]]),
            num("Formula", "V", lambda row: abs(row[0].formula_drop_v[row[1]])),
            num("Difference", "%", _drop_off),
        ),
    )
    yield Known(
        "Impedance of the whole run",
        route.circuits,
        (
            words("Circuit", lambda row: row.circuit),
            num("|Z1|", "mΩ", lambda row: abs(row.z1_ohm)),
            err("mΩ", lambda row: row.z1_error_ohm),
            num("Formula", "mΩ", lambda row: abs(row.formula_z1_ohm)),
            num("Difference", "%", lambda row: off(abs(row.formula_z1_ohm), abs(row.z1_ohm))),
            num("|Z21/Z11|", "%", lambda row: row.z21_over_z11),
            err("%", lambda row: row.z21_over_z11_error),
            num("Formula", "%", lambda row: row.formula_z21_over_z11),
        ),
    )
    delivered = [row.delivered for row in route.circuits if row.delivered is not None]
    if delivered:
        yield Known(
            "Line voltages at the load",
            [(row, k) for row in delivered for k in range(3)],
            (
                words("Circuit", lambda row: row[0].circuit),
                words("Load", lambda row: row[0].load),
                words("Between", lambda row: ("L1–L2", "L2–L3", "L3–L1")[row[1]]),
                num("Voltage", "V", lambda row: row[0].line_voltage_v[row[1]]),
                err("V", lambda row: row[0].line_voltage_error_v[row[1]]),
            ),
        )
        yield Known(
            "Drop and unbalance at the load",
            delivered,
            (
                words("Circuit", lambda row: row.circuit),
                num("Largest drop", "%", lambda row: row.relative_drop),
                err("%", lambda row: row.relative_drop_error),
                num("Formula", "%", lambda row: row.formula_relative_drop),
                num("V2/V1", "%", lambda row: row.v2_over_v1),
                err("%", lambda row: row.v2_over_v1_error),
                num("Formula", "%", lambda row: row.formula_v2_over_v1),
                num("V0/V1", "%", lambda row: row.v0_over_v1),
                err("%", lambda row: row.v0_over_v1_error),
                num("NEMA", "%", lambda row: row.nema_unbalance),
                err("%", lambda row: row.nema_unbalance_error),
                num("I2/I1", "%", lambda row: row.i2_over_i1),
                err("%", lambda row: row.i2_over_i1_error),
            ),
        )
    turned = [entry for row in route.circuits for entry in row.transpositions]
    if turned:
        yield Known(
            "What transposing would improve",
            turned,
            (
                words("Circuit", lambda row: row.circuit),
                num("Transpositions", "–", lambda row: float(row.transpositions)),
                lists("At", "m", lambda row: list(row.at_m)),
                num("z_deviation", "%", lambda row: row.inequality),
                err("%", lambda row: row.inequality_error),
                num("Formula", "%", lambda row: row.formula_inequality),
                num("|Z21/Z11|", "%", lambda row: row.coupling),
                err("%", lambda row: row.coupling_error),
                num("V2/V1", "%", lambda row: row.v2_over_v1),
                err("%", lambda row: row.v2_over_v1_error),
                num("Formula", "%", lambda row: row.formula_v2_over_v1),
            ),
        )
    yield from _lines(route)
    if route.fields:
        yield _route_fields(route)


def _drop_off(row: Any) -> float | None:
    circuit, k = row
    return off(abs(circuit.formula_drop_v[k]), abs(circuit.drop_v[k]))


def formula_current(row: RouteLineResult) -> float | None:
    """Its magnitude. [A]"""
    return None if row.formula_current_a is None else abs(row.formula_current_a)


def _lines(route: RouteResult) -> Iterator[Known]:
    metal = [row for row in route.lines if row.layer != "conductor"]
    at_joints = any(row.current_section for row in metal)
    if metal:
        yield Known(
            "Layers of metal along the run",
            metal,
            (
                words("Layer or metal", lambda row: row.line),
                num("Current", "A", lambda row: abs(row.current_a)),
                err("A", lambda row: row.current_error_a),
                *((words("In section", lambda row: row.current_section),) if at_joints else ()),
                num("Formula", "A", formula_current),
                num("Largest voltage", "V", lambda row: row.largest_voltage_v),
                err("V", lambda row: row.largest_voltage_error_v),
                num("Formula", "V", lambda row: row.formula_largest_voltage_v),
                num("At", "m", lambda row: row.at_m),
            ),
        )
    parallel = [row for row in route.lines if row.of_equal_share is not None]
    if parallel:
        yield Known(
            "Parallel cables along the run",
            parallel,
            (
                words("Cable", lambda row: row.line),
                num("Current", "A", lambda row: abs(row.current_a)),
                err("A", lambda row: row.current_error_a),
                num("Angle", "°", lambda row: angle(row.current_a)),
                num("Of equal share", "%", lambda row: row.of_equal_share),
                err("%", lambda row: row.of_equal_share_error),
                num("Formula", "A", formula_current),
                num("Difference", "%", lambda row: off(formula_current(row), abs(row.current_a))),
            ),
        )


def larger_field(row: Any) -> float:
    """The larger of the fields with the study's currents and at the load. [T]"""
    return float(max(row.b_rms_t, row.load_b_rms_t or 0.0))


def field_names(route: RouteResult) -> Callable[[Any], str]:
    """The receptor, and whether its field is highest there."""
    names = {entry.receptor for entry in route.fields}
    highest = [first_of_most((row for row in route.fields if row.receptor == name), larger_field) for name in names]
    several = len({entry.section for entry in route.fields}) > 1
    return lambda row: str(row.receptor) + (" (highest)" if several and any(row is one for one in highest) else "")


def route_field_verdict(row: Any) -> str:
    """Of the larger field."""
    if row.limit_t is None:
        return "no limit stated"
    at = "" if row.load_b_rms_t is None else f", at {row.judged_at}"
    if row.within_limit:
        return f"within the limit{at}"
    return f"{'above the limit' if larger_field(row) > row.limit_t else 'limit within the error'}{at}"


def _route_fields(route: RouteResult) -> Known:
    at_load = (
        num("Field, rms, at the load", FLUX, lambda row: row.load_b_rms_t),
        err(FLUX, lambda row: row.load_b_rms_error_t),
        num("Line formula", FLUX, lambda row: row.load_line_formula_b_rms_t),
        num("Difference", "%", lambda row: off(row.load_line_formula_b_rms_t, row.load_b_rms_t)),
    )
    return Known(
        "The field along the run",
        route.fields,
        (
            words("Receptor", field_names(route)),
            words("Section", lambda row: row.section),
            num("x", "m", lambda row: row.x_m),
            num("y", "m", lambda row: row.y_m),
            num("Field, rms, at the study's currents", FLUX, lambda row: row.b_rms_t),
            err(FLUX, lambda row: row.b_rms_error_t),
            num("Line formula", FLUX, lambda row: row.line_formula_b_rms_t),
            num("Difference", "%", lambda row: off(row.line_formula_b_rms_t, row.b_rms_t)),
            *(at_load if route.load_loss_w is not None else ()),
            num("Limit", FLUX, lambda row: row.limit_t),
            words("Verdict", route_field_verdict),
        ),
    )
