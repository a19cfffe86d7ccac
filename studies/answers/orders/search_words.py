"""What a search of phase orders found, in words for the terminal and the report."""

from __future__ import annotations

from collections.abc import Callable

from studies.answers.orders.rows import OrderSearchResult

EXCHANGES = {
    1: "no exchange of two labels improves the best one",
    2: "no exchange of two labels, nor two such exchanges one after another, improves the best one",
}


def search_words(found: OrderSearchResult, count: Callable[[int], str]) -> str:
    """How many orders there are, how many were judged, and what that proves; `count` writes a whole number."""
    alike = f" (those alike by symmetry, {count(found.symmetric)} each, counted once)" if found.symmetric > 1 else ""
    possible = f"{count(found.possible)} order{'' if found.possible == 1 else 's'}{alike}"
    if found.proved:
        return f"{possible}, all judged from one solution: proved that none is better."
    least = (
        f"none can be below an objective of {found.least_value:.3g}"
        if found.least_value > 0
        else "by how much is not known"
    )
    return (
        f"{possible}, too many to judge all: {count(found.tried)} were judged from one solution. NOT proved, a better "
        f"one may exist, {least}; {EXCHANGES[found.exchanges]}."
    )
