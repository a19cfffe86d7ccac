"""A result as a few plain tables, for a terminal or a notebook."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from functools import partial
from html import escape
from typing import Any

from studies.answers.answers import Answers
from studies.answers.fields.receptor_table import receptor_table
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.judged_places import place_lines, short_verdict
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents, in_words
from studies.answers.orders.search_words import search_words
from studies.answers.route.brief import route_tables
from studies.answers.steel.steel_words import other_steel_table, third_harmonic_words
from studies.formulas.unbalance import X_SPREAD
from studies.report.largest_error import largest_error
from studies.report.terminal_lines import (
    WIDEST,
    balance_lines,
    balance_table,
    caution_lines,
    charging_table,
    design_table,
    failure_lines,
    fault_table,
    metal_formula_lines,
    reservations,
    run_lines,
)
from studies.section.cross_section import parallel_conductors
from studies.section.spacing import spacing_of
from studies.study.parts import CONDUCTOR
from studies.text import plain_table
from studies.text.engineering import difference, fixed, percent, rounded_up, three_digits
from studies.text.failures import collected, guarded, merged
from studies.text.html import as_html
from studies.text.plain_table import PlainTable
from studies.text.table import Table
from studies.text.terminal import as_text

VERDICTS = {True: "within", False: "ABOVE", None: ""}
OVERALL = "overall"
LONGEST_LIMIT, LONGEST_NAME = 28, 16
"""Letters of the names of limits, and of what they are of, so that tables stay narrower than a terminal."""

Shown = str | PlainTable | Table[Any]
"""What stands between the title and the lines."""


def summary(result: Answers) -> str:
    """The main numbers of a result as text: fields, losses, currents and phases, each beside its formula."""
    first, tables, lines = _contents(result)
    blocks = (text_of_block(table) for table in tables)
    return "\n\n".join([_title(result), *first, *blocks, *lines])


def summary_html(result: Answers) -> str:
    """The same as a fragment of HTML."""
    first, tables, lines = _contents(result)
    parts = [f"<p><strong>{escape(line)}</strong></p>" for line in (_title(result), *first)]
    parts += [_html(table) for table in tables]
    parts += [f"<p>{escape(line)}</p>" for line in lines]
    return f"<div>{''.join(parts)}</div>"


def text_of_block(block: Shown) -> str:
    """A sentence or table as a terminal shows it."""
    if isinstance(block, str):
        return block
    return plain_table.as_text(block) if isinstance(block, PlainTable) else as_text(block)


def _html(block: Shown) -> str:
    if isinstance(block, str):
        return f"<p>{escape(block)}</p>"
    return plain_table.as_html(block) if isinstance(block, PlainTable) else as_html(block)


def _title(result: Answers) -> str:
    return f"{result.study.title} ({result.study.frequency:g} Hz)"


def _doubt(result: Answers) -> tuple[str, ...]:
    """Currents that no verdict below should be read without."""
    doubt = in_words(doubtful_currents(result.study, result.cross_section, computed_currents(result.parts)))
    return (textwrap.fill(doubt, WIDEST),) if doubt else ()


def _contents(result: Answers) -> tuple[tuple[str, ...], list[Shown], list[str]]:
    """What stands before the tables, the tables, and the lines after them.

    What fails costs nothing else, and is named in the last line with all that failed before.
    """
    with collected() as found:
        first = guarded("doubtful currents", partial(_doubt, result), ())
        groups = [guarded(f"table “{what}”", partial(make, result), ()) for what, make in TABLES.items()]
        tables = [table for group in groups for table in group if isinstance(table, str) or table.rows]
        lines = [line for make in LINES for line in guarded("lines of the summary", partial(make, result), ())]
    failures = merged(result.failures, found)
    return first, tables, [*lines, *failure_lines(result, failures)]


def _zones(result: Answers) -> PlainTable:
    several = _several(result)
    head = ("zone", "highest in air", "at x", "at y", "where", "limit", *(("index",) if several else ()), "")
    return PlainTable(
        head,
        tuple(
            (
                zone.name,
                three_digits(zone.b_max_rms_t, "T"),
                f"{zone.x_m:.3g} m",
                f"{zone.y_m:.3g} m",
                zone.where,
                _limit(zone),
                *((_index(zone.exposure_index),) if several else ()),
                short_verdict(result, zone),
            )
            for zone in result.zones
        ),
    )


def _distances(result: Answers) -> PlainTable:
    return PlainTable(
        ("limit", "of", "right", "up", "left", "down", OVERALL),
        tuple(
            (_limit(rows[0]), _of(rows[0]), *(_away(row) for row in rows))
            for rows in (
                result.limit_distances[k : k + len(_DIRECTIONS)]
                for k in range(0, len(result.limit_distances), len(_DIRECTIONS))
            )
        ),
    )


_DIRECTIONS = ("right", "up", "left", "down", OVERALL)


def _totals(result: Answers) -> PlainTable:
    kinds = tuple(dict.fromkeys(loss.kind for loss in result.losses))
    rows = [
        (
            kind,
            str(sum(loss.kind == kind for loss in result.losses)),
            three_digits(result.loss_total(kind), "W/m"),
            _share(result.loss_total(kind), result),
        )
        for kind in kinds
    ]
    total = sum(loss.loss_w_per_m for loss in result.losses)
    rows.append(("all", str(len(result.losses)), three_digits(total, "W/m"), _share(total, result)))
    return PlainTable(("loss of", "parts", "loss", "of all"), tuple(rows))


def _parts(result: Answers) -> PlainTable:
    open_ends = any(part.standing_voltage_v_per_100m is not None for part in result.parts)
    of = {part.part: part for part in result.parts}
    head = ("part", "phase", "current", "loss", "formula", "differs", *(("open end, 100 m",) if open_ends else ()))
    return PlainTable(
        head,
        tuple(
            (
                loss.part,
                loss.phase or "",
                three_digits(part.current_rms_a if (part := of.get(loss.part)) else None, "A"),
                three_digits(loss.loss_w_per_m, "W/m"),
                three_digits(loss.formula_loss_w_per_m, "W/m"),
                percent(difference(loss.loss_w_per_m, loss.formula_loss_w_per_m)),
                *((three_digits(part.standing_voltage_v_per_100m if part else None, "V"),) if open_ends else ()),
            )
            for loss in result.losses
        ),
    )


def _sharing(result: Answers) -> PlainTable:
    parallel = parallel_conductors(result.cross_section)
    return PlainTable(
        ("parallel cable", "phase", "current", "of equal share", "closed form", "differs"),
        tuple(
            (
                part.part.removesuffix(f".{CONDUCTOR}"),
                part.phase or "",
                three_digits(part.current_rms_a, "A"),
                "–" if part.share_of_phase is None else f"{100 * part.share_of_phase:.1f} %",
                three_digits(part.formula_current_rms_a, "A"),
                percent(difference(part.current_rms_a, part.formula_current_rms_a)),
            )
            for part in result.parts
            if part.part in parallel
        ),
    )


def _saturation(result: Answers) -> PlainTable:
    return PlainTable(
        ("saturating", "mean peak B", "largest", "loss", "linear loss", "solves"),
        tuple(
            (
                part.part,
                three_digits(part.mean_peak_b_t, "T"),
                three_digits(part.peak_b_t, "T"),
                three_digits(part.loss_w_per_m, "W/m"),
                three_digits(part.linear_loss_w_per_m, "W/m"),
                str(part.solves),
            )
            for part in result.saturation
        ),
    )


def _sweep(result: Answers) -> PlainTable:
    return PlainTable(
        ("all currents", "trays and metalwork", "square law", "conductors"),
        tuple(
            (
                f"times {point.factor:g}",
                three_digits(point.tray_loss_w_per_m, "W/m"),
                three_digits(point.quadratic_tray_loss_w_per_m, "W/m"),
                three_digits(point.conductor_loss_w_per_m, "W/m"),
            )
            for point in result.current_sweep
        ),
    )


def _phases(result: Answers) -> PlainTable:
    return PlainTable(
        ("phase", "R = Re(u/i)", "X = Im(u/i)", "inductance", "line formula", "differs", "GMD/GMR"),
        tuple(
            (
                f"{phase.circuit} {phase.phase}",
                three_digits(phase.z_ohm_per_m.real, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                three_digits(phase.z_ohm_per_m.imag, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                three_digits(phase.inductance_h_per_m, "H/m"),
                three_digits(phase.formula_inductance_h_per_m, "H/m"),
                percent(difference(phase.inductance_h_per_m, phase.formula_inductance_h_per_m)),
                three_digits(phase.gmd_inductance_h_per_m, "H/m"),
            )
            for phase in result.phases
        ),
    )


def _orders(result: Answers) -> PlainTable:
    """The phase order as stated and the best one, each by its full solution."""
    found = result.order_search
    if found is None:
        return PlainTable((), ())
    limited = {entry.name for entry in result.receptors if entry.limit_t is not None}
    limited |= {zone.name for zone in result.zones if zone.limit_t is not None}
    return PlainTable(
        ("phase order", "objective", "worst field", "at", "largest share", X_SPREAD, ""),
        tuple(
            (
                name,
                fixed(order.value, 3),
                "–"
                if order.worst_over_limit is None
                else f"{order.worst_over_limit:.3g} × {'limit' if order.worst_at in limited else 'as stated'}",
                order.worst_at or "–",
                f"{100 * order.largest_share:.1f} %",
                f"{100 * order.inequality:.1f} %",
                VERDICTS[order.within_limits],
            )
            for name, order in (("as stated", found.today_solved), ("best", found.best_solved))
        ),
    )


def _order_lines(result: Answers) -> list[str]:
    found = result.order_search
    if found is None:
        return []
    lines = [f"Phase orders by {found.objective}: {search_words(found, lambda number: f'{number:,}')}"]
    if found.best[0].phases == found.today.phases:
        lines.append("The best order is the stated one.")
    else:
        best = "; ".join(f"{circuit}: {' '.join(labels)}" for circuit, labels in found.best[0].phases.items())
        own = " with its own saturation" if found.saturating else ""
        off = f"the fields judged were off by {100 * found.largest_difference:.2g} % at most"
        lines += [f"Best order {best}", f"Solved in full{own}, {off}."]
    return ["\n".join(textwrap.fill(line, WIDEST) for line in lines)]


def _accuracy_lines(result: Answers) -> list[str]:
    accuracy = result.accuracy
    reached = "met" if accuracy.met else "NOT met"
    last = accuracy.levels[-1]
    line = (
        f"Numerical error of the numbers above: at most {rounded_up(100 * largest_error(result))} %; asked "
        f"{100 * accuracy.tolerance:g} %, {reached} with {last.unknowns:,} unknowns after {len(accuracy.levels)} "
        "meshes. Each ± stands in the report and the tables."
    )
    return [textwrap.fill(line, WIDEST)]


def _spacing_lines(result: Answers) -> list[str]:
    kept = " ".join(spacing_of(result.study, result.cross_section).sentences())
    return [textwrap.fill(line, WIDEST) for line in (*place_lines(result), kept)]


def _formula_lines(result: Answers) -> list[str]:
    told = [*metal_formula_lines(result), third_harmonic_words(result)]
    return ["\n".join(textwrap.wrap(line, WIDEST)) for line in told if line]


def _missed_lines(result: Answers) -> list[str]:
    missed = [entry.name for entry in result.receptors if not entry.within_tolerance]
    missed += [f"zone {zone.name}" for zone in result.zones if not zone.within_tolerance]
    missed += [entry.part for entry in result.losses if not entry.within_tolerance]
    missed += [f"{entry.circuit} {entry.phase}" for entry in result.phases if not entry.within_tolerance]
    return [f"Not within the asked accuracy: {', '.join(missed)}."] if missed else []


def _several(result: Answers) -> bool:
    return any(len(receptor.spectrum) > 1 for receptor in result.receptors) or any(
        zone.exposure_index is not None for zone in result.zones
    )


def _limit(entry: ReceptorResult | ZoneResult | LimitDistanceResult) -> str:
    """Name of a reference level, or the flux density."""
    return _short(entry.limit_name or three_digits(entry.limit_t, "T"), LONGEST_LIMIT)


def _of(row: LimitDistanceResult) -> str:
    more = "" if len(row.of) == 1 else f" +{len(row.of) - 1}"
    return f"{_short(row.of[0], LONGEST_NAME)}{more}"


def _short(text: str, longest: int) -> str:
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def _away(row: LimitDistanceResult) -> str:
    return three_digits(row.from_outline_m, "m") if row.state == "met" else row.state


def _index(value: float | None) -> str:
    return "" if value is None else f"{value:.3g}"


def _share(value: float, result: Answers) -> str:
    total = sum(loss.loss_w_per_m for loss in result.losses)
    return f"{100 * value / total:.1f} %" if total > 0 else "–"


def _one(make: Callable[[Answers], PlainTable]) -> Callable[[Answers], tuple[PlainTable, ...]]:
    return lambda result: (make(result),)


TABLES: dict[str, Callable[[Answers], tuple[Shown, ...]]] = {
    "receptors": lambda result: (receptor_table(result),),
    "zones": _one(_zones),
    "what the error does not cover": reservations,
    "limit distances": _one(_distances),
    "loss of each kind": _one(_totals),
    "parts": _one(_parts),
    "sharing": _one(_sharing),
    "saturation": _one(_saturation),
    "another steel": lambda result: (PlainTable(*other_steel_table(result)),),
    "current sweep": _one(_sweep),
    "phases": _one(_phases),
    "unbalance of the phases": lambda result: (PlainTable(*balance_table(result)),),
    "route": lambda result: tuple(PlainTable(head, rows) for head, rows in route_tables(result.route)),
    "phase orders": _one(_orders),
    "faults": lambda result: (PlainTable(*fault_table(result)),),
    "design forces": lambda result: (PlainTable(*design_table(result)),),
    "charging": lambda result: (PlainTable(*charging_table(result)),),
}
"""The tables in their order, and what is said of the verdicts below theirs."""
LINES: tuple[Callable[[Answers], list[str]], ...] = (
    _order_lines,
    run_lines,
    _accuracy_lines,
    balance_lines,
    _spacing_lines,
    _formula_lines,
    _missed_lines,
    caution_lines,
)
"""What makes the lines below the tables, in their order."""
