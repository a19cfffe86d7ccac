"""The phase orders as a file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from studies.answers.orders.rows import OrderSearchResult
from studies.text.csv import csv_text
from studies.text.file_names import slugs


def order_files(found: OrderSearchResult | None) -> Mapping[str, Callable[[], str]]:
    """The table of the orders, by name."""
    return {} if found is None else {"phase_orders": partial(_orders, found)}


def _orders(found: OrderSearchResult) -> str:
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
