"""Heads, rows and lines of a result's text: doubts and failures, faults, charging, and formulas of losses in metal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.report.cautions import ALWAYS
from studies.text.failures import Failure
from studies.text.terminal import WIDEST


def failure_lines(result: Answers, failures: Sequence[Failure]) -> list[str]:
    """What has no verdict, and everything that failed."""
    lines = []
    if unjudged := result.unjudged():
        lines.append(textwrap.fill(f"NO VERDICT: {', '.join(unjudged)}.", WIDEST))
    if failures:
        names = [textwrap.fill(str(failure), WIDEST, subsequent_indent="  ") for failure in failures]
        lines.append("\n".join(["NOT COMPLETE: this failed, everything else stands.", *names]))
    return lines


def caution_lines(result: Answers) -> list[str]:
    """The first sentence of each caution that this study calls for."""
    own = (re.split(r"(?<=\.)\s", caution)[0] for caution in result.cautions if caution not in ALWAYS)
    lines = [textwrap.fill(line, WIDEST, initial_indent="  ", subsequent_indent="    ") for line in own]
    return ["\n".join(["Cautions of this study; the report has them in full, with those of every study:", *lines])]
