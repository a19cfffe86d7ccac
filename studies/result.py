"""The result of a study: its answers, printed and drawn."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

from studies.answers.answers import Answers
from studies.text.failures import collected, guarded

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Result(Answers):
    """Everything computed for a study."""

    def __str__(self) -> str:
        """The main numbers as tables for a terminal."""
        from studies.report.terminal import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """The same for a notebook."""
        from studies.report.terminal import summary_html

        return summary_html(self)

    def figures(self) -> dict[str, Figure]:
        """Every figure by the name of its file, drawn anew: yours to restyle, show and save.

        One that cannot be drawn is missing, and a warning says so.
        """
        from studies.report.figures import figure_set

        with collected() as failures:
            drawn = {name: guarded(f"figure {name}", draw, None) for name, draw in figure_set(self).items()}
        for failure in failures:
            warnings.warn(str(failure), stacklevel=2)
        return {name: figure for name, figure in drawn.items() if figure is not None}
