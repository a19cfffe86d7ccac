"""The best phase orders beside today's as blocks."""

from __future__ import annotations

from studies.decided import OrderResult
from studies.figures import names
from studies.figures.engineering import FLUX_DENSITY, fixed, plain, quantity
from studies.report.blocks import Column, Section, Table, Text
from studies.report.numbers import percent
from studies.results import Result


def order_section(result: Result) -> Section | None:
    """What a search of phase orders found; None where the study asks for none."""
    found = result.order_search
    if found is None:
        return None
    judged = "all of them, so that none is better" if found.proved else "of them, so that a better one may exist"
    confirmed = ", ".join(
        f"{receptor.name} {quantity(field, FLUX_DENSITY)}"
        for receptor, field in zip(result.receptors, found.confirmed_b_rms_t, strict=False)
    )
    text = Text(
        (
            (
                f"Objective: {found.objective}. {fixed(found.possible, 0)} orders are possible; "
                f"{fixed(found.tried, 0)} were judged from one solution, {judged}."
            ),
            (
                f"The best order solved in full: {confirmed or 'no receptor'}; the field judged before differs by "
                f"{percent(found.confirmed_difference, signed=False)} % at most."
            ),
        )
    )
    rows = [("today", found.today), *((f"no. {k}", order) for k, order in enumerate(found.best, 1))]
    table = Table(
        f"Phase orders{names.at_own_frequency(result)}",
        (
            Column("Order"),
            Column("Phases"),
            Column("Objective", "–"),
            Column("Worst field over its limit", "–"),
            Column("Largest share", "%"),
            Column("Spread of reactance", "%"),
        ),
        tuple(_row(name, order) for name, order in rows),
        "Phases in the order of the cables' positions. Where there is no limit, the field counts over its value today. "
        "Largest share: of a cable's current over an equal share of its phase. Spread: largest among the phases of a "
        "circuit, over their mean.",
    )
    return Section("Phase orders", "orders", (text, table))


def _row(name: str, order: OrderResult) -> tuple[str, ...]:
    phases = "; ".join(f"{circuit}: {' '.join(labels)}" for circuit, labels in order.phases.items())
    worst = "–" if order.worst_over_limit is None else plain(order.worst_over_limit, 3)
    return (
        name,
        phases,
        plain(order.value, 4),
        worst,
        percent(order.largest_share, signed=False),
        percent(order.inequality, signed=False),
    )
