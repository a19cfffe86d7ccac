"""Phase orders over all layings in words: the table of the best, shares of each cable, a caution on cancellation."""

from __future__ import annotations

from collections.abc import Callable

from studies.answers.answers import Answers
from studies.answers.figure_names import without_net_currents
from studies.answers.orders.rows import LaidOrder, OrderSearchResult
from studies.answers.result_units import result_units
from studies.text.numbers import per_cent, plain
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, NUMBER, PER_CENT

CANCELS = 1.5
"""Field at the 95th percentile over that as drawn from which an order is said to win by cancellation. [-]"""
LAID_NOTE = (
    "Place: where the 95th percentile is highest over its limit (of a place without a limit, over its field in the "
    "stated order). 95th percentile: 95 of 100 layings are at or below it; of the largest share, the largest of each "
    "laying. All from one solution."
)


def laid_orders(result: Answers) -> Table[LaidOrder]:
    """The stated order and the best ones: field and largest share as drawn and at the 95th percentile."""
    found = result.order_search
    rows = () if found is None else found.laid
    columns: tuple[Column[LaidOrder], ...] = (
        Column("Order", lambda r: r.order, brief=True),
        Column("Place", lambda r: r.worst_at, brief=True),
        Column("Field as drawn", _at_worst(found, lambda r: r.b_rms_t), FLUX_DENSITY, digits=3, brief=True),
        Column("95th percentile", _at_worst(found, lambda r: r.p95_b_rms_t), FLUX_DENSITY, digits=3, brief=True),
        Column("Over its limit", lambda r: r.p95_worst_over_limit, NUMBER, digits=3, brief=True),
        Column("Largest share", lambda r: r.largest_share, PER_CENT, digits=4, brief=True),
        Column("95th percentile", lambda r: r.p95_largest_share, PER_CENT, digits=4, brief=True),
    )
    caption = f"Phase orders over all layings{without_net_currents(result)}"
    return Table(caption, columns, rows, LAID_NOTE, units=result_units(result))


def _at_worst(
    found: OrderSearchResult | None, of: Callable[[LaidOrder], tuple[float, ...]]
) -> Callable[[LaidOrder], float | None]:
    """A field of an order at the place that its 95th percentile is worst at."""
    places = () if found is None else (*found.receptors, *found.zones)
    return lambda row: None if row.worst_at is None else of(row)[places.index(row.worst_at)]


def laid_shares(result: Answers) -> Table[int]:
    """The share of each cable in the stated order and the best ones."""
    found = result.order_search
    orders = () if found is None else found.laid
    columns: list[Column[int]] = [Column("Cable", lambda k: orders[0].parts[k].removesuffix(".conductor"))]
    for order in orders:
        columns.append(Column(order.order, _share(order.shares), PER_CENT, digits=4))
        columns.append(Column(f"{order.order}, 95th percentile", _share(order.p95_shares), PER_CENT, digits=4))
    rows = range(len(orders[0].parts)) if orders else ()
    note = "Current of each cable over an equal share of its phase, as drawn and at the 95th percentile of its layings."
    return Table("Shares of the cables by phase order", tuple(columns), rows, note)


def _share(shares: tuple[float, ...]) -> Callable[[int], float]:
    return lambda k: shares[k]


def laid_sentences(found: OrderSearchResult) -> tuple[str, ...]:
    """How the orders were ranked, whether the best one keeps what was asked, and which rest on cancellation."""
    lines = []
    if found.laid:
        lines.append(
            "Ranked by the 95th percentile over the layings of the laying tolerance, among the best orders as drawn "
            "and exchanges of two labels."
        )
        best = found.laid[1]
        lines += _kept(found, best.p95_worst_over_limit, best.p95_largest_share, "at the 95th percentile")
    else:
        lines += _kept(found, found.best[0].worst_over_limit, found.best[0].largest_share, "as drawn")
    lines += [cancels for order in found.laid if (cancels := _cancels(order))]
    return tuple(lines)


def _kept(found: OrderSearchResult, field: float | None, share: float, where: str) -> list[str]:
    """The bounds of the search, each with what the best order has."""
    lines = []
    if found.field_at_most is not None and field is not None:
        state = "keeps" if field <= found.field_at_most else "does NOT keep"
        lines.append(
            f"No. 1 {state} the field under {plain(found.field_at_most)} times its limit: {plain(field)} times {where}."
        )
    if found.share_at_most is not None:
        state = "keeps" if share <= found.share_at_most else "does NOT keep"
        most = per_cent(found.share_at_most, signed=False)
        lines.append(f"No. 1 {state} the largest share under {most}: {per_cent(share, signed=False)} {where}.")
    return lines


def _cancels(order: LaidOrder) -> str:
    """A caution where an order owes its field to a cancellation that laying undoes."""
    drawn, laid = order.worst_over_limit, order.p95_worst_over_limit
    if drawn is None or laid is None or not laid > CANCELS * drawn:
        return ""
    times = f"{plain(laid / drawn)} times" if drawn > 0 else "without bound"
    return (
        f"Caution: the field of the order {order.order} at “{order.worst_at}” rests on cancellation; the 95th "
        f"percentile of its layings is {times} the drawn field. Rely on the percentile, and measure after installation."
    )
