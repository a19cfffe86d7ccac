"""What the tables of the terminal hold of the route, phase orders, short circuits and charging currents."""

import re
from collections.abc import Iterator

from studies.answers.route.rows import RouteResult
from studies.result import Result
from studies.section.spectrum import components
from tests.studies.cells import FLUX, LOSS, Known, angle, num, off, words
from tests.studies.cells_of_decisions import (
    columns_of_laid,
    field_names,
    formula_current,
    order_verdict,
    route_field_verdict,
)
from tests.studies.cells_of_forces import cable_and_phase, fault_name, faults_of, steel_bound

WITHIN = {True: "within", False: "ABOVE", None: ""}


def route_tables(route: RouteResult) -> Iterator[Known]:
    """As on the page, with fewer columns; drops, voltages and transpositions are on the page alone."""
    loaded = route.load_loss_w is not None
    losses_at_load = (
        num("Loss at the load", LOSS, lambda row: row.load_loss_w_per_m),
        num("Formula, no tray", LOSS, lambda row: row.load_formula_loss_w_per_m),
    )
    yield Known(
        "Sections of the run",
        route.sections,
        (
            words("Section", lambda row: row.section),
            num("From", "m", lambda row: row.start_m),
            num("To", "m", lambda row: row.end_m),
            words("Cross-section", lambda row: "; ".join(row.changes) or "as stated"),
            num("Loss at the study's currents", LOSS, lambda row: row.loss_w_per_m),
            num("Formula, no tray", LOSS, lambda row: row.formula_loss_w_per_m),
            *(losses_at_load if loaded else ()),
        ),
    )
    yield Known(
        "Impedance of the whole run",
        route.circuits,
        (
            words("Circuit", lambda row: row.circuit),
            num("|Z1|", "mΩ", lambda row: abs(row.z1_ohm)),
            num("Formula", "mΩ", lambda row: abs(row.formula_z1_ohm)),
            num("Difference", "%", lambda row: off(abs(row.formula_z1_ohm), abs(row.z1_ohm))),
            num("|Z21/Z11|", "%", lambda row: row.z21_over_z11),
            num("Formula", "%", lambda row: row.formula_z21_over_z11),
        ),
    )
    yield Known(
        "Drop and unbalance at the load",
        [row.delivered for row in route.circuits if row.delivered is not None],
        (
            words("Circuit", lambda row: row.circuit),
            num("Largest drop", "%", lambda row: row.relative_drop),
            num("Formula", "%", lambda row: row.formula_relative_drop),
            num("V2/V1", "%", lambda row: row.v2_over_v1),
            num("Formula", "%", lambda row: row.formula_v2_over_v1),
            num("I2/I1", "%", lambda row: row.i2_over_i1),
        ),
    )
    at_joints = any(row.current_section for row in route.lines)
    yield Known(
        "Layers of metal along the run",
        [row for row in route.lines if row.layer != "conductor"],
        (
            words("Layer or metal", lambda row: row.line),
            num("Current", "A", lambda row: abs(row.current_a)),
            *((words("In section", lambda row: row.current_section),) if at_joints else ()),
            num("Formula", "A", formula_current),
            num("Largest voltage", "V", lambda row: row.largest_voltage_v),
            num("Formula", "V", lambda row: row.formula_largest_voltage_v),
            num("At", "m", lambda row: row.at_m),
        ),
    )
    yield Known(
        "Parallel cables along the run",
        [row for row in route.lines if row.of_equal_share is not None],
        (
            words("Cable", lambda row: row.line),
            num("Current", "A", lambda row: abs(row.current_a)),
            num("Angle", "°", lambda row: angle(row.current_a)),
            num("Of equal share", "%", lambda row: row.of_equal_share),
            num("Formula", "A", formula_current),
            num("Difference", "%", lambda row: off(formula_current(row), abs(row.current_a))),
        ),
    )
    fields_at_load = (
        num("Field, rms, at the load", FLUX, lambda row: row.load_b_rms_t),
        num("Line formula", FLUX, lambda row: row.load_line_formula_b_rms_t),
        num("Difference", "%", lambda row: off(row.load_line_formula_b_rms_t, row.load_b_rms_t)),
    )
    yield Known(
        "The field along the run",
        route.fields,
        (
            words("Receptor", field_names(route)),
            words("Section", lambda row: row.section),
            num("Field, rms, at the study's currents", FLUX, lambda row: row.b_rms_t),
            num("Line formula", FLUX, lambda row: row.line_formula_b_rms_t),
            num("Difference", "%", lambda row: off(row.line_formula_b_rms_t, row.b_rms_t)),
            *(fields_at_load if loaded else ()),
            num("Limit", FLUX, lambda row: row.limit_t),
            words("Verdict", lambda row: re.compile(rf"(! )?{re.escape(route_field_verdict(row))}$")),
        ),
    )


def order_table(result: Result) -> Known:
    found = result.order_search
    alone = f", at {result.cross_section.frequency:g} Hz alone" if len(components(result.study)) > 1 else ""
    return Known(
        f"The phase order as stated and the best one{alone}",
        [] if found is None else [("as stated", found.today_solved), ("no. 1, in full", found.best_solved)],
        (
            words("Order", lambda row: row[0]),
            num("Objective", ("", "–"), lambda row: row[1].value),
            num("Worst field over its limit", ("", "–"), lambda row: row[1].worst_over_limit),
            words("At", lambda row: row[1].worst_at),
            num("Largest share", "%", lambda row: row[1].largest_share),
            num("x_spread", "%", lambda row: row[1].inequality),
            words("Verdict", lambda row: re.compile(rf"(! )?{re.escape(order_verdict(row[1]))}$")),
        ),
    )


def laid_order_table(result: Result) -> Known:
    found = result.order_search
    return Known(
        "Phase orders over all layings",
        [] if found is None else list(found.laid),
        () if found is None else columns_of_laid(found),
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
            words("Reason", lambda row: row.why),
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
