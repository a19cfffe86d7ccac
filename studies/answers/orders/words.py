"""The best phase orders beside the stated one, and the best one solved in full, as blocks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.orders.rows import OrderResult, OrderSearchResult, SolvedOrder
from studies.answers.orders.search_words import search_words
from studies.formulas.unbalance import DEFINITIONS, X_SPREAD
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Cell, Grid, Head
from studies.text.numbers import NONE, difference, fixed, percent, plain, stated, with_error
from studies.text.units import FLUX_DENSITY, Unit, common_unit

NUMBER, PER_CENT = Unit("–", 1.0), Unit("%", 0.01)
GROUPS = 6
"""Labels of a circuit between wider gaps, where it has many."""


def order_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """What a search of phase orders found; None where the study asks for none."""
    found = result.order_search
    if found is None:
        return None
    blocks: list[Block] = [Text(_words(found)), _orders(result, found)]
    if names.PHASE_ORDERS in figures:
        blocks.append(
            Figure(
                "The phase order as stated and the best ones, the conductors coloured by phase. Above each its "
                "objective and its worst field, as judged from one solution.",
                "Cross-section with the phase order as stated and the best ones.",
                figures[names.PHASE_ORDERS],
            )
        )
    blocks += _in_full(result, found)
    return Section("Phase orders", "orders", tuple(blocks))


def _words(found: OrderSearchResult) -> tuple[str, ...]:
    where = f" at {', '.join(found.counted)}" if "field" in found.objective and found.counted else ""
    searched = search_words(found, lambda number: fixed(number, 0))
    lines = [f"Objective: {found.objective}{where}; smaller is better. {searched}"]
    if found.fixed:
        lines.append(f"Left as they are: {', '.join(found.fixed)}.")
    if found.zones:
        lines.append(
            "A zone is judged in its air, at samples along its edge and around the cables and metal in it. They miss "
            "no more than about 0.4 % of the highest field, and up to 6 % where much metal is in the zone. The full "
            "solution follows the highest places."
        )
    same = found.best[0].phases == found.today.phases
    own = (
        "The best order is the stated one."
        if same
        else f"The best order was solved in full on meshes of its own: the fields judged before differ from it by "
        f"{percent(found.largest_difference, signed=False)} % at most. The others are judged alone."
    )
    if found.saturating:
        own += (
            " Steel saturates: orders are judged with the permeability that the stated order leaves in it, and the "
            "full solution has its own. Where the difference is large, put the best order into the study and search "
            "again."
        )
    if not found.best_solved.within_tolerance:
        own += " * The full solution of the best order did not reach the asked accuracy everywhere."
    return (*lines, own)


def _orders(result: Answers, found: OrderSearchResult) -> Grid:
    rows = [("as stated", found.today), *((f"no. {k}", order) for k, order in enumerate(found.best, 1))]
    return Grid(
        f"Phase orders{names.at_own_frequency(result)}",
        (
            Head("Order"),
            Head("Phases"),
            Head("Objective", "–"),
            Head("Worst field over its limit", "–"),
            Head("at"),
            Head("Largest share", "%"),
            Head(X_SPREAD, "%"),
        ),
        tuple(_row(name, order) for name, order in rows),
        "Phases in the order of the cables' positions. Where there is no limit, the field counts over its value as "
        "stated. Largest share: of a cable's current over an equal share of its phase. "
        f"{X_SPREAD}: {DEFINITIONS[X_SPREAD]}, of the worst circuit.",
    )


def _row(name: str, order: OrderResult) -> tuple[str, ...]:
    return (
        name,
        "; ".join(f"{circuit}: {spaced(labels)}" for circuit, labels in order.phases.items()),
        plain(order.value, 4),
        NONE if order.worst_over_limit is None else plain(order.worst_over_limit, 3),
        order.worst_at or NONE,
        percent(order.largest_share, signed=False),
        percent(order.inequality, signed=False),
    )


def spaced(labels: Sequence[str]) -> str:
    """Labels in a row, those of many cables in groups."""
    if len(labels) <= GROUPS:
        return " ".join(labels)
    pieces = [labels[k : k + GROUPS] for k in range(0, len(labels), GROUPS)]
    return " · ".join(" ".join(piece) for piece in pieces)


def _in_full(result: Answers, found: OrderSearchResult) -> list[Block]:
    """The order as stated and the best one by full solutions, beside what was judged."""
    now, best, judged = found.today_solved, found.best_solved, found.best[0]
    unit = common_unit([*now.receptor_b_rms_t, *now.zone_b_max_rms_t], FLUX_DENSITY)
    of_receptors = {entry.name: entry.limit_t for entry in result.receptors}
    of_zones = {zone.name: zone.limit_t for zone in result.zones}
    limits = [*map(of_receptors.get, found.receptors), *map(of_zones.get, found.zones)]
    places = [*found.receptors, *(f"{name}, highest" for name in found.zones)]
    fields = zip(
        places,
        limits,
        (*now.receptor_b_rms_t, *now.zone_b_max_rms_t),
        (*now.receptor_b_rms_error_t, *now.zone_b_max_rms_error_t),
        (*judged.receptor_b_rms_t, *judged.zone_b_max_rms_t),
        (*best.receptor_b_rms_t, *best.zone_b_max_rms_t),
        (*best.receptor_b_rms_error_t, *best.zone_b_max_rms_error_t),
        strict=True,
    )
    columns = (
        Head("Field at"),
        Head("Limit", unit.symbol),
        Head("As stated", unit.symbol),
        Head("±", unit.symbol),
        Head("No. 1, judged", unit.symbol),
        Head("No. 1, in full", unit.symbol),
        Head("±", unit.symbol),
        Head("Judged differs", "%"),
    )
    at = names.at_own_frequency(result)
    note = (
        "±: estimate of the numerical error, from the change between two meshes. Judged: from one solution, that of "
        "the stated order."
    )
    rows = tuple(_field_row(name, unit, limit, *numbers) for name, limit, *numbers in fields)
    table = Grid(f"Field of the phase order as stated and of the best one{at}", columns, rows, note)
    others = Grid(
        f"The phase order as stated and the best one by other measures{at}",
        (
            Head("Order"),
            Head("Objective", "–"),
            Head("±", "–"),
            Head("Largest share", "%"),
            Head("±", "%"),
            Head(X_SPREAD, "%"),
            Head("±", "%"),
        ),
        (
            _solved_row("as stated", now),
            _judged_row("no. 1, judged", judged, best),
            _solved_row("no. 1, in full", best),
        ),
        f"{note} {X_SPREAD}: {DEFINITIONS[X_SPREAD]}, of the worst circuit; their common drop is in it.",
    )
    return [table, others] if rows else [others]


def _field_row(
    name: str,
    unit: Unit,
    limit: float | None,
    own: float,
    own_error: float,
    judged: float,
    best: float,
    best_error: float,
) -> tuple[str | Cell, ...]:
    now, now_error = with_error(own, own_error, unit)
    full, full_error = with_error(best, best_error, unit)
    before, _ = with_error(judged, best_error, unit)

    def marked(text: str, highest: float) -> str | Cell:
        return text if limit is None or highest <= limit else Cell(text, "bad")

    return (
        name,
        NONE if limit is None else stated(limit, unit).rpartition("\u202f")[0],
        marked(now, own + own_error),
        now_error,
        before,
        marked(full, best + best_error),
        full_error,
        percent(difference(judged, best)),
    )


def _solved_row(name: str, order: SolvedOrder) -> tuple[str, ...]:
    return (
        name,
        *with_error(order.value, order.value_error, NUMBER),
        *with_error(order.largest_share, order.largest_share_error, PER_CENT),
        *with_error(order.inequality, order.inequality_error, PER_CENT),
    )


def _judged_row(name: str, order: OrderResult, solved: SolvedOrder) -> tuple[str, ...]:
    return (
        *(name, with_error(order.value, solved.value_error, NUMBER)[0], NONE),
        *(with_error(order.largest_share, solved.largest_share_error, PER_CENT)[0], NONE),
        *(with_error(order.inequality, solved.inequality_error, PER_CENT)[0], NONE),
    )
