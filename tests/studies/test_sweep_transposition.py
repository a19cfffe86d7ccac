"""Runs whose phases are transposed: what a study says of them, what is solved, and what is made of it."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from studies.compare.case import Case
from studies.compare.case_key import case_key
from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.comparison import CaseRow, comparison_of
from studies.compare.execute import execute
from studies.compare.measured import Measured
from studies.compare.measured_run import along, measured_case
from studies.compare.plan import plan_of
from studies.compare.store import FILE, CaseOutcome, Store
from studies.output.numbers import software_versions
from studies.section.cross_section import cross_section
from studies.section.spacing import width_used
from studies.section.turning import cyclic_orders
from studies.study.reading import loads_data
from studies.text.problems import StudyError
from tests.studies.sweep_studies import PAIR, TRIPLE, with_variants

pytestmark = pytest.mark.usefixtures("coarse_mesh")

ORDERS = [
    'name = "second"\nset = { "circuits.F1.phases" = ["L2", "L3", "L1"] }',
    'name = "third"\nset = { "circuits.F1.phases" = ["L3", "L1", "L2"] }',
]
TRANSPOSED = 'name = "transposed"\ntranspose = ["F1"]'

# --- three cases that are one run ---------------------------------------------------------------------------------


def test_three_cyclic_orders_are_a_transposed_run_as_well():
    cases = plan_of(with_variants(*ORDERS, study=TRIPLE)).cases
    assert [case.name for case in cases] == ["base study", "second", "third", "base study, transposed"]
    assert cases[-1].origin == "transposed"
    assert cases[-1].changes == ("equal thirds of “base study”, “second” and “third”",)
    stated = plan_of(with_variants(TRANSPOSED, study=TRIPLE)).cases[1]
    assert cases[-1].key == stated.key


@pytest.mark.parametrize(
    "variants",
    [
        ORDERS[:1],
        [ORDERS[0], 'name = "third"\nset = { "circuits.F1.phases" = ["L2", "L1", "L3"] }'],
        [ORDERS[0], ORDERS[1].replace("set = {", 'set = { "circuits.F1.spacing" = "40 mm",')],
        [TRANSPOSED, *ORDERS],
    ],
)
def test_other_cases_are_none(variants):
    cases = plan_of(with_variants(*variants, study=TRIPLE)).cases
    assert len(cases) == 1 + len(variants)
    assert all(case.origin != "transposed" for case in cases)


def test_a_transposed_run_has_mean_losses_the_worst_field_and_keeps_spacings_only_everywhere():
    def section(field: float, loss: float, met: bool, error: float) -> Measured:
        known = {
            "worst_field_over_limit": CaseNumber(1e6 * field, 1e6 * error, 2e6 * field, f"place {field:g}"),
            "b_rms_t.desk": CaseNumber(field, error * field),
            "tray_loss_w_per_m": CaseNumber(loss, error * loss, 2 * loss),
            "conductor_loss_w_per_m": CaseNumber(loss, 0.0, loss if met else None),
            "spacing_rules_met": CaseNumber(met),
            "worst_error": CaseNumber(error),
        }
        return Measured({**known, "largest_share": NOTHING}, (), ())

    parts = [section(1e-6, 2.0, True, 1e-4), section(3e-6, 1.0, False, 3e-4), section(2e-6, 6.0, True, 2e-4)]
    numbers = along(parts, [1 / 3] * 3).numbers
    assert numbers["tray_loss_w_per_m"].error == pytest.approx((2e-4 + 3e-4 + 12e-4) / 3, rel=1e-12)
    assert {name: replace(number, error=None) for name, number in numbers.items()} == {
        "worst_field_over_limit": CaseNumber(3.0, None, 6.0, "place 3e-06"),  # all of the worst section
        "b_rms_t.desk": CaseNumber(3e-6),
        "tray_loss_w_per_m": CaseNumber(3.0, None, 6.0),
        "conductor_loss_w_per_m": CaseNumber(3.0, None, None),  # one section has no formula
        "spacing_rules_met": CaseNumber(False),
        "worst_error": CaseNumber(3e-4),
        "largest_share": NOTHING,
    }
    assert numbers["worst_field_over_limit"].error == pytest.approx(300, rel=1e-12)


# --- the key of a variant -----------------------------------------------------------------------------------------

SECOND = TRIPLE[TRIPLE.index("[[circuits]]") : TRIPLE.index("[[receptors]]")]
SECOND = SECOND.replace('"F1"', '"F2"').replace('["0 mm", "0 mm"]', '["0 mm", "100 mm"]')
TWO = TRIPLE + SECOND


def orders(case: Case, circuit: str = "F1") -> list[str]:
    """The labels of a circuit's places in each section of the run."""
    own = next(entry.get("phases", ()) for entry in case.data["circuits"] if entry["name"] == circuit)
    return ["".join(section["phases"].get(circuit, own)) for section in case.data["route"]]


def test_a_transposed_variant_is_one_run_of_three_equal_sections():
    _, case = plan_of(with_variants(TRANSPOSED, study=TRIPLE)).cases
    assert orders(case) == ["L1L2L3", "L3L1L2", "L2L3L1"]
    assert len({section["length"] for section in case.data["route"]}) == 1
    assert case.changes == ("F1 transposed at each third",)
    assert case.origin == "variant"
    assert case.sections == 3
    assert case.key == case_key(loads_data(case.data, "study"), software_versions())


def test_the_run_of_the_study_keeps_its_length():
    study = TRIPLE + '\n[[route]]\nlength = "60 m"\n[[route]]\nlength = "30 m"\n[route_screens]\nearthed_at = "90 m"\n'
    _, case = plan_of(with_variants(TRANSPOSED, study=study)).cases
    assert [section["length"] for section in case.data["route"]] == ["30.0 m"] * 3
    assert "F1 screens" not in case.joining


def test_transposition_goes_with_keys_that_are_set_and_removed():
    variant = TRANSPOSED + '\nset = { "circuits.F1.arrangement" = "trefoil" }\nremove = ["circuits.F1.spacing"]'
    case = plan_of(with_variants(variant, study=TRIPLE)).cases[1]
    assert orders(case) == ["L1L2L3", "L3L1L2", "L2L3L1"]
    assert case.data["circuits"][0]["arrangement"] == "trefoil"
    assert "spacing" not in case.data["circuits"][0]
    other = TRANSPOSED + '\nset = { "circuits.F1.phases" = ["L3", "L2", "L1"] }'
    assert orders(plan_of(with_variants(other, study=TRIPLE)).cases[1]) == ["L3L2L1", "L2L1L3", "L1L3L2"]


def test_circuits_that_are_transposed_together_turn_at_the_same_joints_and_others_stay():
    study = TRIPLE + SECOND.replace('["L1", "L2", "L3"]', '["L3", "L2", "L1", "N"]')
    both = plan_of(with_variants('name = "both"\ntranspose = ["F1", "F2"]', study=study)).cases[1]
    assert both.sections == 3  # not nine
    assert orders(both) == ["L1L2L3", "L3L1L2", "L2L3L1"]
    assert orders(both, "F2") == ["L3L2L1N", "L2L1L3N", "L1L3L2N"]  # N keeps its place
    assert both.changes == ("F1 and F2 transposed at each third",)
    alone = plan_of(with_variants('name = "one"\ntranspose = ["F2"]', study=study)).cases[1]
    assert orders(alone) == ["L1L2L3"] * 3
    assert orders(alone, "F2") == orders(both, "F2")


def test_parallel_cables_go_to_the_places_of_the_next_phase_together():
    assert cyclic_orders(("L1", "L1", "L2", "L3", "L2", "L3"))[1] == ("L3", "L3", "L1", "L2", "L1", "L2")


def test_the_cables_of_a_drawing_have_their_places_from_it():
    example = Path(str(files("studies").joinpath("examples", "drawn_section.toml")))
    text = example.read_text(encoding="utf-8") + f"\n[[variants]]\n{TRANSPOSED}\n"
    case = plan_of(text, str(example)).cases[-1]
    drawn = next(own for own in case.data["circuits"] if own["name"] == "F1")
    assert "phases" not in drawn
    assert orders(case) == ["L1L2L3", "L3L1L2", "L2L3L1"]


@pytest.mark.parametrize(
    ("value", "wrong", "right"),
    [
        ('"F1"', "is not a list of circuits", 'transpose = ["F1"]'),
        ("[]", "is empty", 'transpose = ["F1"]'),
        ("[1]", "is not a list of circuits", 'transpose = ["F1"]'),
        ("true", "is not a list of circuits", 'transpose = ["F1"]'),
        ('["F3"]', 'names "F3", which is no circuit', '"F1"'),
        ('["F1", "F1"]', 'names "F1" twice', "each circuit once"),
        ('["F2"]', 'names "F2", which has not all of L1, L2, L3', '"F1"'),
    ],
)
def test_a_transposition_that_cannot_be_is_told_with_what_is_right(value, wrong, right):
    study = TRIPLE + SECOND.replace('["L1", "L2", "L3"]', '["L1", "N"]')
    with pytest.raises(StudyError) as caught:
        plan_of(with_variants(f'name = "t"\ntranspose = {value}', study=study))
    (problem,) = caught.value.problems
    assert problem.key == 'variants[1] "t" → transpose'
    assert problem.wrong == wrong
    assert right in problem.right


def test_a_study_without_three_phases_is_told_to_have_none():
    with pytest.raises(StudyError, match="circuits with three phases; this study has none"):
        plan_of(with_variants(TRANSPOSED, study=PAIR))


def test_a_problem_of_all_sections_is_told_once():
    variant = TRANSPOSED + '\nset = { "circuits.F1.spacing" = "1 kW" }'
    with pytest.raises(StudyError) as caught:
        plan_of(with_variants(variant, study=TRIPLE))
    assert [problem.key for problem in caught.value.problems] == ['case "transposed": circuits[1] "F1" → spacing']


def solved(text: str) -> tuple[CaseRow, ...]:
    """The rows of a study that is solved as it stands."""
    plan = plan_of(text)
    outcomes = {
        case.key: CaseOutcome(case.key, measured_case(loads_data(case.data, "")).text(), "", 1.0) for case in plan.cases
    }
    return comparison_of(plan, outcomes, {}).rows


@pytest.mark.slow
def test_circuits_that_turn_together_are_all_equalised_and_one_alone_equalises_itself():
    """Turned by the same step, the mean of every block of the impedance matrix is circulant: it mixes no sequences.

    Where one turns alone, the mean of what it exchanges with a place of the other is one number for its three phases.
    """
    variants = ('name = "both"\ntranspose = ["F1", "F2"]', 'name = "one"\ntranspose = ["F1"]')
    _, both, one = solved(with_variants(*variants, study=TWO))
    for row, circuit in ((both, "F1"), (both, "F2"), (one, "F1")):
        # the three orders are solved on one mesh: equal up to rounding
        assert row.number(f"u2_over_u1.{circuit}") == pytest.approx(0, abs=1e-9)
    stays = one.entry("u2_over_u1.F2")
    # flat and not turned: as line currents have it; proximity at ten radii moves it by some per cent
    assert stays.value == pytest.approx(stays.formula, rel=0.05)
    assert float(stays.value or 0.0) > 0.03


def test_a_transposed_case_that_fails_costs_no_other(tmp_path):
    plan = plan_of(with_variants(TRANSPOSED, study=TRIPLE))
    bad = plan.cases[1].key
    numbers = Measured({"total_loss_w_per_m": CaseNumber(1.0)}, (), ()).text()
    told: list[str] = []

    def solve(requests):
        for request in requests:
            failed = request.key == bad
            yield CaseOutcome(request.key, None if failed else numbers, "no convergence" if failed else "", 1.0)

    with Store.opened(tmp_path / FILE) as store:
        outcomes = execute(plan, store, solve, told.append)
        assert len(store.finished(case.key for case in plan.cases)) == 1
    assert told[0] == "2 cases to solve"
    base, row = comparison_of(plan, outcomes, {}).rows
    assert base.measured is not None
    assert row.measured is None
    assert row.message == "no convergence"


# --- the example --------------------------------------------------------------------------------------------------


def test_the_example_compares_four_arrangements_of_invented_data():
    text = files("studies").joinpath("examples", "four_arrangements.toml").read_text(encoding="utf-8")
    plan = plan_of(text, "four_arrangements.toml")
    names = ["flat, spaced", "flat, touching", "trefoil, touching", "flat, spaced, transposed"]
    assert [case.name for case in plan.cases] == names
    assert [case.sections for case in plan.cases] == [1, 1, 1, 3]
    assert len({case.key for case in plan.cases}) == 4
    widths = [width_used(cross_section(loads_data(case.data, "")).cables, ()) for case in plan.cases]
    # flat with one clear diameter: 5 diameters; touching: 3; trefoil: 2
    assert [width / widths[2] * 2 for width in widths] == pytest.approx([5, 3, 2, 5], rel=1e-9)
