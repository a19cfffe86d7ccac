"""What is said of a comparison: sentences, and the table of the terminal."""

from collections.abc import Mapping

import pytest

from studies.compare.case_numbers import CaseNumber, CaseValue
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import FIELD, LOSS, UNBALANCE, WIDTH, criteria_of, parts_of_loss
from studies.compare.measured import Measured
from studies.compare.quantities import quantity_of
from studies.compare.tables import MOST_LISTED
from studies.compare.words import comparison_summary, findings, listing, undominated_line
from studies.output.numbers import software_versions
from studies.section.spacing import CLOSED, GROUPS, LAYER, NOT_KEPT, RULE
from studies.study.reading import loads
from tests.studies.reading_cells import tables_of_terminal
from tests.studies.sweep_studies import TRIPLE

Cases = Mapping[str, dict[str, CaseValue]]
SHARE = 0.001
"""Numerical error of every number below over the number; a width has none. [-]"""


def measured(numbers: dict[str, CaseValue], places: dict[str, str]) -> Measured:
    """What is kept of a case with these numbers."""
    known: dict[str, CaseNumber] = {"spacing_rules_met": CaseNumber(True, place=LAYER)}
    for name, value in numbers.items():
        exact = value is None or isinstance(value, bool) or quantity_of(name).key == "width_m"
        place = places.get(name, NOT_KEPT if name == "spacing_rules_met" else "")
        known[name] = CaseNumber(value, None if exact else SHARE * abs(float(value or 0.0)), place=place)
    return Measured(known, (), ())


def compared(**cases: dict[str, CaseValue]) -> Comparison:
    """A comparison of cases with given numbers, the first of them the base study."""
    return named("base study", cases)


def named(base_name: str, cases: Cases, places: Mapping[str, dict[str, str]] | None = None) -> Comparison:
    """The same with a name of the base study, and the places that decide some numbers."""
    rows = tuple(
        CaseRow(
            base_name if k == 0 else name,
            "base" if k == 0 else "variant",
            (),
            (),
            measured(numbers, (places or {}).get(name, {})),
            "",
            1.0,
        )
        for k, (name, numbers) in enumerate(cases.items())
    )
    return Comparison(loads(TRIPLE), (), rows, software_versions())


def numbers(field: float, loss: float, unequal: float, width: float, **other: CaseValue) -> dict[str, CaseValue]:
    return {
        "worst_field_over_limit": field,
        "highest_b_rms_t": field * 1e-6,
        "total_loss_w_per_m": loss,
        "u2_over_u1.F1": unequal,
        "width_m": width,
        **other,
    }


def test_the_best_case_in_each_thing_is_named_with_its_number():
    said = findings(compared(base=numbers(2.0, 40, 0.2, 0.1), a=numbers(0.5, 44, 0.1, 0.2)))
    assert said[0] == (
        "Lowest field: “a” with 0.500 times the limit; the highest is 2.00 times the limit, of “base study”."
    )
    assert said[1] == "Lowest total loss: “base study” with 40.0\u202fW/m; the highest is 44.0\u202fW/m, of “a”."
    assert said[2].startswith("Most equal phases: “a” with 10.0\u202f%")
    assert said[3].startswith("Least width: “base study” with 100\u202fmm")
    assert (
        "“a” has the lowest field and the most equal phases, and gives up total loss 44.0\u202fW/m against" in said[4]
    )
    assert "“base study” has the lowest total loss and the least width, and gives up field 2.00 times" in said[5]
    assert said[6] == "Every limit is kept by “a”; not by the other 1."
    assert said[7] == "Clear gaps kept by every case: one cable diameter in a single layer."
    assert said[8] == RULE


def test_differences_within_the_numerical_error_are_called_equal():
    # 0.1 % each: 40.00 and 40.07 W/m are equal, 40.09 is not
    said = findings(
        compared(base=numbers(2, 40.0, 0.2, 0.1), a=numbers(2, 40.07, 0.2, 0.1), b=numbers(2, 40.09, 0.2, 0.1))
    )
    assert said[0] == "Lowest field: the cases do not differ by more than the numerical error."
    assert said[1].startswith(
        "Lowest total loss: “base study” and “a” with 40.0\u202fW/m (equal within the numerical error)"
    )


def test_cases_that_read_alike_are_called_equal_in_their_digits_and_give_nothing_up():
    # widths are exact: 100.01 and 100.03 mm are both shown as 100 mm
    said = findings(compared(base=numbers(2, 40, 0.2, 0.10001), a=numbers(1, 30, 0.1, 0.10003)))
    assert said[3] == "Least width: 100\u202fmm in every case, equal in three digits."
    assert "“a” is best in all of these: there is no trade-off." in said


def test_energy_and_price_of_a_year_stand_among_the_criteria():
    asked = {"loss_energy_j_per_m": 266 * 3.6e6, "energy_cost_per_m": 31.9}
    less = {"loss_energy_j_per_m": 200 * 3.6e6, "energy_cost_per_m": 24.0}
    comparison = compared(base={**numbers(2, 40, 0.2, 0.2), **asked}, a={**numbers(2, 30, 0.2, 0.2), **less})
    said = findings(comparison)
    assert "Lowest energy of a year: “a” with 200\u202fkWh/m; the highest is 266\u202fkWh/m, of “base study”." in said
    assert "Lowest cost of a year per metre: “a” with 24.0; the highest is 31.9, of “base study”." in said
    assert "cost of a" in comparison_summary(comparison)


def test_a_case_that_is_best_in_all_is_said_to_be():
    said = findings(compared(base=numbers(2, 40, 0.2, 0.2), a=numbers(1, 30, 0.1, 0.1)))
    assert "“a” is best in all of these: there is no trade-off." in said


def test_the_gaps_of_each_case_are_told_with_the_best_case_that_meets_the_rule():
    cases = {
        "base": numbers(2, 40, 0.2, 0.2, spacing_rules_met=True),
        "a": numbers(1, 40, 0.2, 0.2, spacing_rules_met=True),
        "b": numbers(0.5, 40, 0.2, 0.2, spacing_rules_met=False),
        "c": numbers(0.4, 40, 0.2, 0.2, spacing_rules_met=False),
    }
    kept = dict(zip(cases, (LAYER, GROUPS, NOT_KEPT, CLOSED), strict=True))
    places = {name: {"spacing_rules_met": word} for name, word in kept.items()}
    *_, gaps, rule = findings(named("base study", cases, places))
    assert gaps == (
        "Clear gaps kept by “base study”: one cable diameter in a single layer; by “a”: 2.15 times the largest "
        "diameter between trefoil groups; by “b”: neither one cable diameter in a single layer nor 2.15 times the "
        "largest diameter between trefoil groups; by “c”: gaps under a cover or in closed metal, for which "
        "there is no rule. Of the cases that meet a rule for them “a” has the lowest field, 1.00 times the limit."
    )
    assert rule == RULE
    lines = comparison_summary(named("base study", cases, places)).splitlines()
    first = next(k for k, line in enumerate(lines) if line.startswith("---")) + 1
    assert [line.rpartition("  ")[2] for line in lines[first : first + 4]] == list(kept.values())


def test_without_limits_the_field_itself_is_compared():
    cases = {"base": numbers(2, 40, 0.2, 0.2), "a": numbers(1, 40, 0.2, 0.2)}
    for case in cases.values():
        del case["worst_field_over_limit"]
    assert findings(compared(**cases))[0].startswith("Lowest field: “a” with 1.00\u202fµT")


def test_one_case_is_not_compared():
    assert findings(compared(base=numbers(2, 40, 0.2, 0.2))) == ("There are no two cases with numbers to compare.",)


def test_the_undominated_cases_are_named():
    comparison = compared(base=numbers(3, 3, 0, 1), a=numbers(1, 2, 0, 1), b=numbers(2, 1, 0, 1), c=numbers(2, 2, 0, 1))
    by_noun = {criterion.noun: criterion for criterion in criteria_of(comparison.rows)}
    assert undominated_line(comparison.rows, by_noun[FIELD], by_noun[LOSS]) == (
        "In field and total loss together no other case beats “a” and “b”; each of the other 2 is beaten by one of "
        "these."
    )
    assert undominated_line(comparison.rows, by_noun[FIELD], by_noun[WIDTH]) == (
        "In field and width together “a” is the best of all."
    )


def test_a_name_of_the_base_study_is_used_and_marked():
    cases = {"base": numbers(2, 40, 0.2, 0.2), "a": numbers(1, 45, 0.2, 0.2), "b": numbers(3, 50, 0.2, 0.2)}
    said = findings(named("flat", cases))
    assert said[0] == (
        "Lowest field: “a” with 1.00 times the limit; “flat” (base) has 2.00 times the limit; the highest is 3.00 "
        "times the limit, of “b”."
    )
    assert said[1].startswith("Lowest total loss: “flat” (base) with")


def test_all_cases_with_the_highest_value_are_named():
    said = findings(compared(base=numbers(2, 40, 0.2, 0.2), a=numbers(1, 40, 0.2, 0.2), b=numbers(2.001, 40, 0.2, 0.2)))
    assert said[0].endswith("the highest is 2.00 times the limit, of “base study” and “b”.")


def test_a_limit_is_kept_where_the_field_and_its_error_stay_below_it():
    # 0.1 % error: 0.9985 is kept, 0.9995 is not
    said = findings(compared(base=numbers(0.9985, 40, 0.2, 0.2), a=numbers(0.9995, 40, 0.2, 0.2)))
    assert "Every limit is kept by “base study”; not by the other 1." in said


@pytest.mark.parametrize(
    ("of_base", "of_a", "said"),
    [
        ("bench", "bench", "The worst field over its limit is at bench in every case."),
        ("bench", "zone hall", "The worst field over its limit is at bench in 1 case and at zone hall in 1 case."),
    ],
)
def test_the_place_that_decides_the_field_is_named(of_base, of_a, said):
    fields = {"b_rms_t.bench": 1e-6, "b_max_rms_t.hall": 1e-6}
    places = {name: {"worst_field_over_limit": place} for name, place in (("base", of_base), ("a", of_a))}
    base, other = {**numbers(2, 40, 0.2, 0.2), **fields}, {**numbers(1, 40, 0.2, 0.2), **fields}
    comparison = named("base study", {"base": base, "a": other}, places)
    assert said in findings(comparison)
    assert ("  At  " in comparison_summary(comparison)) is (of_base != of_a)


def with_common(common: float) -> Comparison:
    """A trefoil with the more equal phases, and this much of its drops common to them."""
    key = "u0_over_u1.F1"
    return compared(base={**numbers(2, 40, 0.3, 0.2), key: 0.1}, trefoil={**numbers(1, 40, 0.05, 0.2), key: common})


def test_a_drop_common_to_the_phases_judges_nothing_and_is_told_apart():
    said = findings(with_common(0.468))
    assert said[2].startswith(
        "Most equal phases: “trefoil” with 5.0\u202f%; the highest is 30.0\u202f%, of “base study”"
    )
    (line,) = [line for line in said if "common to the three" in line]
    assert line == (
        "The largest drop that is common to the three phases, V0/V1, is that of “trefoil”, 46.8\u202f%. It is in no "
        "voltage from line to line and judges nothing here: it matters only if a neutral or the earth joins both "
        "ends of the run."
    )
    assert not any("largest phase inequality" in line for line in said)
    for common in (0.05, 0.04):  # no more than makes the phases unequal: nothing to take for the other
        assert not any("common to the three" in line for line in findings(with_common(common)))


def test_what_is_left_over_from_rounding_is_no_number():
    comparison = compared(base=numbers(2, 40, 0.2, 0.2), a=numbers(1, 40, 1e-15, 0.2))
    assert "Most equal phases: “a” with ≈ 0\u202f%" in findings(comparison)[2]


def test_reactance_and_unbalance_are_judged_where_every_case_has_them():
    more = {"x1_ohm_per_m.F1": 1e-4, "x1_ohm_per_m.F2": 2e-4, "u2_v_per_m.F1": 0.01}
    with_all = compared(base={**numbers(2, 40, 0.2, 0.2), **more}, a={**numbers(1, 40, 0.2, 0.2), **more})
    nouns = [criterion.noun for criterion in criteria_of(with_all.rows)]
    assert nouns == ["field", "total loss", "reactance X1", "V2/V1", "voltage unbalance V2", "width"]
    reactance = criteria_of(with_all.rows)[2]
    assert reactance.values == (2e-4, 2e-4)
    assert reactance.places == ("F2", "F2")  # the worst of two circuits is named
    without = compared(base={**numbers(2, 40, 0.2, 0.2), **more}, a=numbers(1, 40, 0.2, 0.2))
    assert UNBALANCE not in [criterion.noun for criterion in criteria_of(without.rows)]


def test_parts_of_the_loss_are_shown_where_they_differ():
    loss = {"tray_loss_w_per_m": 1.0, "conductor_loss_w_per_m": 39.0, "screen_loss_w_per_m": 0.0}
    base, other = {**numbers(2, 40, 0.2, 0.2), **loss}, {**numbers(1, 40, 0.2, 0.2), **loss, "tray_loss_w_per_m": 2.0}
    assert [criterion.noun for criterion in parts_of_loss(compared(base=base, a=other).rows)] == ["tray loss"]
    assert parts_of_loss(compared(base=base, a=base).rows) == ()


def test_the_table_of_the_terminal_holds_what_differs_with_its_unit():
    more = {"tray_loss_w_per_m": 2.0, "x1_ohm_per_m.F1": 1.96e-4, "u2_v_per_m.F1": 0.0161}
    less = {"tray_loss_w_per_m": 0.5, "x1_ohm_per_m.F1": 0.93e-4, "u2_v_per_m.F1": 0.0023}
    base, other = {**numbers(1.1, 40.3, 0.3, 0.11), **more}, {**numbers(0.3, 38.8, 0.3, 0.04), **less}
    lines = comparison_summary(named("flat", {"base": base, "trefoil": other})).splitlines()
    rule = next(k for k, line in enumerate(lines) if line.startswith("---"))
    assert lines[rule + 1].split() == ["flat", "(base)", "1.10", "2.00", "40.3", "0.196", "16.1", "110", "1", "diam."]
    assert lines[rule + 2].split() == ["trefoil", "0.300", "0.500", "38.8", "0.0930", "2.30", "40.0", "1", "diam."]
    (table,) = tables_of_terminal("\n".join(lines))
    assert [unit for _, unit in table.head] == ["", "", "W/m", "W/m", "Ω/km", "V/km", "mm", ""]
    # words above a column of numbers end where the numbers end
    end = next(line.index("V2 (V/km)") for line in lines[:rule] if "V2 (V/km)" in line) + len("V2 (V/km)")
    assert (lines[rule + 1].index("16.1") + 4, lines[rule + 2].index("2.30") + 4) == (end, end)
    assert not any("inequality" in line for line in lines[:rule])  # equal in both cases
    assert max(map(len, lines)) <= 80


def test_no_case_is_told_to_lead_where_another_that_is_told_leads_too():
    # "a" and "b" are equal in reactance; "b" has the lowest field as well
    x1 = "x1_ohm_per_m.F1"
    cases = {
        "base": {**numbers(3, 30, 0.2, 0.2), x1: 2e-4},
        "a": {**numbers(2, 40, 0.2, 0.2), x1: 1e-4},
        "b": {**numbers(1, 40, 0.2, 0.2), x1: 1e-4},
    }
    told = [line for line in findings(compared(**cases)) if "gives up" in line]
    assert [line.partition(" has ")[0] for line in told] == ["“b”", "“base study”"]


def test_of_many_cases_a_sentence_names_few_and_of_long_names_fewer():
    assert listing([f"case {k}" for k in range(6)]).endswith("case 4 and case 5")
    assert listing([f"case {k}" for k in range(9)]) == "case 0, case 1, case 2, case 3, case 4 and 4 more"
    assert listing([60 * "a", 60 * "b", 60 * "c", 60 * "d"]) == f"{60 * 'a'}, {60 * 'b'} and 2 more"


def test_of_many_cases_the_terminal_lists_the_base_study_and_the_best():
    cases = {f"case {k}": numbers(9 - k / 10, 40, 0.2, 0.2 + k / 1000) for k in range(80)}
    lines = comparison_summary(named("flat", cases)).splitlines()
    assert "80 cases, of which 30 are listed" in lines[0]
    listed = [line for line in lines if line.startswith(("case ", "flat")) and line.endswith(" 1 diam.")]
    assert len(listed) == MOST_LISTED
    assert listed[0].startswith("flat (base)")
    assert listed[-1].startswith("case 79")  # the lowest field
