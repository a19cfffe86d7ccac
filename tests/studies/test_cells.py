"""What a reader reads: every cell of every table equals its result field in the unit of its heading, over all examples.

Each example is read as it was solved, and once more with every number replaced by another (`scrambled`), so that two
columns, two rows or two fields that happen to be equal cannot hide that they were mixed up.
"""

from collections.abc import Iterable, Iterator

import pytest

from studies.answers.figure_names import traverse_stems
from studies.output.numbers import results_text
from studies.output.tables import tables
from studies.report.contents import write_report
from studies.report.terminal import summary, summary_html
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.text.failures import collected
from tests.studies.cells import FLUX, Known, err, mistakes, num
from tests.studies.cells_of_files import csv_mistakes, json_mistakes
from tests.studies.cells_of_page import page_tables
from tests.studies.cells_of_sentences import (
    lead_mistakes,
    lines_of_terminal,
    said_in_terminal,
    said_of,
    sentence_mistakes,
)
from tests.studies.cells_of_terminal import terminal_tables
from tests.studies.reading_cells import (
    ReadTable,
    leads_of_page,
    lines_of_page,
    read_number,
    read_quantity,
    tables_of_page,
    tables_of_terminal,
)
from tests.studies.scrambled import scrambled
from tests.studies.solved_examples import of_examples

VERSIONS = {"trayfield": "1.2.3"}
RARE = """title = "What no example has: hysteresis, parallel cables along a run, forces beside steel"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"

[materials.lossy-steel]
conductivity = "6.0 MS/m"
relative_permeability = 300
loss_angle = "15 deg"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3", "L1"]
current = "600 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "200 mm"
inside_height = "30 mm"
thickness = "3 mm"
material = "lossy-steel"

[[receptors]]
name = "bench"
at = ["1 m", "0.5 m"]
limit = "0.5 uT"

[[zones]]
name = "room"
window = [["1 m", "-1 m"], ["2 m", "1 m"]]
limit = "5 uT"

[[route]]
name = "one"
length = "30 m"

[[route]]
name = "two"
length = "50 m"
phases = { F1 = ["L2", "L1", "L3", "L1"] }

[[faults]]
peak_current = "40 kA"

[accuracy]
tolerance = "20 %"
"""


def both(result: Result) -> Iterator[tuple[str, Result]]:
    """A result as it was solved, and scrambled."""
    yield "as solved", result
    yield "scrambled", scrambled(result)


def read(found: Iterable[ReadTable], known: Iterable[Known], where: str) -> list[str]:
    """Mistakes of all tables of a page or a terminal, which must be those that are known, in this order."""
    read_tables, known_tables = list(found), list(known)
    names = [table.caption or table.head[0][0] for table in read_tables]
    expected = [table.caption for table in known_tables]
    for k, (name, start) in enumerate(zip([*names, "(none)"], [*expected, "(none)"], strict=False)):
        if name != start:
            return [
                f"{where}: table {k + 1} is “{name}” where the tests know “{start}”; see tests/studies/cells_of_*.py"
            ]
    pairs = zip(read_tables, known_tables, strict=True)
    return [sentence for table, own in pairs for sentence in mistakes(table, own, where)]


def told(sentences: Iterable[str]) -> str:
    """The first of many mistakes."""
    listed = list(sentences)
    more = f"\n… and {len(listed) - 12} more" if len(listed) > 12 else ""
    return "\n".join(listed[:12]) + more


@pytest.fixture(scope="module")
def rare() -> Result:
    return run(loads(RARE))


def mistakes_of(solved: Result) -> Iterator[str]:
    """Everything that page, terminal, notebook and files of a result show that they should not."""
    yield from (f"failed after the solve: {failure}" for failure in solved.failures)
    for way, result in both(solved):
        with collected() as failures:
            html = write_report(result, dict.fromkeys(traverse_stems(result), b"picture"), VERSIONS)
            summary(result)
            results_text(result)
        yield from (f"failed in writing, {way}: {failure}" for failure in failures)
        yield from read(tables_of_page(html), page_tables(result), f"report, {way}")
        yield from sentence_mistakes(lines_of_page(html), said_of(result))
        yield from lead_mistakes(leads_of_page(html), result)
        yield from read(tables_of_terminal(summary(result)), terminal_tables(result), f"terminal, {way}")
        yield from sentence_mistakes(lines_of_terminal(summary(result)), said_in_terminal(result))
        yield from read(tables_of_page(summary_html(result)), terminal_tables(result), f"notebook, {way}")
        yield from csv_mistakes(result, tables(result))
        yield from json_mistakes(result, results_text(result, ["report.html"]))


@of_examples()
def test_every_cell_verdict_and_key_is_its_field_in_the_unit_of_its_heading(solved: Result) -> None:
    found = list(mistakes_of(solved))
    assert not found, told(found)


def test_so_is_what_no_example_has(rare: Result) -> None:
    found = list(mistakes_of(rare))
    assert not found, told(found)
    page = write_report(rare, {}, VERSIONS)
    for heading in ("Of it hysteresis", "Parallel cables along the run", "Without steel"):
        assert heading in page


def test_a_number_is_read_with_its_last_digit() -> None:
    for text, value, half in (
        ("2.250", 2.25, 0.0005),
        ("−0.5", -0.5, 0.05),
        ("+12", 12, 0.5),
        ("12\u2009300", 12300, 50),
        ("1.2\u202f×\u202f10⁻⁵", 1.2e-5, 0.5e-6),
    ):
        read_back = read_number(text)
        assert read_back is not None
        assert (read_back.value, read_back.half) == pytest.approx((value, half), rel=1e-12)
    assert read_number("–") is None
    number, error = read_quantity("2.2540 µT ± 0.0003", "T") or (None, None)
    assert number is not None
    assert error is not None
    assert (number.value, error.value) == pytest.approx((2.254e-6, 3e-10), rel=1e-12)
    assert read_quantity("2.2540 µT", "A") is None


def test_an_unknown_heading_a_wrong_unit_and_a_wrong_cell_are_told_in_a_sentence() -> None:
    known = Known("Fields", ((1.5e-6, 2e-9),), (num("Field", FLUX, lambda row: row[0]), err(FLUX, lambda row: row[1])))
    head, rows = (("Field", "µT"), ("±", "µT")), (("1.500", "0.002"),)
    assert mistakes(ReadTable("Fields", head, rows), known, "page") == []
    for table, told_of in (
        (ReadTable("Fields", (("Flux", "µT"), head[1]), rows), "heading “Flux” stands where the tests know “Field”"),
        (ReadTable("Fields", (("Field", "W"), head[1]), rows), "unit “W” is none of"),
        (ReadTable("Fields", (("Field", "nT"), head[1]), rows), "“1.500” where 1500.0 nT is expected"),
        (ReadTable("Fields", head, (("1.503", "0.002"),)), "“1.503” where 1.5 µT is expected"),
        (ReadTable("Fields", head, (("1.500", "0.001"),)), "“0.001” where 0.002 µT is expected"),
        (ReadTable("Fields", head, (*rows, *rows)), "2 rows, 1 expected"),
    ):
        (sentence,) = mistakes(table, known, "page")
        assert told_of in sentence
