"""Phase orders in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.text.numbers import percent, plain


def order_line(result: Answers) -> str:
    """The best order beside that as stated."""
    found = result.order_search
    if found is None:
        return ""
    if found.best[0].phases == found.today.phases:
        return f"Phase order: the stated one is the best that was found, by {found.objective}."
    proved = "the best order" if found.proved else "the best order found, not proved,"
    before, after = plain(found.today_solved.value, 3), plain(found.best_solved.value, 3)
    return (
        f"Phase order: {proved} has an objective ({found.objective}) of {after} against {before} as stated; its "
        f"largest share is {percent(found.best_solved.largest_share, signed=False)} %, its x_spread "
        f"{percent(found.best_solved.inequality, signed=False)} %."
    )
