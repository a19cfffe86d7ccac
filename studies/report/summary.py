"""The answers first: which receptors are within their limit, what is lost, and how exact the numbers are."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import partial

from studies.answers.answer import Answer, nothing
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.section.spacing import spacing_of
from studies.text.blocks import First, Last, Text
from studies.text.failures import rescued
from studies.text.numbers import percent, with_unit
from studies.text.units import LOSS, LOSS_PER_LENGTH

NO_PLACE = "No receptor or zone is named."


def verdict_lines(result: Answers) -> tuple[str, ...]:
    """The leading sentences."""
    lines = [line for what, make in VERDICTS.items() for line in _told(what, make, result)]
    return tuple(worst_first(lines)) or without_verdict(result)


def worst_first(lines: Iterable[str]) -> list[str]:
    """Sentences in their order, those that say that a limit is exceeded first, those that nobody asked for last."""
    return sorted(lines, key=lambda line: (not isinstance(line, First), isinstance(line, Last)))


def without_verdict(result: Answers) -> tuple[str, ...]:
    """What leads if no answer does, as the study names no place and asks nothing that has a sentence of its own."""
    if result.receptors or result.zones or result.unjudged():
        return ()
    if result.route is not None:
        return (f"The whole run loses {with_unit(result.route.loss_w, LOSS)}. {NO_PLACE}",)
    total = math.fsum(row.loss_w_per_m for row in result.losses)
    return (f"All parts lose {with_unit(total, LOSS_PER_LENGTH)} of run. {NO_PLACE}",)


def summary_list(result: Answers) -> Text:
    """What the rows of the sheet to sign leave out: steel, spacing, places in metal, accuracy."""
    return Text(tuple(line for what, make in LINES.items() for line in _told(what, make, result)), "list")


def _told(what: str, make: Callable[[Answers], Sequence[str]], result: Answers) -> list[str]:
    """Lines of the summary, in their place that they failed where they did."""
    found = rescued(
        f"{what} of the summary", partial(make, result), lambda failure: (f"{what}: failed, {failure.why}.",)
    )
    return [line for line in found if line]


def _said_by(answer: Answer, say: Callable[[Answers], Sequence[str]], result: Answers) -> Sequence[str]:
    return say(answer.seen(result))


def _spacing_line(result: Answers) -> str:
    return " ".join(spacing_of(result.study, result.cross_section).sentences())


def _accuracy_line(result: Answers) -> str:
    accuracy = result.accuracy
    reached, asked = percent(accuracy.worst_error, signed=False), percent(accuracy.tolerance, signed=False)
    state = "reached" if accuracy.met else "not reached everywhere"
    return (
        f"Numerical accuracy: asked {asked} %, {state}; the largest error estimate is {reached} %. It covers the "
        "numerics alone, not what is assumed about materials and positions."
    )


Say = Callable[[Answers], Sequence[str]]


def _said(kind: str, of: Callable[[Answer], Say]) -> dict[str, Say]:
    """What the answers say of one kind, by the kind and what they are on."""
    return {f"{kind}{one.what}": partial(_said_by, one, of(one)) for one in ANSWERS if of(one) is not nothing}


VERDICTS: dict[str, Say] = _said("verdicts on ", lambda one: one.verdicts) | _said("alarms on ", lambda one: one.alarms)
"""Leading sentences in their order, by what they tell."""
LINES: dict[str, Say] = _said("", lambda one: one.lines) | {
    "spacing": lambda result: (_spacing_line(result),),
    "accuracy": lambda result: (_accuracy_line(result),),
}
"""Entries of the list in their order, by what they tell."""
