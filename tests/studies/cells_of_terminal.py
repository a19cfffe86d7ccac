"""What every table of the terminal and of a notebook holds: heading, unit and result field of each column, in order."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

from studies.result import Result
from studies.section.cross_section import parallel_conductors
from tests.studies.cells import FLUX, Expected, Known, num, off, percents, quantity, words
from tests.studies.cells_of_fields import (
    distance_columns,
    level_and_index,
    limits_by_direction,
    receptor_verdict,
    zone_level_and_index,
)
from tests.studies.cells_of_page import of_own_tests
from tests.studies.cells_of_parts import other_steel
from tests.studies.cells_of_terminal_decisions import (
    charging_table,
    design_table,
    fault_table,
    order_table,
    route_tables,
)

SIDES = ("right", "up", "left", "down", "overall")


def terminal_tables(result: Result) -> Iterator[Known]:
    """Every table that the terminal shows of a result, in order; those without rows are left out."""
    tables = (
        *(_receptors(result), _zones(result), _distances(result), _totals(result), _parts(result), _sharing(result)),
        *(_saturation(result), _other_steel(result), _sweep(result), _phases(result), _balance(result)),
        *(() if result.route is None else route_tables(result.route)),
        *(order_table(result), charging_table(result), fault_table(result), design_table(result)),
        *of_own_tests("terminal_tables", result),
    )
    yield from (table for table in tables if table.rows)


def _receptors(result: Result) -> Known:
    """As on the page, with fewer columns; the mark of an error is that of its number."""
    shares = (
        (
            num("Closed-form shares", FLUX, lambda entry: entry.line_formula_shared_b_rms_t),
            num("Difference", "%", lambda entry: off(entry.line_formula_shared_b_rms_t, entry.b_rms_t)),
        )
        if parallel_conductors(result.cross_section)
        else ()
    )
    verdict = receptor_verdict(result)
    return Known(
        "Flux density at the receptors, rms",
        result.receptors,
        (
            words("Receptor", lambda entry: entry.name),
            num("Resultant", FLUX, lambda entry: entry.b_rms_t, within=lambda entry: entry.within_tolerance),
            num("Line formula", FLUX, lambda entry: entry.line_formula_b_rms_t),
            num("Difference", "%", lambda entry: off(entry.line_formula_b_rms_t, entry.b_rms_t)),
            *shares,
            num("Limit", FLUX, lambda entry: entry.limit_t),
            *(replace(column, units=("", "–")) for column in level_and_index(result)),
            words("Verdict", lambda entry: re.compile(rf"(! )?{re.escape(verdict(entry))}$")),
        ),
    )


def _zones(result: Result) -> Known:
    verdict = receptor_verdict(result)
    return Known(
        "Highest flux density of the zones, in air",
        result.zones,
        (
            words("Zone", lambda zone: zone.name),
            num("Highest", FLUX, lambda zone: zone.b_max_rms_t, within=lambda zone: zone.within_tolerance),
            num("At x", "m", lambda zone: zone.x_m),
            num("At y", "m", lambda zone: zone.y_m),
            words("Where", lambda zone: zone.where),
            num("Limit", FLUX, lambda zone: zone.limit_t),
            *(replace(column, units=("", "–")) for column in zone_level_and_index(result)),
            words("Verdict", lambda entry: re.compile(rf"(! )?{re.escape(verdict(entry))}$")),
        ),
    )


def _distances(result: Result) -> Known:
    rows = limits_by_direction(result)
    return Known("Distances beyond which the limits are met", rows, tuple(distance_columns(result, errors=False)))


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
            quantity("loss", "W/m", lambda row: row[0].loss_w_per_m),
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
            quantity("current", "A", lambda part: part.current_rms_a),
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


def _other_steel(result: Result) -> Known:
    rows, own, other = other_steel(result)
    return Known(
        "steel",
        rows,
        (
            words("steel", lambda row: row.name),
            quantity(own, "T", lambda row: row.own, per=lambda row: row.unit),
            quantity(other, "T", lambda row: row.other, per=lambda row: row.unit),
            percents("differs", lambda row: off(row.other, row.own)),
            words("", lambda row: row.verdict),
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


def _balance(result: Result) -> Known:
    def coupling(name: str) -> tuple[Expected, Expected]:
        return (
            num(f"|{name}/Z11|", "%", lambda row: getattr(row, f"{name.lower()}_over_z11")),
            num(f"|{name}/Z11|, line formula", "%", lambda row: getattr(row, f"formula_{name.lower()}_over_z11")),
        )

    columns = (words("Circuit", lambda row: row.circuit), *coupling("Z21"), *coupling("Z01"))
    return Known("Unbalance of the phases", result.sequence_impedance, columns)


def _phases(result: Result) -> Known:
    def within(row: Any) -> bool:
        return row.z_ohm_per_m is None or row.within_tolerance

    return Known(
        "Impedance of the phases with the study's currents",
        result.phases,
        (
            words("Phase", lambda row: f"{row.circuit} {row.phase}"),
            num("R", "Ω/km", lambda row: row.z_ohm_per_m and row.z_ohm_per_m.real, within=within),
            num("X", "Ω/km", lambda row: row.z_ohm_per_m and row.z_ohm_per_m.imag),
            num("L", "mH/km", lambda row: row.inductance_h_per_m),
            num("L, line formula", "mH/km", lambda row: row.formula_inductance_h_per_m),
            num("Difference, line", "%", lambda row: off(row.formula_inductance_h_per_m, row.inductance_h_per_m)),
            num("L, mean by GMD", "mH/km", lambda row: row.gmd_inductance_h_per_m if row.z_ohm_per_m else None),
        ),
    )
