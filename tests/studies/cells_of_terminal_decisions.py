"""What the tables of the terminal hold of the route, phase orders, short circuits and charging currents."""

import re
from collections.abc import Callable, Iterator
from typing import Any

from studies.answers.route.rows import RouteResult
from studies.result import Result
from tests.studies.cells import Known, num, off, percents, quantity, words
from tests.studies.cells_of_decisions import cable_and_phase, fault_name, faults_of, steel_bound

WITHIN = {True: "within", False: "ABOVE", None: ""}


def _changes(row: Any) -> str:
    if isinstance(row, RouteResult):
        return ""
    return "another" if row.changes else "the study's own"


def route_tables(route: RouteResult) -> Iterator[Known]:
    loaded = route.load_loss_w is not None

    def per(name: str) -> Callable[[Any], Any]:
        """A field per metre of a section, and that of the whole run."""
        return lambda row: getattr(row, f"{name}_w" if row is route else f"{name}_w_per_m")

    def unit(row: Any) -> str:
        return "W" if row is route else "W/m"

    at_load = (
        quantity("loss at the load", "W", per("load_loss"), per=unit),
        quantity("formula", "W", per("load_formula_loss"), per=unit),
    )
    yield Known(
        "section",
        [*route.sections, route],
        (
            words("section", lambda row: "whole run" if row is route else row.section),
            quantity("from", "m", lambda row: 0.0 if row is route else row.start_m),
            quantity("to", "m", lambda row: row.length_m if row is route else row.end_m),
            quantity("loss at study's currents" if loaded else "loss", "W", per("loss"), per=unit),
            quantity("formula, no tray", "W", per("formula_loss"), per=unit),
            *(at_load if loaded else ()),
            words("cross-section", _changes),
        ),
    )

    def arriving(name: str) -> Any:
        return lambda row: getattr(row.delivered, name, None)

    yield Known(
        "run of",
        route.circuits,
        (
            words("run of", lambda row: row.circuit),
            quantity("|Z1|", "Ω", lambda row: abs(row.z1_ohm)),
            quantity("formula", "Ω", lambda row: abs(row.formula_z1_ohm)),
            percents("differs", lambda row: off(abs(row.formula_z1_ohm), abs(row.z1_ohm))),
            percents("|Z21/Z11|", lambda row: row.z21_over_z11),
            percents("drop at load", arriving("relative_drop")),
            percents("V2/V1", arriving("v2_over_v1")),
            percents("formula", arriving("formula_v2_over_v1")),
            percents("I2/I1", arriving("i2_over_i1")),
        ),
    )
    yield Known(
        "along the run",
        [row for row in route.lines if row.largest_voltage_v is not None],
        (
            words("along the run", lambda row: row.line),
            quantity("current", "A", lambda row: abs(row.current_a)),
            quantity("formula", "A", lambda row: None if row.formula_current_a is None else abs(row.formula_current_a)),
            quantity("largest voltage", "V", lambda row: row.largest_voltage_v),
            quantity("formula", "V", lambda row: row.formula_largest_voltage_v),
            quantity("at", "m", lambda row: row.at_m),
        ),
    )
    fields_at_load = (
        quantity("field at the load", "T", lambda row: row.load_b_rms_t),
        quantity("line formula", "T", lambda row: row.load_line_formula_b_rms_t),
        percents("differs", lambda row: off(row.load_line_formula_b_rms_t, row.load_b_rms_t)),
    )

    def judged(row: Any) -> str:
        return WITHIN[row.within_limit] + (f" at {row.judged_at}" if loaded and row.limit_t is not None else "")

    yield Known(
        "receptor",
        route.fields,
        (
            words("receptor", lambda row: row.receptor),
            words("beside", lambda row: row.section),
            quantity(
                "field at study's currents" if loaded else "field, rms",
                "T",
                lambda row: row.b_rms_t,
            ),
            quantity("line formula", "T", lambda row: row.line_formula_b_rms_t),
            percents("differs", lambda row: off(row.line_formula_b_rms_t, row.b_rms_t)),
            *(fields_at_load if loaded else ()),
            quantity("limit", "T", lambda row: row.limit_t),
            words("", judged),
        ),
    )


def order_table(result: Result) -> Known:
    found = result.order_search
    rows = [] if found is None else [("as stated", found.today_solved), ("best", found.best_solved)]
    entries: tuple[Any, ...] = (*result.receptors, *result.zones)
    limited = {entry.name for entry in entries if entry.limit_t is not None}

    def worst(row: Any) -> Any:
        over = row[1].worst_over_limit
        return (
            "–" if over is None else re.compile(rf"{over:.3g} × {'limit' if row[1].worst_at in limited else 'today'}$")
        )

    return Known(
        "phase order",
        rows,
        (
            words("phase order", lambda row: row[0]),
            quantity("objective", "", lambda row: row[1].value),
            words("worst field", worst),
            words("at", lambda row: row[1].worst_at),
            percents("largest share", lambda row: row[1].largest_share),
            percents("x_spread", lambda row: row[1].inequality),
            words("", lambda row: WITHIN[row[1].within_limits]),
        ),
    )


def fault_table(result: Result) -> Known:
    """The cable with the greatest force of each fault."""
    worst = [max(rows, key=lambda entry: entry.peak_force_n_per_m) for rows in faults_of(result)]
    cleats = any(row.force_per_cleat_n is not None for row in worst)
    bare = any(row.force_without_steel_n_per_m is not None for row in worst)
    return Known(
        "Greatest force of each fault",
        worst,
        (
            words("Fault", fault_name),
            num("Peak", "kA", lambda row: row.peak_current_a),
            words("Cable", cable_and_phase),
            num("Peak force", "N/m", lambda row: row.peak_force_n_per_m),
            *((num("Per cleat", "N", lambda row: row.force_per_cleat_n),) if cleats else ()),
            *((num("Without steel", "N/m", lambda row: row.force_without_steel_n_per_m),) if bare else ()),
            *((words("Steel", steel_bound),) if any(row.steel_exceeded for row in worst) else ()),
            num("Without offset", "N/m", lambda row: row.alternating_peak_force_n_per_m),
            num("IEC 61914", "N/m", lambda row: row.standard_force_n_per_m),
            num("Difference", "%", lambda row: row.standard_difference),
        ),
    )


def design_table(result: Result) -> Known:
    cleats = any(row.force_per_cleat_n is not None for row in result.fault_design)
    return Known(
        "Force to design cleats for",
        result.fault_design,
        (
            words("Fault", fault_name),
            num("Peak", "kA", lambda row: row.peak_current_a),
            words("On", cable_and_phase),
            num("Force", "N/m", lambda row: row.force_n_per_m),
            *((num("Per cleat", "N", lambda row: row.force_per_cleat_n),) if cleats else ()),
            words("Because", lambda row: row.why),
        ),
    )


def charging_table(result: Result) -> Known:
    run = any(row.run_charging_current_a is not None for row in result.charging)
    return Known(
        "Capacitance and charging current of the phases",
        result.charging,
        (
            words("Phase", lambda row: f"{row.circuit} {row.phase}"),
            num("Capacitance", "pF/m", lambda row: row.capacitance_f_per_m),
            num("Charging current", "mA/km", lambda row: row.charging_current_a_per_m),
            num("Deviation", "%", lambda row: row.circuit_inequality),
            *((num("Whole run", "mA", lambda row: row.run_charging_current_a),) if run else ()),
        ),
    )
