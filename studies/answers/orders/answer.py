"""The answer on phase orders: the best that was found, and the order as stated."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.orders.compute import order_search
from studies.answers.orders.laid_words import laid_orders
from studies.answers.orders.rows import OrderSearchResult
from studies.answers.orders.words import order_files, order_notes, order_rows, order_section, solved_orders


def _orders(asked: Asked) -> OrderSearchResult | None:
    return order_search(asked.study, asked.base, asked.report_progress)


def _figure(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.orders.figure import draw_phase_orders

    return {} if seen.order_search is None else {names.PHASE_ORDERS: partial(draw_phase_orders, seen)}


ORDER_SEARCH = Answer(
    "order_search",
    "order search",
    _orders,
    empty=None,
    files=order_files,
    sections={"Phase orders": order_section},
    brief=lambda seen: [table for table in (solved_orders(seen), laid_orders(seen)) if table.rows],
    notes=order_notes,
    sheet=order_rows,
    figures=_figure,
    sees=("receptors", "zones"),
)
