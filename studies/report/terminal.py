"""A result as its main tables and sentences, for a terminal or a notebook."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from html import escape
from typing import Any

from studies.answers.answer import Answer, Shown, nothing
from studies.answers.answers import Answers
from studies.answers.cautions.words import USUAL
from studies.answers.registry import ANSWERS
from studies.report.summary import without_verdict, worst_first
from studies.section.spacing import spacing_of
from studies.text.blocks import Text
from studies.text.failures import Failure, collected, guarded, merged
from studies.text.html import as_html
from studies.text.numbers import rounded_up, stated
from studies.text.terminal import as_text
from studies.text.units import PER_CENT

Show = Callable[[Answers], Sequence[Any]]


def summary(result: Answers) -> str:
    """The main numbers of a result as text: fields, losses, currents and phases, each beside its formula."""
    first, blocks = _contents(result)
    return "\n\n".join(map(as_text, (_title(result), *first, *blocks)))


def summary_html(result: Answers) -> str:
    """The same as a fragment of HTML."""
    first, blocks = _contents(result)
    head = "".join(f"<p><strong>{escape(line)}</strong></p>" for line in (_title(result), *first))
    return f"<div>{head}{''.join(map(as_html, blocks))}</div>"


def _title(result: Answers) -> str:
    return f"{result.study.title} ({result.study.frequency:g} Hz)"


def _contents(result: Answers) -> tuple[list[str], list[Shown]]:
    """Alarms and verdicts; then cautions, tables and the sentences after them.

    A block that fails costs no other; the last block lists all failures, those before included.
    """
    with collected() as found:
        alarms, verdicts = _every(ALARMS, "alarms of the summary", result), _every(VERDICTS, "verdicts", result)
        first = [*alarms, *worst_first(verdicts)] or list(without_verdict(result))
        cautions = guarded("cautions of the summary", partial(_cautions, result), [])
        groups = [guarded(f"table “{what}”", partial(make, result), ()) for what, make in TABLES.items()]
        tables = [block for group in groups for block in group if isinstance(block, str | Text) or block.rows]
        notes = _every(NOTES, "lines of the summary", result)
    return first, [*cautions, *tables, *notes, *_failures(result, merged(result.failures, found))]


def _every(makers: Mapping[str, Show], what: str, result: Answers) -> list[Any]:
    """All sentences of one kind that are not empty."""
    groups = [guarded(what, partial(make, result), ()) for make in makers.values()]
    return [block for group in groups for block in group if block]


def _shown_by(answer: Answer, show: Callable[[Answers], Sequence[Any]], result: Answers) -> Sequence[Any]:
    return show(answer.seen(result))


def _failures(result: Answers, failures: Sequence[Failure]) -> list[Shown]:
    """The places without a verdict, and everything that failed."""
    blocks: list[Shown] = []
    if unjudged := result.unjudged():
        blocks.append(f"NO VERDICT: {', '.join(unjudged)}.")
    if failures:
        opening = "NOT COMPLETE: this failed, everything else stands."
        blocks.append(Text(tuple(map(str, failures)), "list", opening))
    return blocks


def _accuracy(result: Answers) -> list[str]:
    accuracy = result.accuracy
    reached = "met" if accuracy.met else "NOT met"
    last = accuracy.levels[-1]
    line = (
        f"Numerical error of the numbers above: at most {rounded_up(largest_error(result), PER_CENT)} %; asked "
        f"{stated(accuracy.tolerance, PER_CENT)}, {reached} with {last.unknowns:,} unknowns after "
        f"{len(accuracy.levels)} meshes. Each ± stands in the report and the tables."
    )
    return [line]


def largest_error(result: Answers) -> float:
    """Largest error estimate over its number, of all numbers that have one and are not zero. [-]

    Receptors, zones, limit distances, impedances of the phases, the loss of each kind, fault forces, the route, and all
    that was refined.
    """
    pairs = [(entry.b_rms_t, entry.b_rms_error_t) for entry in result.receptors]
    pairs += [(zone.b_max_rms_t, zone.b_max_rms_error_t) for zone in result.zones]
    pairs += [(row.from_outline_m or 0.0, row.error_m or 0.0) for row in result.limit_distances]
    pairs += [(abs(row.z_ohm_per_m or 0.0), row.z_error_ohm_per_m or 0.0) for row in result.phases]
    pairs += [(entry.peak_force_n_per_m, entry.peak_force_error_n_per_m) for entry in result.faults]
    for kind in dict.fromkeys(loss.kind for loss in result.losses):
        own = [loss.loss_error_w_per_m for loss in result.losses if loss.kind == kind]
        pairs.append((result.loss_total(kind), math.fsum(own)))
    if result.route is not None:
        pairs += [(row.b_rms_t, row.b_rms_error_t) for row in result.route.fields]
        pairs.append((result.route.loss_w, result.route.loss_error_w))
    ratios = [error / value for value, error in pairs if value > 0 and math.isfinite(error)]
    return max(result.accuracy.worst_error, *ratios) if ratios else result.accuracy.worst_error


def _spacing(result: Answers) -> list[str]:
    return [" ".join(spacing_of(result.study, result.cross_section).sentences())]


def _missed(result: Answers) -> list[str]:
    missed = [entry.name for entry in result.receptors if not entry.within_tolerance]
    missed += [f"zone {zone.name}" for zone in result.zones if not zone.within_tolerance]
    missed += [entry.part for entry in result.losses if not entry.within_tolerance]
    missed += [f"{entry.circuit} {entry.phase}" for entry in result.phases if not entry.within_tolerance]
    return [f"Not within the asked accuracy: {', '.join(missed)}."] if missed else []


def _cautions(result: Answers) -> list[Text]:
    """The first sentence of each caution that this study calls for."""
    own = tuple(re.split(r"(?<=\.)\s", caution)[0] for caution in result.cautions if caution not in USUAL)
    opening = "Cautions of this study; the report has them in full, with those of every study:"
    return [Text(own, "list", opening)] if own else []


def _shown(of: Callable[[Answer], Show]) -> dict[str, Show]:
    """Blocks of one kind, by the answers' words."""
    return {answer.what: partial(_shown_by, answer, of(answer)) for answer in ANSWERS if of(answer) is not nothing}


ALARMS: dict[str, Show] = _shown(lambda answer: answer.alarms)
"""Sentences without which no verdict should be read."""
VERDICTS: dict[str, Show] = _shown(lambda answer: answer.verdicts)
"""Whether limits are met, in one or two sentences."""
TABLES: dict[str, Show] = _shown(lambda answer: answer.brief)
"""The tables of each answer, in the order of the report."""
NOTES: dict[str, Show] = _shown(lambda answer: answer.notes) | {
    "accuracy": _accuracy,
    "spacing": _spacing,
    "missed accuracy": _missed,
}
"""The sentences below the tables, in their order."""
