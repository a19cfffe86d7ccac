"""A result as a few plain tables, for a terminal or a notebook."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from html import escape
from typing import Any

from studies.answers.answer import Answer, Shown, nothing
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.report.largest_error import largest_error
from studies.report.terminal_lines import caution_lines, failure_lines
from studies.section.spacing import spacing_of
from studies.text import plain_table
from studies.text.engineering import rounded_up
from studies.text.failures import collected, guarded, merged
from studies.text.html import as_html
from studies.text.plain_table import PlainTable
from studies.text.terminal import WIDEST, as_text

Show = Callable[[Answers], Sequence[Any]]


def summary(result: Answers) -> str:
    """The main numbers of a result as text: fields, losses, currents and phases, each beside its formula."""
    first, tables, lines = _contents(result)
    blocks = (text_of_block(table) for table in tables)
    return "\n\n".join([_title(result), *first, *blocks, *lines])


def summary_html(result: Answers) -> str:
    """The same as a fragment of HTML."""
    first, tables, lines = _contents(result)
    parts = [f"<p><strong>{escape(line)}</strong></p>" for line in (_title(result), *first)]
    parts += [_html(table) for table in tables]
    parts += [f"<p>{escape(line)}</p>" for line in lines]
    return f"<div>{''.join(parts)}</div>"


def text_of_block(block: Shown) -> str:
    """A sentence or table as a terminal shows it."""
    if isinstance(block, str):
        return block
    return plain_table.as_text(block) if isinstance(block, PlainTable) else as_text(block)


def _html(block: Shown) -> str:
    if isinstance(block, str):
        return f"<p>{escape(block)}</p>"
    return plain_table.as_html(block) if isinstance(block, PlainTable) else as_html(block)


def _title(result: Answers) -> str:
    return f"{result.study.title} ({result.study.frequency:g} Hz)"


def _contents(result: Answers) -> tuple[list[str], list[Shown], list[str]]:
    """What stands before the tables, the tables, and the lines after them.

    What fails costs nothing else, and is named in the last line with all that failed before.
    """
    with collected() as found:
        first = _every(ALARMS, "alarms of the summary", result)
        groups = [guarded(f"table “{what}”", partial(make, result), ()) for what, make in TABLES.items()]
        tables = [shown for group in groups for shown in group if isinstance(shown, str) or shown.rows]
        lines = _every(NOTES, "lines of the summary", result)
    failures = merged(result.failures, found)
    return [textwrap.fill(line, WIDEST) for line in first], tables, [*lines, *failure_lines(result, failures)]


def _every(notes: Mapping[str, Show], what: str, result: Answers) -> list[str]:
    """All lines of one kind that are not empty."""
    groups = [guarded(what, partial(make, result), ()) for make in notes.values()]
    return [line for group in groups for line in group if line]


def _shown_by(answer: Answer, show: Callable[[Answers], Sequence[Any]], result: Answers) -> Sequence[Any]:
    return show(answer.seen(result))


def _accuracy_lines(result: Answers) -> list[str]:
    accuracy = result.accuracy
    reached = "met" if accuracy.met else "NOT met"
    last = accuracy.levels[-1]
    line = (
        f"Numerical error of the numbers above: at most {rounded_up(100 * largest_error(result))} %; asked "
        f"{100 * accuracy.tolerance:g} %, {reached} with {last.unknowns:,} unknowns after {len(accuracy.levels)} "
        "meshes. Each ± stands in the report and the tables."
    )
    return [textwrap.fill(line, WIDEST)]


def _spacing_lines(result: Answers) -> list[str]:
    kept = " ".join(spacing_of(result.study, result.cross_section).sentences())
    return [textwrap.fill(line, WIDEST) for line in (kept,)]


def _missed_lines(result: Answers) -> list[str]:
    missed = [entry.name for entry in result.receptors if not entry.within_tolerance]
    missed += [f"zone {zone.name}" for zone in result.zones if not zone.within_tolerance]
    missed += [entry.part for entry in result.losses if not entry.within_tolerance]
    missed += [f"{entry.circuit} {entry.phase}" for entry in result.phases if not entry.within_tolerance]
    return [f"Not within the asked accuracy: {', '.join(missed)}."] if missed else []


def _shown(of: Callable[[Answer], Show]) -> dict[str, Show]:
    """What the answers show of one kind, by what they are on."""
    return {answer.what: partial(_shown_by, answer, of(answer)) for answer in ANSWERS if of(answer) is not nothing}


ALARMS: dict[str, Show] = _shown(lambda answer: answer.alarms)
"""Sentences without which no verdict should be read."""
TABLES: dict[str, Show] = _shown(lambda answer: answer.brief)
"""The tables of each answer, in the order of the report."""
NOTES: dict[str, Show] = _shown(lambda answer: answer.notes) | {
    "accuracy": _accuracy_lines,
    "spacing": _spacing_lines,
    "missed accuracy": _missed_lines,
    "cautions": caution_lines,
}
"""What makes the lines below the tables, in their order."""
