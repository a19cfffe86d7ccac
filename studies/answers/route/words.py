"""The route as blocks: sections, drops, unbalance, screens, and the field along the run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.route.rows import LOAD, STUDY, RouteCircuitResult, RouteFieldResult, RouteLineResult, RouteResult
from studies.formulas.unbalance import DEFINITIONS, Z_DEVIATION
from studies.section.run_bonds import joining_words
from studies.study.parts import CONDUCTOR
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Cell, Grid, Head
from studies.text.numbers import NONE, angle, difference, percent, plain, quantity, significant, with_error
from studies.text.units import AMPERE, FLUX_DENSITY, LOSS_PER_LENGTH, METRE, Unit, common_unit

VOLT = Unit("V", 1.0)
MILLIOHM = Unit("mΩ", 1e-3)
WATT = Unit("W", 1.0)
PER_CENT = Unit("%", 0.01)
BY_FORMULA = "Formula: line currents at the axes, thin tubes for layers of metal, IEC 60287-1-1 resistances, no tray."


def route_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The run from end to end; None where the study has no route."""
    route = result.route
    if route is None:
        return None
    length = f"The run is {quantity(route.length_m, (METRE,))} long and loses {_whole(route)}"
    how = (
        "The series impedances of its sections add, each section with its own cross-section and phase order"
        f"{names.at_own_frequency(result)}. {joining_words(result.cross_section, result.study)}"
    )
    blocks: list[Block] = [Text((length, how)), _sections(route)]
    caption = "The run: phases by position, voltages of screens, fields."
    if route.load_loss_w is not None:
        caption += " Voltages at the study's currents; of the fields the larger, at these or at the load."
    blocks += _pictures(figures, names.ROUTE, caption)
    blocks += [_drops(route.circuits)]
    if any(circuit.delivered for circuit in route.circuits):
        blocks.append(_delivered(route.circuits))
    if any(circuit.transpositions for circuit in route.circuits):
        blocks.append(_transpositions(route.circuits))
    blocks += _lines(route.lines)
    if route.fields:
        blocks.append(_fields(route.fields))
    blocks += _pictures(figures, names.RUN_SECTION, "A cross-section of the run that is not the study's own.")
    return Section("The route", "route", tuple(blocks))


def _whole(route: RouteResult) -> str:
    """Losses of the run in words."""
    loss, error = with_error(route.loss_w, route.loss_error_w, WATT)
    words = (
        f"({loss} ± {error})\u202fW with the study's currents, metal included; by formula, without trays, "
        f"{plain(route.formula_loss_w)}\u202fW."
    )
    if route.load_loss_w is None or route.load_loss_error_w is None or route.load_formula_loss_w is None:
        return words
    loss, error = with_error(route.load_loss_w, route.load_loss_error_w, WATT)
    return (
        f"{words} At the load ({route.load_words}) it loses ({loss} ± {error})\u202fW; by formula "
        f"{plain(route.load_formula_loss_w)}\u202fW. Circuits without a stated load keep the study's currents."
    )


def _sections(route: RouteResult) -> Grid:
    loaded = route.load_loss_w is not None
    losses = [section.loss_w_per_m for section in route.sections]
    losses += [section.load_loss_w_per_m for section in route.sections if section.load_loss_w_per_m is not None]
    unit = common_unit(losses, LOSS_PER_LENGTH)
    head: tuple[str, ...] = (f"Loss at {STUDY}", "±", "Formula, no tray")
    head += (f"Loss at {LOAD}", "±", "Formula, no tray") if loaded else ()
    columns = (
        Head("Section"),
        Head("From", "m"),
        Head("To", "m"),
        Head("Phases by position"),
        Head("Cross-section"),
        *(Head(name, unit.symbol) for name in head),
    )
    rows = []
    for section in route.sections:
        phases = "; ".join(f"{circuit}: {' '.join(labels)}" for circuit, labels in section.phases.items())
        changes = "; ".join(section.changes) or "the study's own"
        numbers = [(section.loss_w_per_m, section.loss_error_w_per_m, section.formula_loss_w_per_m)]
        numbers += _given(section.load_loss_w_per_m, section.load_loss_error_w_per_m, section.load_formula_loss_w_per_m)
        rows.append(
            (
                section.section,
                plain(section.start_m),
                plain(section.end_m),
                phases,
                changes,
                *(
                    text
                    for loss, error, formula in numbers
                    for text in (*with_error(loss, error, unit), significant(formula, unit))
                ),
            )
        )
    return Grid("Sections of the run", columns, tuple(rows), "Loss: of cables and metal, by the power that enters.")


def _given(value: float | None, error: float | None, formula: float | None) -> list[tuple[float, float, float]]:
    """A value with its error and its formula, or nothing."""
    return [] if value is None or error is None or formula is None else [(value, error, formula)]


def _drops(circuits: Sequence[RouteCircuitResult]) -> Grid:
    columns = (
        Head("Circuit"),
        Head("Drop L1", "V"),
        Head("Drop L2", "V"),
        Head("Drop L3", "V"),
        Head("±", "V"),
        Head("Formula, L1 to L3", "V"),
        Head("|Z1|", "mΩ"),
        Head("±", "mΩ"),
        Head("Formula", "mΩ"),
        Head("Difference", "%"),
        Head("|Z21/Z11|", "%"),
        Head("±", "%"),
        Head("Formula", "%"),
    )
    rows = tuple(
        (
            circuit.circuit,
            *(significant(abs(drop), VOLT) for drop in circuit.drop_v),
            with_error(max(map(abs, circuit.drop_v)), max(circuit.drop_error_v), VOLT)[1],
            ", ".join(significant(abs(drop), VOLT) for drop in circuit.formula_drop_v),
            *with_error(abs(circuit.z1_ohm), circuit.z1_error_ohm, MILLIOHM),
            significant(abs(circuit.formula_z1_ohm), MILLIOHM),
            percent(difference(abs(circuit.formula_z1_ohm), abs(circuit.z1_ohm))),
            *with_error(circuit.z21_over_z11, circuit.z21_over_z11_error, PER_CENT),
            percent(circuit.formula_z21_over_z11, signed=False),
        )
        for circuit in circuits
    )
    note = (
        "Drop: voltage along a phase over the whole run, with the study's currents. Z21: negative-sequence voltage of "
        f"a positive-sequence current. {BY_FORMULA}"
    )
    return Grid("Whole run, study's currents", columns, rows, note)


def _delivered(circuits: Sequence[RouteCircuitResult]) -> Grid:
    columns = (
        Head("Circuit"),
        Head("Load"),
        Head("Line voltages at the load", "V"),
        Head("±", "V"),
        Head("Largest drop", "%"),
        Head("±", "%"),
        Head("Formula", "%"),
        Head("V2/V1", "%"),
        Head("±", "%"),
        Head("Formula", "%"),
        *(column for name in ("V0/V1", "NEMA", "I2/I1") for column in (Head(name, "%"), Head("±", "%"))),
    )
    rows = tuple(
        (
            circuit.circuit,
            found.load,
            ", ".join(plain(voltage, 5) for voltage in found.line_voltage_v),
            with_error(max(found.line_voltage_v), max(found.line_voltage_error_v), VOLT)[1],
            *with_error(found.relative_drop, found.relative_drop_error, PER_CENT),
            percent(found.formula_relative_drop, signed=False),
            *with_error(found.v2_over_v1, found.v2_over_v1_error, PER_CENT),
            percent(found.formula_v2_over_v1, signed=False),
            *with_error(found.v0_over_v1, found.v0_over_v1_error, PER_CENT),
            *with_error(found.nema_unbalance, found.nema_unbalance_error, PER_CENT),
            *with_error(found.i2_over_i1, found.i2_over_i1_error, PER_CENT),
        )
        for circuit in circuits
        if (found := circuit.delivered) is not None
    )
    note = (
        "For a balanced supply. L1-L2, L2-L3, L3-L1; largest drop: of a line voltage over the supply's. V2/V1 and "
        "V0/V1 (IEC 61000-4-30): of the voltages at the load, V0 against the supply's neutral point by way of the far "
        "earth where there is no neutral conductor. NEMA: largest deviation of a line voltage from their mean, over "
        "the mean (NEMA MG 1)."
    )
    return Grid("At the load", columns, rows, note)


def _transpositions(circuits: Sequence[RouteCircuitResult]) -> Grid:
    columns = (
        Head("Circuit"),
        Head("Transpositions", "–"),
        Head("At", "m"),
        Head(Z_DEVIATION, "%"),
        Head("±", "%"),
        Head("Formula", "%"),
        Head("|Z21/Z11|", "%"),
        Head("±", "%"),
        Head("V2/V1", "%"),
        Head("±", "%"),
        Head("Formula", "%"),
    )
    rows = tuple(
        (
            circuit.circuit,
            str(entry.transpositions),
            ", ".join(plain(x) for x in entry.at_m) or NONE,
            *with_error(entry.inequality, entry.inequality_error, PER_CENT),
            percent(entry.formula_inequality, signed=False),
            *with_error(entry.coupling, entry.coupling_error, PER_CENT),
            *with_error(entry.v2_over_v1, entry.v2_over_v1_error, PER_CENT),
            percent(entry.formula_v2_over_v1, signed=False),
        )
        for circuit in circuits
        for entry in circuit.transpositions
    )
    note = (
        "The study's own cross-section and order over the same length, its phases turned by one place at equal parts "
        f"of the way. {Z_DEVIATION}: {DEFINITIONS[Z_DEVIATION]}; it holds the drop common to them as well. "
        "|Z21/Z11| and V2/V1 judge how equal the phases are."
    )
    return Grid("What transposing would buy", columns, rows, note)


def _lines(lines: Sequence[RouteLineResult]) -> Iterable[Grid]:
    metal = [line for line in lines if line.layer != CONDUCTOR]
    parallel = [line for line in lines if line.of_equal_share is not None]
    if metal:
        yield _metal(metal)
    if parallel:
        yield _parallel(parallel)


def _metal(lines: Sequence[RouteLineResult]) -> Grid:
    columns = (
        Head("Layer or metal"),
        Head("Current", "A"),
        Head("±", "A"),
        Head("Formula", "A"),
        Head("Largest voltage", "V"),
        Head("±", "V"),
        Head("Formula", "V"),
        Head("At", "m"),
    )
    rows = []
    for line in lines:
        current, current_error = with_error(abs(line.current_a), line.current_error_a, AMPERE)
        formula = None if line.formula_current_a is None else abs(line.formula_current_a)
        voltage, voltage_error = NONE, NONE
        if line.largest_voltage_v is not None and line.largest_voltage_error_v is not None:
            voltage, voltage_error = with_error(line.largest_voltage_v, line.largest_voltage_error_v, VOLT)
        rows.append(
            (
                line.line,
                current,
                current_error,
                significant(formula, AMPERE),
                voltage,
                voltage_error,
                significant(line.formula_largest_voltage_v, VOLT),
                significant(line.at_m, METRE),
            )
        )
    note = (
        "Current along the whole run with the study's currents, zero for what is open. Largest voltage: along the run, "
        "of an open layer against the place where it is earthed, of one that is joined at the ends against the start. "
        "It can be dangerous to "
        f"touch; in a short circuit it is far higher. {BY_FORMULA}"
    )
    return Grid("Layers of metal along the run", columns, tuple(rows), note)


def _parallel(lines: Sequence[RouteLineResult]) -> Grid:
    columns = (
        Head("Cable"),
        Head("Current", "A"),
        Head("±", "A"),
        Head("Angle", "°"),
        Head("Of equal share", "%"),
        Head("±", "%"),
        Head("Formula", "A"),
        Head("Difference", "%"),
    )
    rows = []
    for line in lines:
        current, error = with_error(abs(line.current_a), line.current_error_a, AMPERE)
        formula = None if line.formula_current_a is None else abs(line.formula_current_a)
        rows.append(
            (
                line.line,
                current,
                error,
                angle(line.current_a),
                *with_error(line.of_equal_share or 0.0, line.of_equal_share_error or 0.0, PER_CENT),
                significant(formula, AMPERE),
                percent(difference(formula, abs(line.current_a))),
            )
        )
    note = (
        "With the study's currents. Cables that are joined at the ends of the run only share as the whole run says. "
        f"{BY_FORMULA}"
    )
    return Grid("Parallel cables along the run", columns, tuple(rows), note)


def _fields(fields: Sequence[RouteFieldResult]) -> Grid:
    loaded = any(entry.load_b_rms_t is not None for entry in fields)
    unit = common_unit([entry.judged_b_rms_t for entry in fields], FLUX_DENSITY)
    worst = {name: max(e.judged_b_rms_t for e in fields if e.receptor == name) for name in {e.receptor for e in fields}}
    several = len({entry.section for entry in fields}) > 1
    columns = (
        Head("Receptor"),
        Head("Section"),
        Head("x", "m"),
        Head("y", "m"),
        *(
            Head(name, unit_symbol)
            for at in ((STUDY, LOAD) if loaded else (STUDY,))
            for name, unit_symbol in (
                (f"Field, rms, at {at}", unit.symbol),
                ("±", unit.symbol),
                ("Line formula", unit.symbol),
                ("Difference", "%"),
            )
        ),
        Head("Limit", unit.symbol),
        Head("Verdict"),
    )
    rows: list[tuple[str | Cell, ...]] = []
    for entry in fields:
        numbers = [(entry.b_rms_t, entry.b_rms_error_t, entry.line_formula_b_rms_t)]
        numbers += _given(entry.load_b_rms_t, entry.load_b_rms_error_t, entry.load_line_formula_b_rms_t)
        is_worst = several and entry.judged_b_rms_t == worst[entry.receptor]
        rows.append(
            (
                entry.receptor + (" (highest)" if is_worst else ""),
                entry.section,
                plain(entry.x_m),
                plain(entry.y_m),
                *(
                    text
                    for field, error, formula in numbers
                    for text in (
                        *with_error(field, error, unit),
                        significant(formula, unit),
                        percent(difference(formula, field)),
                    )
                ),
                significant(entry.limit_t, unit),
                _verdict(entry),
            )
        )
    note = "The field beside a long section, from the middle of its cross-section; near joints and bends it is another."
    if loaded:
        note += " Verdict: of the larger of the two fields."
    return Grid("The field along the run", columns, tuple(rows), note)


def _pictures(figures: Mapping[str, bytes], stem: str, caption: str) -> list[Block]:
    return [Figure(caption, caption, png) for name, png in figures.items() if name.startswith(f"{stem}_")]


def _verdict(entry: RouteFieldResult) -> str | Cell:
    at = "" if entry.load_b_rms_t is None else f", at {entry.judged_at}"
    if entry.limit_t is None:
        return "no limit stated"
    if entry.within_limit:
        return Cell(f"within the limit{at}", "good")
    words = "above the limit" if entry.judged_b_rms_t > entry.limit_t else "limit within the error"
    return Cell(f"{words}{at}", "bad")
