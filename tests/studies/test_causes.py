"""Differences by cause: study files without each cause, the closed form of sharing, the sum, and every cell."""

from collections.abc import Iterator
from dataclasses import asdict, replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from studies.answers.causes.rows import CAUSES, DifferenceSplit, splits
from studies.answers.causes.words import cause_tables
from studies.formulas.inductance import solid_mean_radius
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import parallel_currents, phase_impedance_matrix
from studies.report.summary import verdict_lines
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.text.table import full_grid
from tests.studies.cells import FLUX, LOSS, Known, err, num, words
from tests.studies.solved_examples import EXAMPLES, of_examples

EXAMPLE = "causes_of_differences"
TEXT = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8").replace("\n[causes]\n", "")
TITLES: dict[str, tuple[str, str | tuple[str, ...]]] = {
    "fields": ("Why the fields differ from line currents", FLUX),
    "losses": ("Why the losses of the conductors differ from IEC 60287-1-1", LOSS),
    "inductances": ("Why the inductances differ from GMD and GMR", "mH/km"),
}
HEADINGS = ("Sharing", "Proximity, skin", "Screens", "Tray conduction", "Tray permeability")


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    for of, (title, unit) in TITLES.items():
        rows = [row for row in splits(result.causes) if row.of == of]
        columns: list[Any] = [words("Of", lambda row: row.place), num("Formula", unit, lambda row: row.formula)]
        for heading, cause in zip(HEADINGS, CAUSES, strict=True):
            columns.append(num(heading, unit, partial(part, cause)))
            columns += [err(unit, partial(part, f"{cause}_error"))] if full else []
        columns.append(num("Computed", unit, lambda row: row.computed))
        if rows:
            yield Known(title, rows, tuple(columns))


def part(name: str, row: DifferenceSplit) -> float:
    return float(getattr(row, name))


def up_to(row: DifferenceSplit, cause: str) -> float:
    """Formula with everything up to a cause."""
    return row.formula + row.rest + sum(row.parts()[: CAUSES.index(cause) + 1])


def numbers(result: Result) -> list[float]:
    """Fields, loss of the conductors and positive-sequence inductance, as the rows of causes."""
    fields = [receptor.b_rms_t for receptor in result.receptors]
    return [*fields, result.loss_total("conductor"), result.sequence_impedance[0].z1_ohm_per_m.imag / (100 * np.pi)]


@of_examples([EXAMPLE])
def test_formula_parts_and_rest_add_up_to_what_stands_in_the_other_tables(solved: Result) -> None:
    assert [row.of for row in splits(solved.causes)] == ["fields", "fields", "losses", "inductances"]
    for row, own in zip(splits(solved.causes), numbers(solved), strict=True):
        assert row.computed == pytest.approx(own, rel=1e-9)
        assert row.formula + sum(row.parts()) + row.rest == pytest.approx(row.computed, rel=1e-12)
    for row, receptor in zip(splits(solved.causes), solved.receptors, strict=False):
        assert row.formula == pytest.approx(receptor.line_formula_b_rms_t, rel=1e-12)
        # uniform round conductors are line currents outside: what is left is the mesh alone
        assert abs(row.rest) < 1e-5 * row.formula
    assert abs(splits(solved.causes)[3].rest) < 1e-3 * splits(solved.causes)[3].formula


@of_examples([EXAMPLE])
@pytest.mark.parametrize(
    ("cause", "old", "new"),
    [
        (
            "tray_conduction",
            '"mild-steel"',
            '"like-steel"\n\n[materials.like-steel]\nconductivity = "SIGMA MS/m"\nrelative_permeability = 1',
        ),
        ("screens", TEXT[TEXT.index("[[trays]]") : TEXT.index("[[receptors]]")], ""),
    ],
)
def test_a_file_without_a_cause_has_the_numbers_up_to_it(solved: Result, cause: str, old: str, new: str) -> None:
    sigma = solved.cross_section.part("T1").material.conductivity / 1e6
    assert old in TEXT
    other = run(loads(TEXT.replace(old, new.replace("SIGMA", f"{sigma:.9g}"))))
    for row, own in zip(splits(solved.causes), numbers(other), strict=True):
        # another mesh for the same: both fields have errors of about 0.1 %, the parts are of 2 to 40 %
        assert up_to(row, cause) == pytest.approx(own, rel=1.5e-3), row.place


@of_examples([EXAMPLE])
def test_without_screens_and_with_uniform_density_the_numbers_are_closed_forms(solved: Result) -> None:
    bare = TEXT.replace('screen = { material = "copper", thickness = "0.25 mm" }\n', "")
    bare = bare.replace('[[bonds]]\nparts = ["F1 screens"]\n', "").replace('"3.4 mm"', '"3.65 mm"')
    other = run(loads(bare.replace(TEXT[TEXT.index("[[trays]]") : TEXT.index("[[receptors]]")], "")))
    for row, own in zip(splits(solved.causes), numbers(other), strict=True):
        assert up_to(row, "proximity_and_skin") == pytest.approx(own, rel=1.5e-3), row.place
    parts = solved.cross_section.conductors()
    axes = np.array([part.cable.axis for part in parts if part.cable])
    radii = [part.cable.layers.conductor_radius for part in parts if part.cable]
    dc = np.array([part.dc_resistance for part in parts])
    matrix = phase_impedance_matrix(axes, solid_mean_radius(radii), dc, 50.0, 1.0)
    phases = [phase.current for phase in solved.cross_section.phases]
    currents = parallel_currents(matrix, [0, 1, 2, 0, 1, 2], phases)
    for row, receptor in zip(splits(solved.causes), solved.receptors, strict=False):
        exact = np.linalg.norm(line_field([[receptor.x_m, receptor.y_m]], axes, currents)[0])
        assert up_to(row, "sharing") == pytest.approx(float(exact), rel=1e-4)
    equal = np.repeat(np.abs(phases)[:, None] / 2, 2, axis=1)
    shared = float(np.sum(np.abs(currents) ** 2 * dc))
    assert splits(solved.causes)[2].sharing == pytest.approx(shared - float(np.sum(equal**2)) * dc[0], rel=1e-3)


def test_only_what_is_asked_is_split_and_what_is_not_there_has_no_part() -> None:
    bare = TEXT.replace(TEXT[TEXT.index("[[trays]]") : TEXT.index("[[receptors]]")], "").replace('"2 %"', '"10 %"')
    result = run(loads(bare + '\n[causes]\nof = ["losses"]\n'))
    (row,) = splits(result.causes)
    numbers_of = asdict(row)
    assert (row.of, row.place) == ("losses", "all conductors")
    assert [numbers_of[cause] for cause in CAUSES[3:]] == [0.0, 0.0]
    assert [numbers_of[f"{cause}_error"] for cause in CAUSES[3:]] == [0.0, 0.0]
    assert row.sharing > 0  # the same loss at equal currents is the least there is
    assert run(loads(bare)).causes == ()


@of_examples([EXAMPLE])
def test_what_the_solves_leave_over_of_a_cause_reads_zero(solved: Result) -> None:
    causes = tuple(
        replace(row, b_rms_t=-2e-14) if row.of == "fields" and row.cause == "screens" else row for row in solved.causes
    )
    table = next(iter(cause_tables(replace(solved, causes=causes))))
    screens = [column.heading for column in full_grid(table).columns].index("Screens")
    assert [float(str(row[screens])) for row in full_grid(table).rows] == [0.0, 0.0]


@of_examples(["causes_of_differences"])
def test_the_largest_difference_and_its_cause_lead_the_report_if_they_are_asked(solved: Result) -> None:
    first, last = verdict_lines(solved)
    assert first.startswith("Largest difference of fields from the formula: instrument: 1.57\u202fµT computed, 3.60")
    assert last.startswith("No limit is stated.")
