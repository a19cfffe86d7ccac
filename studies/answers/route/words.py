"""The route in words: tables for page and terminal, and the sentences of report, summary and terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.result_units import result_units
from studies.answers.route.rows import (
    LOAD,
    STUDY,
    DeliveredResult,
    RouteCircuitResult,
    RouteFieldResult,
    RouteLineResult,
    RouteResult,
    RouteSectionResult,
    TranspositionResult,
)
from studies.answers.sheet_row import SheetRow
from studies.formulas.unbalance import DEFINITIONS, Z_DEVIATION
from studies.section.run_bonds import joining_words
from studies.study.parts import CONDUCTOR
from studies.study.phases import LINES
from studies.text.blocks import Block, Figure, First, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import GAP, largest, plain, rounded_up, significant, stated, stated_number, value_with_error
from studies.text.printable import in_words
from studies.text.table import Column, Table, difference_column
from studies.text.units import (
    AMPERE,
    FLUX_DENSITY,
    LOSS,
    LOSS_PER_LENGTH,
    METRE,
    MILLIOHM,
    NUMBER,
    PER_CENT,
    VOLT,
    WATT,
    Unit,
    Units,
    unit_for,
)

BY_FORMULA = "Formula: line currents at the axes, thin tubes for layers of metal, IEC 60287-1-1 resistances, no tray."
LOSS_NOTE = "Loss: of cables and metal, from the power that enters the section."
DROP_NOTE = f"Drop: voltage along a phase over the whole run, with the study's currents. {BY_FORMULA}"
IMPEDANCE_NOTE = f"Z21: negative-sequence voltage of a positive-sequence current. {BY_FORMULA}"
LOAD_NOTE = (
    "For a balanced supply. Largest drop: of a line voltage, over the voltage of the supply. V2/V1 and V0/V1 "
    "(IEC 61000-4-30): of the voltages at the load; V0 against the neutral point of the supply, by way of the far "
    "earth if there is no neutral conductor. NEMA: largest deviation of a line voltage from their mean, over the mean "
    "(NEMA MG 1)."
)
TRANSPOSITION_NOTE = (
    "The stated cross-section and phase order over the same length, with the phases transposed at equal distances. "
    f"{Z_DEVIATION}: {DEFINITIONS[Z_DEVIATION]}; it contains their common drop as well. |Z21/Z11| and "
    "V2/V1 judge how equal the phases are."
)
METAL_NOTE = (
    "Current along the whole run with the study's currents; zero for an open layer, the largest of all sections for a "
    "layer that is joined at every joint. Largest voltage: along the run, of an open layer against the place where it "
    "is earthed, of a layer that is joined against the start. It "
    f"can be dangerous to touch; in a short circuit it is far higher. {BY_FORMULA}"
)
PARALLEL_NOTE = (
    "With the study's currents. The whole run sets the shares of cables that are joined at the ends of the run only. "
    f"{BY_FORMULA}"
)
NEAR_JOINTS = "differs near joints and bends"
FIELD_NOTE = f"Field of a long, uniform section. It {NEAR_JOINTS}."


def route_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The run from end to end; None if the study has no route."""
    route = result.route
    if route is None:
        return None
    how = (
        "The series impedances of its sections add, each with its cross-section and phase order"
        f"{names.at_own_frequency(result)}. {joining_words(result.cross_section, result.study)}"
    )
    caption = "The run: phases by position, voltages of screens, fields."
    if route.load_loss_w is not None:
        caption += " Voltages at the study's currents; of the fields the larger, at these or at the load."
    first, *tables, fields = route_tables(result)
    blocks: list[Block] = [Text((_whole(route, _with_error), how)), first, *_pictures(figures, names.ROUTE, caption)]
    blocks += [table for table in (*tables, fields) if table.rows]
    blocks += _pictures(figures, names.RUN_SECTION, "A cross-section of the run that differs from the stated one.")
    return Section("The route", "route", tuple(blocks))


def route_tables(result: Answers) -> tuple[Table[Any], ...]:
    """All tables of a run, some of them perhaps without rows; none without a run."""
    route = result.route
    if route is None:
        return ()
    units = result_units(result)
    delivered = [circuit.delivered for circuit in route.circuits if circuit.delivered is not None]
    drops = [(circuit, phase) for circuit in route.circuits for phase in range(len(LINES))]
    voltages = [(entry, pair) for entry in delivered for pair in range(len(PAIRS_OF_LINES))]
    turned = [entry for circuit in route.circuits for entry in circuit.transpositions]
    metal = [line for line in route.lines if line.layer != CONDUCTOR]
    parallel = [line for line in route.lines if line.of_equal_share is not None]
    return (
        Table("Sections of the run", SECTIONS, route.sections, LOSS_NOTE),
        Table("Voltage drop of the whole run, study's currents", DROPS, drops, DROP_NOTE),
        Table("Impedance of the whole run", IMPEDANCES, route.circuits, IMPEDANCE_NOTE),
        Table("Line voltages at the load", LINE_VOLTAGES, voltages),
        Table("Drop and unbalance at the load", UNBALANCE, delivered, LOAD_NOTE),
        Table("What transposing would improve", TRANSPOSITIONS, turned, TRANSPOSITION_NOTE),
        Table("Layers of metal along the run", METAL, metal, METAL_NOTE),
        Table("Parallel cables along the run", PARALLEL, parallel, PARALLEL_NOTE),
        _fields(route, units, names.without_net_currents(result)),
    )


def run_lines(result: Answers) -> list[str]:
    """Length and losses of the run, and how its lines are joined and turned."""
    if result.route is None:
        return []
    return [_whole(result.route, _watts), joining_words(result.cross_section, result.study)]


def route_verdict(result: Answers) -> str:
    """Where along the route a limit is exceeded; empty if there is no limit."""
    limited = [entry for entry in (result.route.fields if result.route else ()) if entry.limit_t is not None]
    zones = " Zones are judged in the stated cross-section only." if result.route and result.zones else ""
    if not limited:
        return zones.strip()
    exceeded = [entry for entry in limited if not entry.within_limit]
    if not exceeded:
        return f"Along the whole route all fields are within their limits.{zones}"
    worst = largest(exceeded, lambda entry: entry.judged_b_rms_t / (entry.limit_t or 1.0))
    at = "" if worst.load_b_rms_t is None else f" at {worst.judged_at}"
    sections = in_words([*dict.fromkeys(entry.section for entry in exceeded)])
    share = plain(worst.judged_b_rms_t / (worst.limit_t or 1.0), 3)
    return First(
        f"Along the route a limit is exceeded in {sections}. The worst is “{worst.receptor}” in "
        f"{worst.section}, {stated_number(worst.start_m, METRE)} to {stated(worst.end_m, METRE)}: the field{at} is "
        f"{share} times the limit.{zones}"
    )


def _highest_fields(route: RouteResult) -> dict[str, RouteFieldResult]:
    """The highest field along the run by receptor."""
    fields: dict[str, list[RouteFieldResult]] = {}
    for field in route.fields:
        fields.setdefault(field.receptor, []).append(field)
    return {receptor: largest(own, lambda field: field.judged_b_rms_t) for receptor, own in fields.items()}


def route_rows(result: Answers) -> list[SheetRow]:
    """The run on the sheet to sign: the worst field at each receptor, loss, drop, unbalance, voltage of screens."""
    route = result.route
    if route is None:
        return []
    unit, net = result_units(result).of(FLUX_DENSITY), names.without_net_currents(result)
    rows = [_field_row(field, unit, net) for field in _highest_fields(route).values()]
    rows.append(
        _run_row(f"Loss of the whole run, {stated(route.length_m, METRE)}", _watt(route.loss_w, route.loss_error_w))
    )
    if route.load_loss_w is not None:
        rows.append(_run_row("The same at the load", _watt(route.load_loss_w, route.load_loss_error_w or 0.0)))
    for circuit in route.circuits:
        rows += _drop_rows(circuit)
    if layers := [line for line in route.lines if line.largest_voltage_v]:
        most = max(layers, key=lambda line: line.largest_voltage_v or 0.0)
        value = value_with_error(most.largest_voltage_v or 0.0, most.largest_voltage_error_v or 0.0, VOLT)
        rows.append(_run_row("Largest voltage of metal along the run", f"{value}, {most.line}"))
    return rows


def _run_row(of: str, value: str) -> SheetRow:
    return SheetRow(of, value, section="route")


def _watt(loss: float, error: float) -> str:
    return value_with_error(loss, error, unit_for(loss, LOSS))


def _drop_rows(circuit: RouteCircuitResult) -> list[SheetRow]:
    """Drop and unbalance at the load; without a supply the largest drop of a phase."""
    delivered = circuit.delivered
    if delivered is None:
        drop, error = max(zip(map(abs, circuit.drop_v), circuit.drop_error_v, strict=True))
        return [_run_row(f"Largest voltage drop of {circuit.circuit}", value_with_error(drop, error, VOLT))]
    return [
        _run_row(
            f"Voltage drop at the load of {circuit.circuit}",
            value_with_error(delivered.relative_drop, delivered.relative_drop_error, PER_CENT),
        ),
        _run_row(
            f"Unbalance V2/V1 at the load of {circuit.circuit}",
            _or_bound(delivered.v2_over_v1, delivered.v2_over_v1_error),
        ),
    ]


def _or_bound(share: float, error: float) -> str:
    """A share in per cent; one that its error hides as a bound."""
    if share < error:
        return f"below {rounded_up(share + error, PER_CENT)}{GAP}%"
    return value_with_error(share, error, PER_CENT)


def _field_row(field: RouteFieldResult, unit: Unit, net: str) -> SheetRow:
    at_load = field.load_b_rms_t is not None and field.judged_at == LOAD
    error = (field.load_b_rms_error_t or 0.0) if at_load else field.b_rms_error_t
    share = None if field.limit_t is None else field.judged_b_rms_t / field.limit_t
    margin = None
    if share is not None and field.limit_t is not None:
        margin = f"{plain(share, 3)} times the limit" if share > 1 else 1 - share - error / field.limit_t
    return SheetRow(
        f"Field along the run at “{field.receptor}”, highest beside {field.section}{net}",
        value_with_error(field.judged_b_rms_t, error, unit),
        None if field.limit_t is None else stated(field.limit_t, unit),
        margin,
        _verdict(field),
        _tone(field),
        NEAR_JOINTS,
        "route",
    )


def _whole(route: RouteResult, watts: Callable[[float, float], str]) -> str:
    """Length and losses of the run, each loss written by `watts` from itself and its error."""
    words = (
        f"The run is {stated(route.length_m, METRE)} long and loses {watts(route.loss_w, route.loss_error_w)} "
        f"with the study's currents, metal included; by formula, without trays, {_watts(route.formula_loss_w)}."
    )
    if route.load_loss_w is None or route.load_loss_error_w is None or route.load_formula_loss_w is None:
        return words
    return (
        f"{words} At the load ({route.load_words}) it loses {watts(route.load_loss_w, route.load_loss_error_w)}"
        f"; by formula {_watts(route.load_formula_loss_w)}. Circuits without a stated load keep the study's currents."
    )


def _watts(loss: float, _: float = 0.0) -> str:
    return f"{significant(loss, WATT, 3)}\u202fW"


def _with_error(loss: float, error: float) -> str:
    return value_with_error(loss, error, WATT)


def _phases(section: RouteSectionResult) -> str:
    return "; ".join(f"{circuit}: {' '.join(labels)}" for circuit, labels in section.phases.items())


SECTIONS: tuple[Column[RouteSectionResult], ...] = (
    Column("Section", lambda r: r.section, brief=True),
    Column("From", lambda r: r.start_m, METRE, stated=True, brief=True),
    Column("To", lambda r: r.end_m, METRE, stated=True, brief=True),
    Column("Phases by position", _phases),
    Column("Cross-section", lambda r: "; ".join(r.changes) or "as stated", brief=True),
    Column(
        *(f"Loss at {STUDY}", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.loss_error_w_per_m),
        brief=True,
    ),
    Column("Formula, no tray", lambda r: r.formula_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
    Column(
        *(f"Loss at {LOAD}", lambda r: r.load_loss_w_per_m, LOSS_PER_LENGTH, lambda r: r.load_loss_error_w_per_m),
        brief=True,
        optional=True,
    ),
    Column("Formula, no tray", lambda r: r.load_formula_loss_w_per_m, LOSS_PER_LENGTH, brief=True, optional=True),
)
DROPS: tuple[Column[tuple[RouteCircuitResult, int]], ...] = (
    Column("Circuit", lambda r: r[0].circuit),
    Column("Phase", lambda r: LINES[r[1]]),
    Column("Drop", lambda r: abs(r[0].drop_v[r[1]]), VOLT, lambda r: r[0].drop_error_v[r[1]]),
    Column("Formula", lambda r: abs(r[0].formula_drop_v[r[1]]), VOLT),
    difference_column(lambda r: abs(r[0].formula_drop_v[r[1]]), lambda r: abs(r[0].drop_v[r[1]])),
)
"""Of a circuit and the number of a phase in `LINES`."""
IMPEDANCES: tuple[Column[RouteCircuitResult], ...] = (
    Column("Circuit", lambda r: r.circuit, brief=True),
    Column("|Z1|", lambda r: abs(r.z1_ohm), MILLIOHM, lambda r: r.z1_error_ohm, brief=True),
    Column("Formula", lambda r: abs(r.formula_z1_ohm), MILLIOHM, brief=True),
    difference_column(lambda r: abs(r.formula_z1_ohm), lambda r: abs(r.z1_ohm), brief=True),
    Column("|Z21/Z11|", lambda r: r.z21_over_z11, PER_CENT, lambda r: r.z21_over_z11_error, brief=True),
    Column("Formula", lambda r: r.formula_z21_over_z11, PER_CENT, brief=True),
)
PAIRS_OF_LINES = tuple(f"{one}–{two}" for one, two in zip(LINES, (*LINES[1:], LINES[0]), strict=True))
LINE_VOLTAGES: tuple[Column[tuple[DeliveredResult, int]], ...] = (
    Column("Circuit", lambda r: r[0].circuit),
    Column("Load", lambda r: r[0].load),
    Column("Between", lambda r: PAIRS_OF_LINES[r[1]]),
    Column("Voltage", lambda r: r[0].line_voltage_v[r[1]], VOLT, lambda r: r[0].line_voltage_error_v[r[1]]),
)
"""Of what arrives and the number of a pair in `PAIRS_OF_LINES`."""
UNBALANCE: tuple[Column[DeliveredResult], ...] = (
    Column("Circuit", lambda r: r.circuit, brief=True),
    Column("Largest drop", lambda r: r.relative_drop, PER_CENT, lambda r: r.relative_drop_error, brief=True),
    Column("Formula", lambda r: r.formula_relative_drop, PER_CENT, brief=True),
    Column("V2/V1", lambda r: r.v2_over_v1, PER_CENT, lambda r: r.v2_over_v1_error, brief=True),
    Column("Formula", lambda r: r.formula_v2_over_v1, PER_CENT, brief=True),
    Column("V0/V1", lambda r: r.v0_over_v1, PER_CENT, lambda r: r.v0_over_v1_error),
    Column("NEMA", lambda r: r.nema_unbalance, PER_CENT, lambda r: r.nema_unbalance_error),
    Column("I2/I1", lambda r: r.i2_over_i1, PER_CENT, lambda r: r.i2_over_i1_error, brief=True),
)
TRANSPOSITIONS: tuple[Column[TranspositionResult], ...] = (
    Column("Circuit", lambda r: r.circuit),
    Column("Transpositions", lambda r: r.transpositions, NUMBER),
    Column("At", lambda r: ", ".join(stated_number(x, METRE) for x in r.at_m) or None, METRE),
    Column(Z_DEVIATION, lambda r: r.inequality, PER_CENT, lambda r: r.inequality_error),
    Column("Formula", lambda r: r.formula_inequality, PER_CENT),
    Column("|Z21/Z11|", lambda r: r.coupling, PER_CENT, lambda r: r.coupling_error),
    Column("V2/V1", lambda r: r.v2_over_v1, PER_CENT, lambda r: r.v2_over_v1_error),
    Column("Formula", lambda r: r.formula_v2_over_v1, PER_CENT),
)


def _formula_current(line: RouteLineResult) -> float | None:
    return None if line.formula_current_a is None else abs(line.formula_current_a)


METAL: tuple[Column[RouteLineResult], ...] = (
    Column("Layer or metal", lambda r: r.line, brief=True),
    Column("Current", lambda r: abs(r.current_a), AMPERE, lambda r: r.current_error_a, brief=True),
    Column("In section", lambda r: r.current_section or None, brief=True, optional=True),
    Column("Formula", _formula_current, AMPERE, brief=True),
    Column("Largest voltage", lambda r: r.largest_voltage_v, VOLT, lambda r: r.largest_voltage_error_v, brief=True),
    Column("Formula", lambda r: r.formula_largest_voltage_v, VOLT, brief=True),
    Column("At", lambda r: r.at_m, METRE, stated=True, brief=True),
)
PARALLEL: tuple[Column[RouteLineResult], ...] = (
    Column("Cable", lambda r: r.line, brief=True),
    Column(("Current", "Angle"), lambda r: r.current_a, AMPERE, lambda r: r.current_error_a, polar=True, brief=True),
    Column("Of equal share", lambda r: r.of_equal_share, PER_CENT, lambda r: r.of_equal_share_error, brief=True),
    Column("Formula", _formula_current, AMPERE, brief=True),
    difference_column(_formula_current, lambda r: abs(r.current_a), brief=True),
)


def _fields(route: RouteResult, units: Units, net: str) -> Table[RouteFieldResult]:
    highest = _highest_fields(route)
    several = len({entry.section for entry in route.fields}) > 1

    def name(entry: RouteFieldResult) -> str:
        is_highest = several and entry is highest[entry.receptor]
        return entry.receptor + (" (highest)" if is_highest else "")

    columns: tuple[Column[RouteFieldResult], ...] = (
        Column("Receptor", name, brief=True),
        Column("Section", lambda r: r.section, brief=True),
        Column("x", lambda r: r.x_m, METRE, digits=3),
        Column("y", lambda r: r.y_m, METRE, digits=3),
        Column(f"Field, rms, at {STUDY}", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Line formula", lambda r: r.line_formula_b_rms_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_b_rms_t, lambda r: r.b_rms_t, brief=True),
        Column(
            *(f"Field, rms, at {LOAD}", lambda r: r.load_b_rms_t, FLUX_DENSITY, lambda r: r.load_b_rms_error_t),
            brief=True,
            optional=True,
        ),
        Column("Line formula", lambda r: r.load_line_formula_b_rms_t, FLUX_DENSITY, brief=True, optional=True),
        difference_column(lambda r: r.load_line_formula_b_rms_t, lambda r: r.load_b_rms_t, brief=True, optional=True),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True),
        Column("Verdict", _verdict, tone=_tone, brief=True),
    )
    note = FIELD_NOTE + ("" if route.load_loss_w is None else " Verdict: of the larger of the two fields.")
    return Table(f"The field along the run{net}", columns, route.fields, note, units=units)


def _pictures(figures: Mapping[str, bytes], stem: str, caption: str) -> list[Block]:
    return [Figure(caption, caption, png) for name, png in figures.items() if name.startswith(f"{stem}_")]


def _verdict(entry: RouteFieldResult) -> str:
    if entry.limit_t is None:
        return "no limit stated"
    at = "" if entry.load_b_rms_t is None else f", at {entry.judged_at}"
    if entry.within_limit:
        return f"within the limit{at}"
    return f"{'above the limit' if entry.judged_b_rms_t > entry.limit_t else 'limit within the error'}{at}"


def _tone(entry: RouteFieldResult) -> Tone:
    return "" if entry.limit_t is None else "good" if entry.within_limit else "bad"
