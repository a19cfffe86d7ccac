"""What an answer is: how it is computed, what it shows, and where it stands among the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from studies.answers.answers import Answers
from studies.answers.sheet_row import SheetRow
from studies.section.lines import SectionMaps
from studies.solve.levels import AccuracyResult
from studies.solve.solution import Solution
from studies.solve.two_meshes import Pair
from studies.study.file import Study
from studies.text.blocks import Section, Text
from studies.text.progress import Progress
from studies.text.table import Table

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Drawing

Pictures = Mapping[str, bytes]
"""PNG of each figure by its file stem."""
Draw = Callable[[], "Drawing"]
Shown = Table[Any] | Text | str
"""A table, a list or a paragraph, which a terminal wraps and a notebook marks up."""


@dataclass(frozen=True)
class Asked:
    """What answers are computed from."""

    study: Study
    solutions: tuple[Solution, ...]
    """One for each frequency, first that of the study's own."""
    report_progress: Progress
    maps: Pair[SectionMaps] | None = None
    """Of the study's own cross-section on the last two meshes, if it has a route."""
    refined: Mapping[str, Any] = field(default_factory=dict)
    """Rows that the refinement has computed already, by key."""
    done: dict[str, Any] = field(default_factory=dict)
    """Rows of the answers so far, by key."""

    @property
    def base(self) -> Solution:
        """The solution of the study's own frequency."""
        return self.solutions[0]

    @property
    def accuracy(self) -> AccuracyResult:
        """The accuracy of the frequency with the largest error."""
        return max((solution.accuracy for solution in self.solutions), key=lambda accuracy: accuracy.worst_error)


def nothing(_: Answers) -> Sequence[Any]:
    """What an answer shows where it has nothing to show."""
    return ()


def no_figures(_: Answers) -> Mapping[str, Draw]:
    """The same of figures."""
    return {}


@dataclass(frozen=True)
class Answer:
    """One thing that a study may ask.

    Everything it shows is made from its own rows, those of the answers in `sees`, and what all share: study,
    cross-section, accuracy and fields.
    """

    key: str
    """Name on the result and in results.json."""
    what: str
    """In words, as a failure names it."""
    compute: Callable[[Asked], Any]
    """Its rows; of an answer that amends others, their rows by key."""
    empty: Any = ()
    """In place of rows that could not be computed."""
    needs: tuple[str, ...] = ()
    """Answers that are computed before it."""
    amends: tuple[str, ...] = ()
    """Answers whose rows it completes; it has none of its own."""
    kept: bool = True
    """Whether results.json holds it; others are only for figures and later answers."""
    sees: tuple[str, ...] = ()
    """Other answers that its words and figures show."""
    files: Callable[[Any], Mapping[str, Sequence[object] | Callable[[], str]]] | None = None
    """Tables for files by name, as rows or as what writes the text; if None, its rows under its key."""
    sections: Mapping[str, Callable[[Answers, Pictures], Section | None]] = field(default_factory=dict)
    """Its sections of the report by title; one that has nothing to show is None."""
    brief: Callable[[Answers], Sequence[Shown]] = nothing
    """Its tables in a terminal and a notebook."""
    notes: Callable[[Answers], Sequence[str]] = nothing
    """Its lines below all tables there."""
    verdicts: Callable[[Answers], Sequence[str]] = nothing
    """Its sentences at the head of the report."""
    alarms: Callable[[Answers], Sequence[str]] = nothing
    """Sentences without which no verdict should be read: below those of the report, and first in a terminal."""
    sheet: Callable[[Answers], Sequence[SheetRow]] = nothing
    """Its lines of the sheet to sign, the first page of the report."""
    lines: Callable[[Answers], Sequence[str]] = nothing
    """Its notes to the sheet: what no row of it says."""
    figures: Callable[[Answers], Mapping[str, Draw]] = no_figures
    """Its figures by file stem, drawn when called."""

    def seen(self, answers: Answers) -> Answers:
        """The answers as this one may show them: others than its own and those in `sees` are hidden."""
        return cast(Answers, _Seen(self, answers))


SHARED = frozenset(
    (
        *("study", "cross_section", "accuracy", "checks", "fields", "drive", "loss_fields", "element_fields"),
        *("unjudged", "loss_total", "failures"),
    )
)
"""What every answer may show beside its own rows."""


class _Seen:
    """Answers of which one answer sees a part."""

    def __init__(self, answer: Answer, answers: Answers) -> None:
        self._answer, self._answers = answer, answers

    def __getattr__(self, name: str) -> object:
        own = self._answer
        if name in SHARED or name == own.key or name in own.sees or name in own.amends:
            return getattr(self._answers, name)
        raise AttributeError(f"the answer {own.key} shows {name}, which is not in its `sees`")


def computed(
    answers: Sequence[Answer], asked: Asked, guard: Callable[[str, Callable[[], Any], Any], Any]
) -> dict[str, Any]:
    """Rows of all answers by key, each after those that it needs; one that fails is empty and costs no other.

    `answers`: in the order of the report.
    `asked`: what they are computed from.
    `guard`: takes words, what computes and what takes its place; `studies.text.failures.guarded`.
    """
    known = {answer.key: answer for answer in answers}

    def compute(answer: Answer) -> None:
        if answer.key in asked.done:
            return
        for key in (*answer.needs, *answer.amends):
            compute(known[key])
        asked.done[answer.key] = answer.empty
        rows = guard(answer.what, lambda: answer.compute(asked), answer.empty)
        if answer.amends:
            asked.done.update(rows or {})
        else:
            asked.done[answer.key] = rows

    for answer in answers:
        compute(answer)
    return asked.done
