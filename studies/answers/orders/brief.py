"""Phase orders in a terminal."""

from __future__ import annotations

import textwrap

from studies.answers.answers import Answers
from studies.answers.orders.search_words import search_words
from studies.formulas.unbalance import X_SPREAD
from studies.text.engineering import fixed
from studies.text.plain_table import PlainTable
from studies.text.terminal import WIDEST

VERDICTS = {True: "within", False: "ABOVE", None: ""}


def order_brief(result: Answers) -> PlainTable:
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


def order_notes(result: Answers) -> list[str]:
    """The best order, and how it was judged."""
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
