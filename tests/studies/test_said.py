"""No word of a page or a terminal changes unseen: a change detector of own output, no check of its truth.

`said.txt` holds every text that the examples, a comparison and a study that asks for everything bring about, numbers
as #. Read what a change does to it, and accept it by `TRAYFIELD_ACCEPT_WORDS=1 pytest tests/studies/test_said.py`.
"""

import json
import os
from pathlib import Path

import pytest

from studies.report.comparison import write_comparison_report
from studies.report.contents import write_report
from studies.results import Result
from studies.summary import summary, summary_html
from studies.sweep.summary import summary as comparison_summary
from tests.studies.everything_asked import solve_everything
from tests.studies.said import digest, said_by_page, said_by_terminal
from tests.studies.solved_examples import of_examples
from tests.studies.test_comparison_cells import compared

TEXTS = Path(__file__).with_name("said.txt")
DIGESTS = Path(__file__).with_name("said.json")
ACCEPTED = "TRAYFIELD_ACCEPT_WORDS" in os.environ
VERSIONS = {"trayfield": "1.2.3"}


def of_result(result: Result) -> list[str]:
    """Everything that is said of a result."""
    page = said_by_page(write_report(result, {}, VERSIONS))
    return [*page, *said_by_terminal(summary(result)), *said_by_page(summary_html(result))]


def held(name: str, lines: list[str]) -> None:
    """Hold texts against those that are known."""
    known = set(TEXTS.read_text(encoding="utf-8").splitlines()) if TEXTS.exists() else set()
    digests = json.loads(DIGESTS.read_text(encoding="utf-8")) if DIGESTS.exists() else {}
    if ACCEPTED:
        TEXTS.write_text("\n".join(sorted(known | set(lines))) + "\n", encoding="utf-8")
        DIGESTS.write_text(json.dumps({**digests, name: digest(lines)}, indent=1, sort_keys=True) + "\n")
        return
    unknown = [line for line in lines if line not in known]
    assert not unknown, "new texts:\n" + "\n".join(unknown[:10])
    assert digest(lines) == digests.get(name), f"{name}: a text is missing, comes twice or stands elsewhere"


@of_examples()
def test_an_example_says_what_it_said(solved: Result, request: pytest.FixtureRequest) -> None:
    held(request.node.callspec.id, of_result(solved))


def test_a_study_that_asks_for_everything_says_what_it_said() -> None:
    held("everything asked", of_result(solve_everything().result))


def test_a_comparison_says_what_it_said() -> None:
    comparison = compared()
    page = said_by_page(write_comparison_report(comparison, {}))
    held("comparison", [*page, *said_by_terminal(comparison_summary(comparison))])
