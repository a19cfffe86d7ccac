"""The answer on phase orders: the best that was found, and the order as stated."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.orders.compute import order_search
from studies.answers.orders.files import order_files
from studies.answers.orders.rows import OrderSearchResult


def _orders(asked: Asked) -> OrderSearchResult | None:
    return order_search(asked.study, asked.base, asked.tell)


ORDER_SEARCH = Answer("order_search", "order search", _orders, empty=None, files=order_files)
