"""Every example study: it loads, runs to its tolerance in about ten seconds, and its answer makes physical sense."""

import math
import re
from functools import partial
from pathlib import Path

import pytest

from studies.command import main
from studies.compare.comparison import CaseRow
from studies.compare.local import solved_locally
from studies.compare.output import compare
from studies.compare.plan import plan_of, read_plan
from studies.compare.stated_cases import cases_note
from studies.compare.words import findings
from studies.result import Result
from studies.study.starter import STARTER
from tests.studies.drawn_section import write_drawing
from tests.studies.example_claims import CLAIMS
from tests.studies.solved_examples import EXAMPLES, NAMES, of_examples


def claimed_elsewhere() -> set[str]:
    """Examples of comparisons, routes, orders and the like that other tests name; here they run as they stand."""
    texts = [path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py")]
    return {name for name in NAMES if any(f'"{name}' in text for text in texts)}


def test_every_example_has_its_claim() -> None:
    assert set(CLAIMS) <= set(NAMES)
    assert set(NAMES) <= {*CLAIMS, *claimed_elsewhere()}


@pytest.mark.parametrize("name", NAMES)
def test_the_example_states_its_question(name: str) -> None:
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    assert text.startswith("# The question: ")
    assert "All data are invented." in text


@of_examples()
def test_the_example_runs_to_its_tolerance_and_its_answer_holds(solved: Result) -> None:
    assert solved.accuracy.met
    # identities of the discrete system: rounding of some 1e4 unknowns
    assert solved.checks.power_balance < 1e-9
    assert solved.checks.reciprocity < 1e-9
    # circulation of H outside the parts is first order in the elements; a wrong current is off by 1
    assert solved.checks.ampere_law < 0.05
    name = Path(solved.study.source_name).stem
    if name in CLAIMS:
        CLAIMS[name](solved)


@pytest.mark.parametrize("name", NAMES)
def test_the_example_can_be_checked(name: str, tmp_path: Path) -> None:
    target = tmp_path / "section.png"
    assert main(["check", str(EXAMPLES / f"{name}.toml"), "--out", str(target), "--quiet"]) == 0
    assert target.stat().st_size > 5000  # a drawing, not an empty frame


def test_the_drawing_of_the_example_is_the_one_that_is_written_here(tmp_path: Path) -> None:
    write_drawing(tmp_path / "again.dxf")
    assert (tmp_path / "again.dxf").read_bytes() == (EXAMPLES / "drawn_section.dxf").read_bytes()


@pytest.mark.slow
def test_the_four_arrangements_are_compared_in_four_rows_and_in_words(tmp_path: Path) -> None:
    plan = read_plan(EXAMPLES / "four_arrangements.toml")
    executor = partial(solved_locally, workers=1)
    comparison = compare(plan, tmp_path / "out", executor, lambda message: None).comparison
    flat, touching, trefoil, transposed = comparison.rows
    assert [row.name for row in comparison.rows] == [
        "flat, spaced",
        "flat, touching",
        "trefoil, touching",
        "flat, spaced, transposed",
    ]

    def number(row: CaseRow, name: str) -> float:
        value = row.number(name)
        assert value is not None
        return float(value)

    fields = [number(row, "worst_field_over_limit") for row in (flat, touching, trefoil)]
    assert fields[0] > 1 > fields[1] > fields[2]
    # far away the field goes with the distances of the axes: 2 D against D, both flat, 2 to 1 by line currents in air;
    # steel below weakens both alike, to some per cent
    assert fields[0] / fields[1] == pytest.approx(2, rel=0.1)
    assert flat.entry("worst_field_over_limit").place == "microscope"
    # the same layout in every section: the same loss, field and reactance; equal phases
    for name in ("total_loss_w_per_m", "worst_field_over_limit", "x1_ohm_per_m.F1", "width_m"):
        assert number(transposed, name) == pytest.approx(number(flat, name), rel=1e-9)
    assert number(transposed, "u2_over_u1.F1") == pytest.approx(0, abs=1e-9)
    # a trefoil has almost equal distances to the steel below it, and much of its drop in common
    assert number(trefoil, "u2_over_u1.F1") < 0.5 * number(flat, "u2_over_u1.F1")
    assert number(trefoil, "u0_over_u1.F1") > number(trefoil, "u2_over_u1.F1")
    assert number(transposed, "u2_v_per_m.F1") == pytest.approx(0, abs=1e-9)
    # steel below raises the reactance above that of GMD/GMR in air, by less than its double
    for row in comparison.rows:
        assert 1 < number(row, "x1_ohm_per_m.F1") / (row.entry("x1_ohm_per_m.F1").formula or math.nan) < 2
    assert [row.number("spacing_rules_met") for row in comparison.rows] == [True, False, True, True]
    said = " ".join(findings(comparison))
    assert "Lowest field: “trefoil, touching”" in said
    assert "Most equal phases: “flat, spaced, transposed”" in said
    assert "has the largest phase inequality" not in said
    assert "common to the three phases, V0/V1, is that of “trefoil, touching”" in said


def test_the_starter_compares_the_four_arrangements_of_its_circuit() -> None:
    plan = plan_of(STARTER, "new.toml")
    assert [case.name for case in plan.cases] == [
        "flat, spaced",
        "flat, touching",
        "trefoil, touching",
        "flat, spaced, transposed",
    ]
    assert [case.sections for case in plan.cases] == [1, 1, 1, 3]
    assert "its file states 3 further cases" in cases_note(plan.base)
    # the grid that it comments out is as sound as the rest
    grid = re.sub(r"(?m)^# ", "", STARTER[STARTER.index("# [sweep]") :])
    assert len(plan_of(STARTER[: STARTER.index("# [sweep]")] + grid, "new.toml").cases) == 4 + 4 * 2
