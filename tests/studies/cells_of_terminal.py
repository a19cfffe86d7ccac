"""What every table of the terminal and of a notebook holds: heading, unit and result field of each column, in order."""

import math
import re
from collections.abc import Callable, Iterator
from types import SimpleNamespace
from typing import Any

from studies.cross_section import parallel_conductors
from studies.results import Result
from studies.route.result import RouteResult
from tests.studies.cells import Expected, Known, off, percents, quantity, words

SIDES = ("right", "up", "left", "down", "overall")
WITHIN = {True: "within", False: "ABOVE", None: ""}


def terminal_tables(result: Result) -> Iterator[Known]:
    """Every table that the terminal shows of a result, in order; those without rows are left out."""
    tables = (
        *(_receptors(result), _zones(result), _distances(result), _totals(result), _parts(result), _sharing(result)),
        *(_saturation(result), _sweep(result), _phases(result)),
        *(() if result.route is None else _route(result.route)),
        *(_orders(result), _faults(result), _design(result), _charging(result)),
    )
    yield from (table for table in tables if table.rows)


def _verdict(entry: Any) -> str:
    return WITHIN[entry.within_limit]


def _limit(entry: Any) -> Any:
    """A reference level by its name, shortened, or the flux density."""
    if entry.limit_name is not None:
        return re.compile(re.escape(entry.limit_name[:27]))
    return "–" if entry.limit_t is None else re.compile(_amounts(entry.limit_t))


def _amounts(limit: float) -> str:
    """Any way to write a limit with three digits."""
    units = {"pT": 1e12, "nT": 1e9, "µT": 1e6, "mT": 1e3, "T": 1.0}
    found = []
    for unit, per in units.items():
        number = f"{limit * per:.3g}"
        found += [rf"{re.escape(number)}(\.?0*)? {unit}$"] if "e" not in number else []
    return "|".join(found)


def _index(result: Result) -> tuple[Expected, ...]:
    several = any(len(entry.spectrum) > 1 for entry in result.receptors)
    several = several or any(zone.exposure_index is not None for zone in result.zones)
    return (percents("index", lambda entry: entry.exposure_index, unit=""),) if several else ()


def _receptors(result: Result) -> Known:
    shares = (
        (
            quantity("closed-form shares", "T", lambda entry: entry.line_formula_shared_b_rms_t),
            percents("differs", lambda entry: off(entry.line_formula_shared_b_rms_t, entry.b_rms_t)),
        )
        if parallel_conductors(result.cross_section)
        else ()
    )
    return Known(
        "receptor",
        result.receptors,
        (
            words("receptor", lambda entry: entry.name),
            quantity("field, rms", "T", lambda entry: entry.b_rms_t, lambda entry: entry.b_rms_error_t),
            quantity("line formula", "T", lambda entry: entry.line_formula_b_rms_t),
            percents("differs", lambda entry: off(entry.line_formula_b_rms_t, entry.b_rms_t)),
            *shares,
            words("limit", _limit),
            *_index(result),
            words("", _verdict),
        ),
    )


def _zones(result: Result) -> Known:
    return Known(
        "zone",
        result.zones,
        (
            words("zone", lambda zone: zone.name),
            quantity("highest, rms", "T", lambda zone: zone.b_max_rms_t, lambda zone: zone.b_max_rms_error_t),
            quantity("at x", "m", lambda zone: zone.x_m),
            quantity("at y", "m", lambda zone: zone.y_m),
            words("limit", _limit),
            *_index(result),
            words("", _verdict),
        ),
    )


def _distances(result: Result) -> Known:
    groups: dict[Any, dict[str, Any]] = {}
    for row in result.limit_distances:
        groups.setdefault((row.limit_t, row.limit_name, row.of), {})[row.direction] = row

    def away(side: str) -> Expected:
        def of(rows: Any) -> Any:
            return rows[side].from_outline_m if rows[side].state == "met" else None

        def state(rows: Any) -> Any:
            return rows[side].state

        return quantity(side, "m", of, otherwise=state)

    def name(rows: Any) -> str:
        of = rows["up"].of
        short = of[0] if len(of[0]) <= 16 else f"{of[0][:15]}…"
        return short + (f" +{len(of) - 1}" if len(of) > 1 else "")

    return Known(
        "limit",
        list(groups.values()),
        (words("limit", lambda rows: _limit(rows["up"])), words("of", name), *(away(side) for side in SIDES)),
    )


def _totals(result: Result) -> Known:
    whole = math.fsum(loss.loss_w_per_m for loss in result.losses)
    rows = []
    for kind in (*dict.fromkeys(loss.kind for loss in result.losses), "all"):
        own = [loss.loss_w_per_m for loss in result.losses if kind in (loss.kind, "all")]
        rows.append(SimpleNamespace(kind=kind, count=len(own), loss=math.fsum(own)))
    return Known(
        "loss of",
        rows,
        (
            words("loss of", lambda row: row.kind),
            words("parts", lambda row: row.count),
            quantity("loss", "W/m", lambda row: row.loss),
            percents("of all", lambda row: row.loss / whole if whole > 0 else None),
        ),
    )


def _parts(result: Result) -> Known:
    standing = any(part.standing_voltage_v_per_100m is not None for part in result.parts)
    ends = (quantity("open end, 100 m", "V", lambda row: row[1].standing_voltage_v_per_100m),) if standing else ()
    parts = {part.part: part for part in result.parts}
    return Known(
        "part",
        [(loss, parts[loss.part]) for loss in result.losses],
        (
            words("part", lambda row: row[0].part),
            words("phase", lambda row: row[0].phase),
            quantity("current", "A", lambda row: row[1].current_rms_a),
            quantity("loss", "W/m", lambda row: row[0].loss_w_per_m, lambda row: row[0].loss_error_w_per_m),
            quantity("formula", "W/m", lambda row: row[0].formula_loss_w_per_m),
            percents("differs", lambda row: off(row[0].formula_loss_w_per_m, row[0].loss_w_per_m)),
            *ends,
        ),
    )


def _sharing(result: Result) -> Known:
    parallel = parallel_conductors(result.cross_section)
    return Known(
        "parallel cable",
        [part for part in result.parts if part.part in parallel],
        (
            words("parallel cable", lambda part: part.part.removesuffix(".conductor")),
            words("phase", lambda part: part.phase),
            quantity("current", "A", lambda part: part.current_rms_a, lambda part: part.current_error_a),
            percents("of equal share", lambda part: part.share_of_phase),
            quantity("closed form", "A", lambda part: part.formula_current_rms_a),
            percents("differs", lambda part: off(part.formula_current_rms_a, part.current_rms_a)),
        ),
    )


def _saturation(result: Result) -> Known:
    return Known(
        "saturating",
        result.saturation,
        (
            words("saturating", lambda part: part.part),
            quantity("mean peak B", "T", lambda part: part.mean_peak_b_t),
            quantity("largest", "T", lambda part: part.peak_b_t),
            quantity("loss", "W/m", lambda part: part.loss_w_per_m),
            quantity("linear loss", "W/m", lambda part: part.linear_loss_w_per_m),
            words("solves", lambda part: part.solves),
        ),
    )


def _sweep(result: Result) -> Known:
    return Known(
        "all currents",
        result.current_sweep,
        (
            words("all currents", lambda point: f"times {point.factor:g}"),
            quantity("trays and metalwork", "W/m", lambda point: point.tray_loss_w_per_m),
            quantity("square law", "W/m", lambda point: point.quadratic_tray_loss_w_per_m),
            quantity("conductors", "W/m", lambda point: point.conductor_loss_w_per_m),
        ),
    )


def _phases(result: Result) -> Known:
    return Known(
        "phase",
        result.phases,
        (
            words("phase", lambda row: f"{row.circuit} {row.phase}"),
            quantity("R = Re(u/i)", "Ω/m", lambda row: row.z_ohm_per_m and row.z_ohm_per_m.real),
            quantity("X = Im(u/i)", "Ω/m", lambda row: row.z_ohm_per_m and row.z_ohm_per_m.imag),
            quantity("inductance", "H/m", lambda row: row.inductance_h_per_m),
            quantity("line formula", "H/m", lambda row: row.formula_inductance_h_per_m),
            percents("differs", lambda row: off(row.formula_inductance_h_per_m, row.inductance_h_per_m)),
            quantity("GMD/GMR", "H/m", lambda row: row.gmd_inductance_h_per_m),
        ),
    )


def _changes(row: Any) -> str:
    if isinstance(row, RouteResult):
        return ""
    return "another" if row.changes else "the study's own"


def _route(route: RouteResult) -> Iterator[Known]:
    loaded = route.load_loss_w is not None

    def per(name: str) -> Callable[[Any], Any]:
        """A field per metre of a section, and that of the whole run."""
        return lambda row: getattr(row, f"{name}_w" if row is route else f"{name}_w_per_m")

    def unit(row: Any) -> str:
        return "W" if row is route else "W/m"

    at_load = (
        quantity("loss at the load", "W", per("load_loss"), per("load_loss_error"), per=unit),
        quantity("formula", "W", per("load_formula_loss"), per=unit),
    )
    yield Known(
        "section",
        [*route.sections, route],
        (
            words("section", lambda row: "whole run" if row is route else row.section),
            quantity("from", "m", lambda row: 0.0 if row is route else row.start_m),
            quantity("to", "m", lambda row: row.length_m if row is route else row.end_m),
            quantity("loss at study's currents" if loaded else "loss", "W", per("loss"), per("loss_error"), per=unit),
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
            quantity("current", "A", lambda row: abs(row.current_a), lambda row: row.current_error_a),
            quantity("formula", "A", lambda row: None if row.formula_current_a is None else abs(row.formula_current_a)),
            quantity(
                "largest voltage", "V", lambda row: row.largest_voltage_v, lambda row: row.largest_voltage_error_v
            ),
            quantity("formula", "V", lambda row: row.formula_largest_voltage_v),
            quantity("at", "m", lambda row: row.at_m),
        ),
    )
    fields_at_load = (
        quantity("field at the load", "T", lambda row: row.load_b_rms_t, lambda row: row.load_b_rms_error_t),
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
                lambda row: row.b_rms_error_t,
            ),
            quantity("line formula", "T", lambda row: row.line_formula_b_rms_t),
            percents("differs", lambda row: off(row.line_formula_b_rms_t, row.b_rms_t)),
            *(fields_at_load if loaded else ()),
            quantity("limit", "T", lambda row: row.limit_t),
            words("", judged),
        ),
    )


def _orders(result: Result) -> Known:
    found = result.order_search
    rows = [] if found is None else [("today", found.today_solved), ("best", found.best_solved)]
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
            quantity("objective", "", lambda row: row[1].value, lambda row: row[1].value_error),
            words("worst field", worst),
            words("at", lambda row: row[1].worst_at),
            percents("largest share", lambda row: row[1].largest_share),
            percents("spread of X", lambda row: row[1].inequality),
            words("", lambda row: WITHIN[row[1].within_limits]),
        ),
    )


def _faults(result: Result) -> Known:
    """The cable with the greatest force of each fault."""
    groups: dict[Any, Any] = {}
    for entry in result.faults:
        key = entry.fault, entry.peak_current_a
        if key not in groups or entry.peak_force_n_per_m > groups[key].peak_force_n_per_m:
            groups[key] = entry
    cleats = any(entry.force_per_cleat_n is not None for entry in result.faults)
    cleat = (quantity("per cleat", "N", lambda entry: entry.force_per_cleat_n),) if cleats else ()
    bare = any(entry.force_without_steel_n_per_m is not None for entry in result.faults)
    steel = (
        (quantity("without steel", "N/m", lambda entry: entry.force_without_steel_n_per_m, mark=_bound),)
        if bare
        else ()
    )
    return Known(
        "fault",
        list(groups.values()),
        (
            words("fault", lambda entry: entry.fault + (f" {entry.faulted_phases}" if "two" in entry.fault else "")),
            quantity("peak", "A", lambda entry: entry.peak_current_a),
            quantity(
                "greatest force",
                "N/m",
                lambda entry: entry.peak_force_n_per_m,
                lambda entry: entry.peak_force_error_n_per_m,
            ),
            words("on", lambda entry: f"{entry.cable} {entry.phase}"),
            *steel,
            quantity("no offset", "N/m", lambda entry: entry.alternating_peak_force_n_per_m),
            quantity("IEC 61914", "N/m", lambda entry: entry.standard_force_n_per_m),
            percents("differs", lambda entry: off(entry.standard_force_n_per_m, entry.alternating_peak_force_n_per_m)),
            *cleat,
        ),
    )


def _bound(entry: Any) -> str:
    return " (bound)" if entry.steel_exceeded else ""


def _design(result: Result) -> Known:
    cleats = any(entry.force_per_cleat_n is not None for entry in result.fault_design)
    each = (
        quantity("per cleat", "N", lambda entry: entry.force_per_cleat_n, lambda entry: entry.force_per_cleat_error_n),
    )
    return Known(
        "design cleats for",
        result.fault_design,
        (
            words("design cleats for", lambda entry: f"{entry.fault} {entry.faulted_phases}"),
            quantity("peak", "A", lambda entry: entry.peak_current_a),
            quantity("force", "N/m", lambda entry: entry.force_n_per_m, lambda entry: entry.force_error_n_per_m),
            words("on", lambda entry: f"{entry.cable} {entry.phase}"),
            *(each if cleats else ()),
            words("because", lambda entry: entry.why),
        ),
    )


def _charging(result: Result) -> Known:
    run = any(entry.run_charging_current_a is not None for entry in result.charging)
    whole = (quantity("whole run", "A", lambda entry: entry.run_charging_current_a),) if run else ()
    return Known(
        "charging",
        result.charging,
        (
            words("charging", lambda entry: f"{entry.circuit} {entry.phase}"),
            quantity("capacitance", "F/m", lambda entry: entry.capacitance_f_per_m),
            quantity(
                "current per m",
                "A/m",
                lambda entry: entry.charging_current_a_per_m,
                lambda entry: entry.charging_current_error_a_per_m,
            ),
            *whole,
            percents("unequal by", lambda entry: entry.circuit_inequality),
        ),
    )
