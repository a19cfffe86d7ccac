"""Phase orders in words: tables for page and terminal, the best order as lines of a study file, and sentences."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.orders.laid_words import laid_orders, laid_sentences, laid_shares
from studies.answers.orders.rows import OrderResult, OrderSearchResult, SolvedOrder
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.formulas.unbalance import DEFINITIONS, X_SPREAD
from studies.text.blocks import Block, Figure, Listing, Section, Text
from studies.text.csv import csv_text
from studies.text.file_names import slugs
from studies.text.grid import Tone
from studies.text.numbers import count, per_cent, plain, value_with_error
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, NUMBER, PER_CENT

GROUPS = 6
"""Labels of a circuit between wider gaps, where it has many."""
EXCHANGES = {
    1: "no exchange of two labels improves the best one",
    2: "no exchange of two labels, nor two such exchanges one after another, improves the best one",
}
WORST_NOTE = "Worst field: over its limit; of a place without a limit, over the field of the stated order."
SHARE_NOTE = "Largest share: current of a cable over an equal share of its phase."
SPREAD_NOTE = f"{X_SPREAD}: {DEFINITIONS[X_SPREAD]}, of the worst circuit; it contains their common drop."
JUDGED_NOTE = (
    "±: estimate of the numerical error, from the change between two meshes. Judged: from one solution, that of the "
    "stated order."
)
VERDICTS = {True: "within the limits", False: "above a limit", None: "no limit stated"}
NET = ("Net currents are counted in the verdicts alone: orders are ranked, and bounds kept, without them.",)
TONES: dict[bool | None, Tone] = {True: "good", False: "bad", None: ""}


def order_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The phase orders that the search kept; None if the study asks for no search."""
    found = result.order_search
    if found is None:
        return None
    net = NET if result.study.has_net_currents() else ()
    blocks: list[Block] = [Text((*_sentences(found), *net)), _orders(result, found)]
    if not _is_stated(found):
        lines = (
            f"# [[circuits]] {json.dumps(name, ensure_ascii=False)}\n{line}"
            for name, line in study_lines(found).items()
        )
        blocks.append(Listing("\n\n".join(lines), "The best order, as lines of the study file."))
    if names.PHASE_ORDERS in figures:
        blocks.append(
            Figure(
                "The phase order as stated and the best ones, the conductors coloured by phase. Above each its "
                "objective and its worst field, as judged from one solution.",
                "Cross-section with the phase order as stated and the best ones.",
                figures[names.PHASE_ORDERS],
            )
        )
    tables = (_fields(result, found), solved_orders(result), laid_orders(result), laid_shares(result))
    blocks += [table for table in tables if table.rows]
    return Section("Phase orders", "orders", tuple(blocks))


def order_notes(result: Answers) -> list[str]:
    """How the best order was judged, and its lines for the study file, below the tables of a terminal."""
    found = result.order_search
    if found is None:
        return []
    notes = [f"Phase orders by {found.objective}: {search_words(found)}", _in_full(found), *laid_sentences(found)]
    notes += NET if result.study.has_net_currents() else ()
    if not _is_stated(found):
        for name, line in study_lines(found).items():
            notes += [f"The best order of {name}, as a line of the study file:", line]
    return notes


def order_rows(result: Answers) -> list[SheetRow]:
    """The best phase order on the sheet to sign."""
    found = result.order_search
    if found is None:
        return []
    best, stated, bare = found.best_solved, plain(found.today_solved.value, 3), names.without_net_currents(result)
    value = f"{value_with_error(best.value, best.value_error, NUMBER)} ({found.objective}), as stated {stated}{bare}"
    if found.laid and found.laid[1].p95_worst_over_limit is not None:
        value += f"; worst field at the 95th percentile {plain(found.laid[1].p95_worst_over_limit)} times"
    limits = None if best.worst_over_limit is None or best.within_limits is None else "1 times the limits"
    return [
        SheetRow(
            "Phase order as stated, the best found" if _is_stated(found) else "Best phase order, not as stated",
            value,
            limits,
            None if limits is None else f"{plain(best.worst_over_limit or 0.0, 3)} times, at “{best.worst_at}”",
            f"{VERDICTS[best.within_limits]}{names.with_net_currents(result)}",
            TONES[best.within_limits],
            "proved the best" if found.proved else "NOT proved the best",
            "orders",
        )
    ]


def study_lines(found: OrderSearchResult) -> dict[str, str]:
    """The best order of each circuit that it changes, as the line `phases` of its table in the study file."""
    return {
        circuit: f"phases = {json.dumps(list(labels), ensure_ascii=False)}"
        for circuit, labels in found.best[0].phases.items()
        if labels != found.today.phases[circuit]
    }


def search_words(found: OrderSearchResult) -> str:
    """The number of orders, how many were judged, and what that proves."""
    alike = f" (those alike by symmetry, {count(found.symmetric)} each, counted once)" if found.symmetric > 1 else ""
    possible = f"{count(found.possible)} order{'' if found.possible == 1 else 's'}{alike}"
    if found.laid:
        return f"{possible}; {count(found.tried)} were judged from one solution. NOT proved, a better one may exist."
    if found.proved:
        return f"{possible}, all judged from one solution: proved that none is better."
    least = (
        f"none can be below an objective of {plain(found.least_value, 3)}"
        if found.least_value > 0
        else "the possible gain is not known"
    )
    return (
        f"{possible}, too many to judge all: {count(found.tried)} were judged from one solution. NOT proved, a better "
        f"one may exist, {least}; {EXCHANGES[found.exchanges]}."
    )


def _sentences(found: OrderSearchResult) -> tuple[str, ...]:
    where = f" at {', '.join(found.counted)}" if "field" in found.objective and found.counted else ""
    lines = [f"Objective: {found.objective}{where}; smaller is better. {search_words(found)}"]
    if found.fixed:
        lines.append(f"Left as they are: {', '.join(found.fixed)}.")
    if found.zones:
        lines.append(
            "A zone is judged in its air, at samples along its edge and around the cables and metal in it. They miss "
            "at most about 0.4 % of the highest field, and up to 6 % if much metal is in the zone. The full solution "
            "searches for the highest field of each zone."
        )
    return (*lines, _in_full(found), *laid_sentences(found))


def _in_full(found: OrderSearchResult) -> str:
    """Whether the best order is the stated one, and how far its full solution is from the judgement."""
    if _is_stated(found):
        words = "The best order is the stated one."
    else:
        words = (
            "The best order was solved in full on meshes of its own: the judged fields differ from this solution by "
            f"{per_cent(found.largest_difference, signed=False)} at most. The other orders are judged only."
        )
    if found.saturating:
        words += (
            " Steel saturates: orders are judged with the permeability of the stated order, and the full solution "
            "has its own. If the difference is large, put the best order into the study and search again."
        )
    if not found.best_solved.within_tolerance:
        words += " * The full solution of the best order did not reach the asked accuracy everywhere."
    return words


def _is_stated(found: OrderSearchResult) -> bool:
    return found.best[0].phases == found.today.phases


def spaced(labels: Sequence[str]) -> str:
    """Labels in a row, those of many cables in groups."""
    if len(labels) <= GROUPS:
        return " ".join(labels)
    pieces = [labels[k : k + GROUPS] for k in range(0, len(labels), GROUPS)]
    return " · ".join(" ".join(piece) for piece in pieces)


def _phases(order: OrderResult) -> str:
    return "; ".join(f"{circuit}: {spaced(labels)}" for circuit, labels in order.phases.items())


_Judged = tuple[str, OrderResult]
ORDERS: tuple[Column[_Judged], ...] = (
    Column("Order", lambda r: r[0]),
    Column("Phases", lambda r: _phases(r[1])),
    Column("Objective", lambda r: r[1].value, NUMBER),
    Column("Worst field over its limit", lambda r: r[1].worst_over_limit, NUMBER, digits=3),
    Column("At", lambda r: r[1].worst_at),
    Column("Largest share", lambda r: r[1].largest_share, PER_CENT),
    Column(X_SPREAD, lambda r: r[1].inequality, PER_CENT),
)


def _orders(result: Answers, found: OrderSearchResult) -> Table[_Judged]:
    rows = [("as stated", found.today), *((f"no. {k}", order) for k, order in enumerate(found.best, 1))]
    note = f"Phases: in the order of the cables' positions. {WORST_NOTE} {SHARE_NOTE} {SPREAD_NOTE}"
    caption = f"Phase orders{names.at_own_frequency(result)}{names.without_net_currents(result)}"
    return Table(caption, ORDERS, rows, note)


@dataclass(frozen=True)
class _SolvedRow:
    """The stated order or the best one, by its full solution or as judged."""

    name: str
    order: OrderResult | SolvedOrder

    @property
    def solved(self) -> SolvedOrder | None:
        return self.order if isinstance(self.order, SolvedOrder) else None


def _error(of: Callable[[SolvedOrder], float | None]) -> Callable[[_SolvedRow], float | None]:
    """An error of a full solution; None for an order as judged."""
    return lambda row: None if row.solved is None else of(row.solved)


def _verdict(row: _SolvedRow) -> str | None:
    return None if row.solved is None else VERDICTS[row.solved.within_limits]


def _tone(row: _SolvedRow) -> Tone:
    return "" if row.solved is None else TONES[row.solved.within_limits]


SOLVED: tuple[Column[_SolvedRow], ...] = (
    Column("Order", lambda r: r.name, brief=True),
    Column("Objective", lambda r: r.order.value, NUMBER, _error(lambda solved: solved.value_error), brief=True),
    Column(
        *("Worst field over its limit", lambda r: r.order.worst_over_limit, NUMBER),
        error=_error(lambda solved: solved.worst_over_limit_error),
        brief=True,
    ),
    Column("At", lambda r: r.order.worst_at, brief=True),
    Column(
        *("Largest share", lambda r: r.order.largest_share, PER_CENT),
        error=_error(lambda solved: solved.largest_share_error),
        brief=True,
    ),
    Column(
        *(X_SPREAD, lambda r: r.order.inequality, PER_CENT),
        error=_error(lambda solved: solved.inequality_error),
        brief=True,
    ),
)


def solved_orders(result: Answers) -> Table[_SolvedRow]:
    """The phase order as stated and the best one; in brief by their full solutions alone."""
    found, rows = result.order_search, []
    if found is not None:
        rows = [
            _SolvedRow("as stated", found.today_solved),
            _SolvedRow("no. 1, judged", found.best[0]),
            _SolvedRow("no. 1, in full", found.best_solved),
        ]
    return Table(
        f"The phase order as stated and the best one{names.at_own_frequency(result)}",
        (*SOLVED, Column(f"Verdict{names.with_net_currents(result)}", _verdict, tone=_tone, brief=True)),
        rows,
        f"{JUDGED_NOTE} {WORST_NOTE} {SPREAD_NOTE}",
        brief_rows=lambda row: row.solved is not None,
        brief_note=WORST_NOTE,
    )


@dataclass(frozen=True)
class _FieldRow:
    """The field at a receptor, or the highest in a zone. [T]"""

    place: str
    limit: float | None
    stated: float
    stated_error: float
    judged: float
    solved: float
    solved_error: float


def _is_above(row: _FieldRow, highest: float) -> Tone:
    return "bad" if row.limit is not None and highest > row.limit else ""


FIELDS: tuple[Column[_FieldRow], ...] = (
    Column("Field at", lambda r: r.place),
    Column("Limit", lambda r: r.limit, FLUX_DENSITY, stated=True),
    Column(
        *("As stated", lambda r: r.stated, FLUX_DENSITY, lambda r: r.stated_error),
        tone=lambda r: _is_above(r, r.stated + r.stated_error),
    ),
    Column("No. 1, judged", lambda r: r.judged, FLUX_DENSITY),
    Column(
        *("No. 1, in full", lambda r: r.solved, FLUX_DENSITY, lambda r: r.solved_error),
        tone=lambda r: _is_above(r, r.solved + r.solved_error),
    ),
    difference_column(lambda r: r.judged, lambda r: r.solved, heading="Judged differs"),
)


def _fields(result: Answers, found: OrderSearchResult) -> Table[_FieldRow]:
    now, best, judged = found.today_solved, found.best_solved, found.best[0]
    of_receptors = {entry.name: entry.limit_t for entry in result.receptors}
    of_zones = {zone.name: zone.limit_t for zone in result.zones}
    rows = zip(
        (*found.receptors, *(f"{name}, highest" for name in found.zones)),
        (*map(of_receptors.get, found.receptors), *map(of_zones.get, found.zones)),
        (*now.receptor_b_rms_t, *now.zone_b_max_rms_t),
        (*now.receptor_b_rms_error_t, *now.zone_b_max_rms_error_t),
        (*judged.receptor_b_rms_t, *judged.zone_b_max_rms_t),
        (*best.receptor_b_rms_t, *best.zone_b_max_rms_t),
        (*best.receptor_b_rms_error_t, *best.zone_b_max_rms_error_t),
        strict=True,
    )
    return Table(
        f"Field of the phase order as stated and of the best one{names.at_own_frequency(result)}"
        f"{names.without_net_currents(result)}",
        FIELDS,
        [_FieldRow(*row) for row in rows],
        JUDGED_NOTE,
        units=result_units(result),
    )


def order_files(found: OrderSearchResult | None) -> Mapping[str, Sequence[object] | Callable[[], str]]:
    """The table of the orders, by name."""
    if found is None:
        return {}
    laid = {"laid_orders": found.laid} if found.laid else {}
    return {"phase_orders": partial(_file, found), **laid}


def _file(found: OrderSearchResult) -> str:
    """One line for the order as stated and each of the best, as judged, and one for each of the two that are solved."""
    names = [(f"labels_{slug}", k) for k, slug in enumerate(slugs(found.today.phases))]
    fields = [f"b_rms_t_{slug}" for slug in slugs(found.receptors)]
    fields += [f"b_max_rms_t_zone_{slug}" for slug in slugs(found.zones)]
    errors = [f"{field.replace('_rms_t_', '_rms_error_t_')}" for field in fields]
    numbers = ("value", "worst_over_limit", "worst_at", "largest_share", "inequality")
    columns = ["order", "source", *(name for name, _ in names), *numbers, *fields, *errors]
    judged = [("as stated", found.today), *((f"best {k}", order) for k, order in enumerate(found.best, 1))]
    lines: list[list[object]] = []
    for name, order in judged:
        labels = [" ".join(own) for own in order.phases.values()]
        values = [getattr(order, number) for number in numbers]
        own = [*order.receptor_b_rms_t, *order.zone_b_max_rms_t]
        lines.append([name, "judged", *labels, *values, *own, *(None for _ in own)])
    for name, order, solved in (
        ("as stated", found.today, found.today_solved),
        ("best 1", found.best[0], found.best_solved),
    ):
        labels = [" ".join(own) for own in order.phases.values()]
        values = [getattr(solved, number) for number in numbers]
        own = [*solved.receptor_b_rms_t, *solved.zone_b_max_rms_t]
        lines.append(
            [
                *(name, "full solution", *labels, *values, *own),
                *solved.receptor_b_rms_error_t,
                *solved.zone_b_max_rms_error_t,
            ]
        )
    return csv_text(columns, lines)
