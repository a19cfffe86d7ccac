"""What every table of the terminal and of a notebook holds: heading, unit and result field of each column, in order."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from studies.result import Result
from studies.section.parts import parallel_conductors
from tests.studies.cells import FLUX, LOSS, Expected, Known, inductance_off, num, off, words
from tests.studies.cells_of_fields import (
    distance_columns,
    level_and_index,
    limits_by_direction,
    receptor_verdict,
    without_net,
    zone_level_and_index,
)
from tests.studies.cells_of_page import of_own_tests
from tests.studies.cells_of_parts import alone, loss_sums, other_steel_tables, together
from tests.studies.cells_of_terminal_decisions import (
    charging_table,
    design_table,
    fault_table,
    laid_order_table,
    order_table,
    route_tables,
)

SIDES = ("right", "up", "left", "down", "overall")


def terminal_tables(result: Result) -> Iterator[Known]:
    """Every table that the terminal shows of a result, in order; those without rows are left out."""
    tables = (
        *(_receptors(result), _zones(result), _distances(result)),
        *(_losses(result), _sharing(result), _open_ends(result)),
        *(_saturation(result), *other_steel_tables(result), _sweep(result), _phases(result), _balance(result)),
        *(() if result.route is None else route_tables(result.route)),
        *(
            order_table(result),
            laid_order_table(result),
            charging_table(result),
            fault_table(result),
            design_table(result),
        ),
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
            num("Limit", FLUX, lambda zone: zone.limit_t),
            *(replace(column, units=("", "–")) for column in zone_level_and_index(result)),
            words("Verdict", lambda entry: re.compile(rf"(! )?{re.escape(verdict(entry))}$")),
            num("At x", "m", lambda zone: zone.x_m),
            num("At y", "m", lambda zone: zone.y_m),
            words("Where", lambda zone: zone.where),
        ),
    )


def _distances(result: Result) -> Known:
    rows = limits_by_direction(result)
    caption = f"Distances beyond which the limits are met{without_net(result)}"
    return Known(caption, rows, tuple(distance_columns(result, errors=False)))


def _losses(result: Result) -> Known:
    """As on the page, with fewer columns; the mark of an error is that of its number."""
    currents = {part.part: part.current_rms_a for part in result.parts}
    whole = math.fsum(loss.loss_w_per_m for loss in result.losses)
    return Known(
        f"Loss per metre of run{together(result)}",
        [*result.losses, *loss_sums(result)] if result.losses else [],
        (
            words("Part", lambda row: row.part),
            words("Phase", lambda row: row.phase),
            num("Current, rms", "A", lambda row: currents.get(row.part)),
            num("Loss", LOSS, lambda row: row.loss_w_per_m, within=lambda row: row.within_tolerance),
            num("Share", "%", lambda row: row.loss_w_per_m / whole if whole > 0 else None),
            num("Formula", LOSS, lambda row: row.formula_loss_w_per_m),
            num("Difference", "%", lambda row: off(row.formula_loss_w_per_m, row.loss_w_per_m)),
        ),
    )


def _sharing(result: Result) -> Known:
    parallel = parallel_conductors(result.cross_section)
    return Known(
        f"Sharing between parallel cables{together(result)}",
        [part for part in result.parts if part.part in parallel],
        (
            words("Cable", lambda part: part.part.removesuffix(".conductor")),
            words("Phase", lambda part: part.phase),
            num("Current, rms", "A", lambda part: part.current_rms_a),
            num("Of equal share", "%", lambda part: part.share_of_phase),
            num("Closed form", "A", lambda part: part.formula_current_rms_a),
            num("Difference", "%", lambda part: off(part.formula_current_rms_a, part.current_rms_a)),
        ),
    )


def _open_ends(result: Result) -> Known:
    return Known(
        "Standing voltages of metal layers without a closed bond",
        [part for part in result.parts if part.standing_voltage_v_per_100m is not None],
        (
            words("Part", lambda part: part.part),
            words("Phase", lambda part: part.phase),
            num("Voltage for each 100 m of run, rms", "V", lambda part: part.standing_voltage_v_per_100m),
        ),
    )


def _saturation(result: Result) -> Known:
    return Known(
        f"Magnetisation of saturating steel{alone(result)}",
        result.saturation,
        (
            words("Part", lambda part: part.part),
            num("Mean of the peaks", FLUX, lambda part: part.mean_peak_b_t),
            num("Largest peak", FLUX, lambda part: part.peak_b_t),
            num("Loss", LOSS, lambda part: part.loss_w_per_m),
            num("Linear loss", LOSS, lambda part: part.linear_loss_w_per_m),
            num("Solves", ("", "–"), lambda part: float(part.solves)),
        ),
    )


def _sweep(result: Result) -> Known:
    return Known(
        f"The study at other currents{alone(result)}",
        sorted(result.current_sweep, key=lambda point: point.factor),
        (
            num("Factor of all currents", ("", "–"), lambda point: point.factor),
            num("Loss of trays and metalwork", LOSS, lambda point: point.tray_loss_w_per_m),
            num("By the square law", LOSS, lambda point: point.quadratic_tray_loss_w_per_m),
            num("Difference", "%", lambda p: off(p.quadratic_tray_loss_w_per_m, p.tray_loss_w_per_m)),
            num("Loss of conductors", LOSS, lambda point: point.conductor_loss_w_per_m),
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
            num("Difference, line", "%", lambda row: inductance_off(result, row, row.formula_inductance_h_per_m)),
            num("L, mean by GMD", "mH/km", lambda row: row.gmd_inductance_h_per_m if row.z_ohm_per_m else None),
        ),
    )
