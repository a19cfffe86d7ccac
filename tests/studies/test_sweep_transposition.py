"""Runs whose phases are transposed: what a study says of them, what is solved, and what is made of it."""

from dataclasses import replace
from importlib.resources import files

import pytest

from studies.cross_section import cross_section
from studies.output.numbers import software_versions
from studies.problems import StudyError
from studies.reading import loads, loads_data
from studies.run import run
from studies.sweep.case import Case
from studies.sweep.case_key import case_key
from studies.sweep.execute import execute
from studies.sweep.measured import Measured, measure
from studies.sweep.number import NOTHING, Number
from studies.sweep.phase_state import phase_states
from studies.sweep.plan import plan_of
from studies.sweep.spacing import width_used
from studies.sweep.store import FILE, Outcome, Store
from studies.sweep.table import Row, comparison_of
from studies.sweep.transposition import transposed, transpositions
from studies.sweep.turning import cyclic_orders, transposed_sections
from tests.studies.sweep_studies import PAIR, TRIPLE, with_variants

ORDERS = [
    'name = "second"\nset = { "circuits.F1.phases" = ["L2", "L3", "L1"] }',
    'name = "third"\nset = { "circuits.F1.phases" = ["L3", "L1", "L2"] }',
]


def test_three_cyclic_orders_are_a_transposed_route():
    assert transpositions(plan_of(with_variants(*ORDERS, study=TRIPLE)).cases) == [(0, 1, 2)]


@pytest.mark.parametrize(
    "variants",
    [
        ORDERS[:1],
        [ORDERS[0], 'name = "third"\nset = { "circuits.F1.phases" = ["L2", "L1", "L3"] }'],
        [ORDERS[0], ORDERS[1].replace("set = {", 'set = { "circuits.F1.spacing" = "40 mm",')],
    ],
)
def test_other_cases_are_none(variants):
    assert transpositions(plan_of(with_variants(*variants, study=TRIPLE)).cases) == []


def test_a_transposed_route_has_the_mean_of_the_three_series_impedances():
    plan = plan_of(with_variants(*ORDERS, study=TRIPLE))
    results = [run(loads(TRIPLE.replace('["L1", "L2", "L3"]', text))) for text in (
        '["L1", "L2", "L3"]', '["L2", "L3", "L1"]', '["L3", "L1", "L2"]'
    )]  # fmt: skip
    outcomes = {
        case.key: Outcome(case.key, measure(result).text(), "", 1.0)
        for case, result in zip(plan.cases, results, strict=True)
    }
    row = comparison_of(plan, outcomes, {}).rows[-1]
    assert (row.name, row.origin) == ("base study, transposed", "transposed")
    assert row.measured is not None
    for phase in row.measured.phases:
        same = [s for result in results for s in phase_states(result) if s.phase == phase.phase]
        assert phase.voltage_v_per_m == pytest.approx(sum(s.voltage_v_per_m for s in same) / 3, rel=1e-12)
    # in air the three orders see the same cross-section: the mean is circulant up to rounding
    assert row.number("phase_inequality.F1") == pytest.approx(0, abs=1e-9)
    assert row.number("u2_over_u1.F1") == pytest.approx(0, abs=1e-9)
    assert row.number("b_rms_t.instrument") == max(result.receptors[0].b_rms_t for result in results)
    assert row.number("spacing_rules_met") is True


def test_a_transposed_route_has_mean_losses_the_worst_field_and_keeps_spacings_only_everywhere():
    def section(field: float, loss: float, met: bool, error: float) -> Measured:
        known = {
            "worst_field_over_limit": Number(1e6 * field, 1e6 * error, 2e6 * field, f"place {field:g}"),
            "b_rms_t.desk": Number(field, error * field),
            "tray_loss_w_per_m": Number(loss, error * loss, 2 * loss),
            "conductor_loss_w_per_m": Number(loss, 0.0, loss if met else None),
            "spacing_rules_met": Number(met),
            "worst_error": Number(error),
        }
        return Measured({**known, "largest_share": NOTHING}, (), ())

    parts = [section(1e-6, 2.0, True, 1e-4), section(3e-6, 1.0, False, 3e-4), section(2e-6, 6.0, True, 2e-4)]
    numbers = transposed(parts).numbers
    assert numbers["tray_loss_w_per_m"].error == pytest.approx((2e-4 + 3e-4 + 12e-4) / 3, rel=1e-12)
    assert {name: replace(number, error=None) for name, number in numbers.items()} == {
        "worst_field_over_limit": Number(3.0, None, 6.0, "place 3e-06"),  # all of the worst section
        "b_rms_t.desk": Number(3e-6),
        "tray_loss_w_per_m": Number(3.0, None, 6.0),
        "conductor_loss_w_per_m": Number(3.0, None, None),  # one section has no formula
        "spacing_rules_met": Number(False),
        "worst_error": Number(3e-4),
        "largest_share": NOTHING,
    }
    assert numbers["worst_field_over_limit"].error == pytest.approx(300, rel=1e-12)


# --- the key of a variant -----------------------------------------------------------------------------------------

TRANSPOSED = 'name = "transposed"\ntranspose = ["F1"]'
SECOND = TRIPLE[TRIPLE.index("[[circuits]]") : TRIPLE.index("[[receptors]]")]
SECOND = SECOND.replace('"F1"', '"F2"').replace('["0 mm", "0 mm"]', '["0 mm", "100 mm"]')
TWO = TRIPLE + SECOND


def orders(case: Case, circuit: int = 0) -> list[str]:
    return ["".join(section.data["circuits"][circuit]["phases"]) for section in case.sections]


def test_a_transposed_variant_is_solved_in_the_three_cyclic_orders_and_shares_the_first_with_the_base_study():
    base, case = plan_of(with_variants(TRANSPOSED, study=TRIPLE)).cases
    assert orders(case) == ["L1L2L3", "L2L3L1", "L3L1L2"]
    assert case.changes == ("F1 transposed at each third",)
    assert case.origin == "variant"
    assert case.key == base.key
    assert len({section.key for section in case.sections}) == 3
    versions = software_versions()
    for section in case.sections:
        assert section.key == case_key(loads_data(section.data, "study"), versions)


def test_transposition_goes_with_keys_that_are_set_and_removed():
    variant = TRANSPOSED + '\nset = { "circuits.F1.arrangement" = "trefoil" }\nremove = ["circuits.F1.spacing"]'
    case = plan_of(with_variants(variant, study=TRIPLE)).cases[1]
    assert orders(case) == ["L1L2L3", "L2L3L1", "L3L1L2"]
    assert all(section.data["circuits"][0]["arrangement"] == "trefoil" for section in case.sections)
    assert all("spacing" not in section.data["circuits"][0] for section in case.sections)
    other = TRANSPOSED + '\nset = { "circuits.F1.phases" = ["L3", "L2", "L1"] }'
    assert orders(plan_of(with_variants(other, study=TRIPLE)).cases[1]) == ["L3L2L1", "L1L3L2", "L2L1L3"]


def test_circuits_that_are_transposed_together_turn_at_the_same_joints_and_others_stay():
    study = TRIPLE + SECOND.replace('["L1", "L2", "L3"]', '["L3", "L2", "L1", "N"]')
    both = plan_of(with_variants('name = "both"\ntranspose = ["F1", "F2"]', study=study)).cases[1]
    assert len(both.sections) == 3  # not nine
    assert orders(both) == ["L1L2L3", "L2L3L1", "L3L1L2"]
    assert orders(both, 1) == ["L3L2L1N", "L1L3L2N", "L2L1L3N"]  # N keeps its place
    assert both.changes == ("F1 and F2 transposed at each third",)
    alone = plan_of(with_variants('name = "one"\ntranspose = ["F2"]', study=study)).cases[1]
    assert orders(alone) == ["L1L2L3"] * 3
    assert orders(alone, 1) == orders(both, 1)


def test_parallel_cables_go_to_the_places_of_the_next_phase_together():
    assert cyclic_orders(("L1", "L1", "L2", "L3", "L2", "L3"))[1] == ("L2", "L2", "L3", "L1", "L3", "L1")


def test_the_layers_of_a_drawing_are_places():
    circuit = {"name": "F1", "arrangement": "drawing", "drawn_on": {"L1": "A", "L2": "B", "L3": "C", "N": "D"}}
    sections = transposed_sections({"circuits": [circuit]}, ["F1"])
    assert [section["circuits"][0]["drawn_on"] for section in sections] == [
        {"L1": "A", "L2": "B", "L3": "C", "N": "D"},
        {"L2": "A", "L3": "B", "L1": "C", "N": "D"},
        {"L3": "A", "L1": "B", "L2": "C", "N": "D"},
    ]


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


def solved(text: str) -> tuple[Row, ...]:
    """The rows of a study that is solved as it stands."""
    plan = plan_of(text)
    outcomes = {
        section.key: Outcome(section.key, measure(run(loads_data(section.data, ""))).text(), "", 1.0)
        for section in {section.key: section for section in plan.sections}.values()
    }
    return comparison_of(plan, outcomes, {}).rows


def test_a_transposed_variant_is_one_row_with_the_numbers_of_the_three_orders_as_variants_of_their_own():
    by_key = solved(with_variants(TRANSPOSED, study=TRIPLE))
    by_variants = solved(with_variants(*ORDERS, study=TRIPLE))
    assert [(row.name, row.origin, row.sections) for row in by_key] == [
        ("base study", "base", 1),
        ("transposed", "variant", 3),
    ]
    assert by_variants[-1].origin == "transposed"
    assert by_variants[-1].sections == 3
    assert by_key[1].measured == by_variants[-1].measured


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


def test_a_study_that_transposes_by_key_and_lists_the_orders_has_one_row_of_them():
    cases = plan_of(with_variants(TRANSPOSED, *ORDERS, study=TRIPLE)).cases
    assert transpositions(cases) == []
    assert len({section.key for case in cases for section in case.sections}) == 3


def test_every_section_is_stored_at_once_and_a_failed_one_fails_its_case_alone(tmp_path):
    plan = plan_of(with_variants(TRANSPOSED, study=TRIPLE))
    bad = plan.cases[1].sections[2].key
    numbers = Measured({"total_loss_w_per_m": Number(1.0)}, (), ()).text()
    told: list[str] = []

    def solve(requests):
        for request in requests:
            failed = request.key == bad
            yield Outcome(request.key, None if failed else numbers, "no convergence" if failed else "", 1.0)

    with Store.opened(tmp_path / FILE) as store:
        outcomes = execute(plan, store, solve, told.append)
        assert len(store.finished(section.key for section in plan.sections)) == 2
    assert told[0] == "3 cases to solve; 1 more equals one of these"
    assert "transposed, section 2 of 3 done" in told[2]
    base, row = comparison_of(plan, outcomes, {}).rows
    assert base.measured is not None
    assert row.measured is None
    assert row.message == "transposed, section 3 of 3: no convergence"


# --- the example --------------------------------------------------------------------------------------------------


def test_the_example_compares_four_arrangements_of_invented_data():
    text = files("studies").joinpath("examples", "four_arrangements.toml").read_text(encoding="utf-8")
    plan = plan_of(text, "four_arrangements.toml")
    names = ["flat, spaced", "flat, touching", "trefoil, touching", "flat, spaced, transposed"]
    assert [case.name for case in plan.cases] == names
    assert [len(case.sections) for case in plan.cases] == [1, 1, 1, 3]
    assert transpositions(plan.cases) == []
    assert len({section.key for section in plan.sections}) == 5
    widths = [width_used(cross_section(loads_data(case.data, "")).cables, ()) for case in plan.cases]
    # flat with one clear diameter: 5 diameters; touching: 3; trefoil: 2
    assert [width / widths[2] * 2 for width in widths] == pytest.approx([5, 3, 2, 5], rel=1e-9)
