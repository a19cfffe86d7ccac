"""No word of a page or a terminal changes unseen: a change detector of own output, no check of its truth.

`said.txt` holds every text that the examples, a comparison and a study that asks for everything bring about, numbers
as #. Read what a change does to it, and accept it by `TRAYFIELD_ACCEPT_WORDS=1 pytest tests/studies/test_said.py`.

`invented.json` holds marks of everything that is said of results with invented numbers, the numbers with it. What a
change does to them is seen where `TRAYFIELD_WORDS_TO=FOLDER` has the texts written before and after it.
"""

import dataclasses
import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from studies.compare.criteria import trade_offs
from studies.compare.report import comparison_document, write_comparison_report
from studies.compare.words import comparison_summary
from studies.output.numbers import results_document
from studies.output.tables import tables
from studies.report.contents import document, write_report
from studies.report.terminal import summary, summary_html
from studies.result import Result
from studies.text.blocks import Block, Section
from studies.text.failures import Failure, collected
from studies.text.table import Table
from tests.studies.everything_asked import solve_everything
from tests.studies.invented import all_figures, invented
from tests.studies.invented_comparison import CASES, invented_comparison
from tests.studies.invented_studies import invented_studies
from tests.studies.said import digest, said_by_page, said_by_terminal
from tests.studies.solved_examples import of_examples
from tests.studies.test_comparison_cells import compared

TEXTS = Path(__file__).with_name("said.txt")
DIGESTS = Path(__file__).with_name("said.json")
INVENTED = Path(__file__).with_name("invented.json")
ACCEPTED = "TRAYFIELD_ACCEPT_WORDS" in os.environ
VERSIONS = {"trayfield": "1.2.3"}
SEEDS = 5


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


def everything_said(result: Result, seed: int) -> dict[str, str]:
    """Everything that is said of a result, with its numbers, by where it is said."""
    figures = all_figures(result) if seed % 2 else {}
    with collected() as failures:
        found = sections(document(result, figures, VERSIONS))
        found |= {"terminal": summary(result), "notebook": summary_html(result), "tables": in_lines(tables(result))}
        if seed == 1:  # something failed
            found["head"] = head(write_report(result, {}, VERSIONS))
            numbers = results_document(result)
            found["results.json"] = in_lines({key: numbers[key] for key in numbers if key != "software"})
    assert not failures, failures
    return found


def sections(page: Sequence[Section]) -> dict[str, str]:
    """The contents of a report by its sections."""
    return {f"report, {section.title}": in_lines(dataclasses.asdict(as_read(section))) for section in page}


def as_read(block: Block) -> Block:
    """The block with the cells of its tables in place of what makes them."""
    if isinstance(block, Section):
        return dataclasses.replace(block, blocks=tuple(map(as_read, block.blocks)))
    return block.full if isinstance(block, Table) else block


def head(page: str) -> str:
    """What stands above the sections."""
    return page.partition("<body>")[2].partition("</header>")[0]


def in_lines(contents: object) -> str:
    return json.dumps(contents, indent=1, ensure_ascii=False, default=str)


def held_with_numbers(name: str, said: Mapping[str, str]) -> None:
    """Hold what is said, by where, against marks of what was."""
    if folder := os.environ.get("TRAYFIELD_WORDS_TO"):
        for where, text in said.items():
            Path(folder, f"{name}, {where}.txt".replace("/", " ")).write_text(text, encoding="utf-8")
    known = json.loads(INVENTED.read_text(encoding="utf-8")) if INVENTED.exists() else {}
    marks = {where: digest([text]) for where, text in said.items()}
    if ACCEPTED:
        text = json.dumps({**known, name: marks}, indent=1, sort_keys=True, ensure_ascii=False)
        INVENTED.write_text(f"{text}\n", encoding="utf-8")
        return
    earlier = known.get(name, {})
    other = [where for where in {**marks, **earlier} if marks.get(where) != earlier.get(where)]
    assert not other, f"not as it was: {', '.join(other)}; TRAYFIELD_WORDS_TO=FOLDER writes what it is now"


@pytest.mark.parametrize("name", invented_studies())
def test_an_invented_result_reads_as_it_did(name: str) -> None:
    study = invented_studies()[name]
    said: dict[str, str] = {}
    for seed in range(SEEDS):
        for where, text in everything_said(invented(study, seed), seed).items():
            said[where] = f"{said.get(where, '')}\nresult {seed}\n{text}\n"
    held_with_numbers(name, said)


@pytest.mark.parametrize("name", CASES)
def test_an_invented_comparison_reads_as_it_did(name: str) -> None:
    comparison = invented_comparison(CASES[name])
    figures = {"cases": b"cases", **{stem: stem.encode() for stem in trade_offs(comparison.solved)}}
    with collected() as failures:
        said = sections(comparison_document(comparison, figures, (Failure("sheet", "OSError: full"),)))
        said |= {"terminal": comparison_summary(comparison), "head": head(write_comparison_report(comparison, {}))}
    assert not failures, failures
    held_with_numbers(f"comparison, {name}", said)
