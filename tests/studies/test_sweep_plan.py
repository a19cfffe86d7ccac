"""Variants and sweeps of a study file: the cases they give, and what is said where they are not sound."""

import copy
import tomllib
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studies.compare.case import BASE
from studies.compare.case_key import case_key
from studies.compare.drafts import MOST_CASES
from studies.compare.plan import plan_of
from studies.compare.stated_cases import MOST_TOLD, cases_note
from studies.output.numbers import software_versions
from studies.study.dotted_keys import PathError, value_at, with_value, without
from studies.study.reading import loads
from studies.text.problems import Problem, StudyError
from tests.studies.sweep_studies import PAIR, TRIPLE, swept, with_variants

TREFOIL = """name = "trefoil"
set = { "circuits.F1.arrangement" = "trefoil", "cables.c50.insulation" = "2 mm" }
remove = ["circuits.F1.spacing"]"""
VERSIONS = software_versions()


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(StudyError) as caught:
        plan_of(text, "pair.toml")
    return caught.value.problems


# --- cases --------------------------------------------------------------------------------------------------------


def test_the_base_study_is_the_first_case_then_variants_then_the_grid():
    text = with_variants(TREFOIL, study=TRIPLE) + '\n[sweep]\n"circuits.F1.spacing" = ["30 mm", "40 mm"]\n'
    plan = plan_of(text, "pair.toml")
    assert [case.name for case in plan.cases] == [BASE, "trefoil", "spacing 30 mm", "spacing 40 mm"]
    assert [case.origin for case in plan.cases] == ["base", "variant", "sweep", "sweep"]
    assert plan.base == loads(text, "pair.toml")
    assert plan.cases[1].changes == (
        "without circuits.F1.spacing",
        'circuits.F1.arrangement = "trefoil"',
        'cables.c50.insulation = "2 mm"',
    )
    assert plan.swept == ("circuits.F1.spacing",)
    assert [case.settings for case in plan.cases] == [("30 mm",), ("",), ("30 mm",), ("40 mm",)]


def test_a_case_is_the_study_whose_file_states_its_changes():
    plan = plan_of(with_variants(TREFOIL, study=TRIPLE))
    edited = TRIPLE.replace('"flat"\nspacing = "30 mm"', '"trefoil"').replace('"1.4 mm"', '"2 mm"')
    assert plan.cases[1].key == case_key(loads(edited), VERSIONS)
    assert plan.cases[0].key == case_key(loads(TRIPLE), VERSIONS)


def test_a_case_of_the_grid_that_equals_the_base_study_has_its_key():
    plan = plan_of(swept(("30 mm", "3 cm", "40 mm")))
    base, same, other_unit, different = plan.cases
    assert base.key == same.key == other_unit.key
    assert different.key != base.key


def test_a_key_depends_on_every_number_and_on_the_versions_and_not_on_the_title():
    study = loads(PAIR)
    key = case_key(study, VERSIONS)
    assert case_key(loads(PAIR.replace('"Pair"', '"Other"'), "elsewhere.toml"), VERSIONS) == key
    for old, new in (('"100 A"', '"101 A"'), ('"1 m"', '"1.1 m"'), ('"5 %"', '"4 %"'), ('"copper"', '"aluminium"')):
        assert case_key(loads(PAIR.replace(old, new)), VERSIONS) != key
    assert case_key(study, {**VERSIONS, "trayfield": "0.0.0"}) != key


def test_a_key_depends_on_the_files_that_the_study_names(tmp_path):
    curve = "[materials.soft]\nconductivity = '6 MS/m'\ncurve_file = 'soft.csv'\n"
    (tmp_path / "soft.csv").write_text("0, 0\n100, 0.5\n")
    study = loads(PAIR + curve, str(tmp_path / "pair.toml"))
    key = case_key(study, VERSIONS)
    (tmp_path / "soft.csv").write_text("0, 0\n100, 0.6\n")
    assert case_key(study, VERSIONS) != key


@pytest.mark.parametrize("counts", [(1,), (3,), (2, 3), (2, 1, 4)])
def test_the_grid_is_the_product_of_its_values(counts):
    keys = ("circuits.F1.spacing", "circuits.F1.current", "receptors.instrument.limit")
    units = ("mm", "A", "uT")
    lines = []
    for key, unit, count in zip(keys, units, counts, strict=False):
        values = ", ".join(f'"{30 + k} {unit}"' for k in range(count))
        lines.append(f'"{key}" = [{values}]')
    plan = plan_of(PAIR + "\n[sweep]\n" + "\n".join(lines) + "\n")
    product = 1
    for count in counts:
        product *= count
    assert len(plan.cases) == 1 + product
    assert len({case.name for case in plan.cases}) == len(plan.cases)


def test_the_largest_grid_is_allowed_and_one_more_is_not():
    def grid(rows: int) -> str:
        first = ", ".join(f'"{30 + k} mm"' for k in range(rows))
        return f'{PAIR}\n[sweep]\n"circuits.F1.spacing" = [{first}]\n"circuits.F1.current" = [{currents}]\n'

    currents = ", ".join(f'"{100 + k} A"' for k in range(100))
    (problem,) = problems_of(grid(101))
    assert problem.key == "sweep"
    assert "10100 cases" in problem.wrong
    assert str(MOST_CASES) in problem.right


def test_entries_are_added_and_removed_by_name():
    added = """name = "with a plate"
set = { "trays.T1" = { profile = "channel", rests_at = ["0 mm", "0 mm"], inside_width = "200 mm", """
    added += """inside_height = "60 mm", thickness = "2 mm", material = "mild-steel" } }"""
    gone = 'name = "nobody near"\nremove = ["receptors.instrument"]'
    cases = plan_of(with_variants(added, gone)).cases
    assert [tray["name"] for tray in cases[1].data["trays"]] == ["T1"]
    assert cases[2].data["receptors"] == []


def test_cases_of_a_grid_have_short_names_of_their_values():
    orders = '"circuits.F1.phases" = [["L1", "L2"], ["L2", "L1"]]'
    cases = plan_of(f'{PAIR}\n[sweep]\n{orders}\n"circuits.F1.spacing" = ["30 mm"]\n').cases
    assert [(case.name, case.short) for case in cases[1:]] == [
        ("phases L1 L2, spacing 30 mm", "L1 L2, 30 mm"),
        ("phases L2 L1, spacing 30 mm", "L2 L1, 30 mm"),
    ]
    assert cases[2].settings == ('["L2", "L1"]', "30 mm")  # as in the file
    assert [case.short for case in plan_of(swept(("40 mm",))).cases] == [BASE, "spacing 40 mm"]


# --- problems -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("variant", "key", "wrong", "right"),
    [
        ('name = "a"\nset = { "case" = "b" }', 'set → "case"', "name of the base study", "another key"),
        ('name = "a"\ntranspse = ["F1"]', "transpse", "no known key", '"transpose"'),
        ('name = "a"\nset = { "circuits.F2.spacing" = "1 cm" }', 'set → "circuits.F2', 'no "F2"', '"F1'),
        ('name = "a"\nset = { "circuit.F1.spacing" = "1 cm" }', 'set → "circuit.F1', 'no "circuit"', '"circuits.F1.sp'),
        ('name = "a"\nset = { "circuits.F1.spacng" = "1 cm" }', '"F1" → spacng', "no known key", "spacing"),
        ('name = "a"\nset = { "circuits.F1.spacing" = "1 kW" }', '"F1" → spacing', "no unit of length", "mm, cm"),
        ('name = "a"\nset = { "circuits.F1.spacing" = 40 }', '"F1" → spacing', "bare number", '"40 mm"'),
        ('name = "a"\nset = { "circuits.F1.spacing" = "5 mm" }', "cable 1", "overlap", "mm more"),
        ('name = "a"\nset = { "circuits.F1.current.L1" = "5 A" }', "current.L1", 'is "100 A"', '"circuits.F1.current"'),
        (
            'name = "a"\nset = { circuits.F1.spacing = "1 cm" }',
            'set → "circuits"',
            "no quotes",
            '"circuits.F1.spacing"',
        ),
        ('name = "a"\nset = { "circuits..spacing" = "1 cm" }', "circuits..spacing", "no dotted key", "points"),
        ('name = "a"\nremove = ["circuits.F1.spacin"]', "remove", 'no "spacin"', '"circuits.F1.spacing"'),
        ('name = "a"\nremove = "circuits.F1.spacing"', "remove", "not a list", '["circuits'),
        ('name = "a"\nset = ["x"]', "set", "not a table", "set = {"),
        ('name = "a"\nsett = { "frequency" = "60 Hz" }', "sett", "no known key", '"set"'),
        ('name = "a"', 'variants[1] "a"', "changes nothing", "set = {"),
        ('set = { "frequency" = "60 Hz" }', "variants[1] → name", "missing", "name ="),
        ('name = " a"\nset = { "frequency" = "60 Hz" }', "name", "not a name", "quotes"),
        ('name = "base study"\nset = { "frequency" = "60 Hz" }', "name", "first case", "another"),
        (f'name = "{61 * "a"}"\nset = {{ "frequency" = "60 Hz" }}', "name", "too long", "60"),
    ],
)
def test_a_variant_that_is_not_sound_is_told_with_what_is_right(variant, key, wrong, right):
    told = problems_of(with_variants(variant))
    assert any(key in p.key and wrong in p.wrong and right in p.right for p in told), "\n".join(map(str, told))
    assert all(len(line) < 250 for p in told for line in str(p).splitlines())


def test_names_of_variants_must_differ():
    twice = 'name = "a"\nset = { "frequency" = "60 Hz" }'
    (problem,) = problems_of(with_variants(twice, twice))
    assert problem.key == 'variants[2] "a" → name'
    assert "another variant" in problem.wrong


@pytest.mark.parametrize(
    ("table", "key", "wrong"),
    [
        ('"case" = ["a", "b"]', 'sweep → "case"', "name of the base study"),
        ('"circuits.F1.spacing" = "30 mm"', 'sweep → "circuits.F1.spacing"', "not a list"),
        ('"circuits.F1.spacing" = []', 'sweep → "circuits.F1.spacing"', "empty"),
        ('"circuits.F1.spacing" = ["30 mm", "30 mm"]', 'sweep → "circuits.F1.spacing"', "twice"),
        ('"circuits.F9.spacing" = ["30 mm"]', 'sweep → "circuits.F9.spacing"', 'no "F9"'),
        ('circuits.F1.spacing = ["30 mm"]', 'sweep → "circuits"', "not a list"),
        ('"circuits.F1.spacing" = ["30 mm", "3 uT"]', 'case "spacing 3 uT": circuits[1] "F1" → spacing', "no unit of"),
    ],
)
def test_a_sweep_that_is_not_sound_is_told(table, key, wrong):
    told = problems_of(f"{PAIR}\n[sweep]\n{table}\n")
    assert [(problem.key, wrong in problem.wrong) for problem in told] == [(key, True)], "\n".join(map(str, told))


@pytest.mark.parametrize(("text", "key"), [("variants = 3\n", "variants"), ("sweep = 3\n", "sweep")])
def test_tables_of_cases_that_are_no_tables_are_told(text, key):
    (problem,) = problems_of(text + PAIR)
    assert problem.key == key


def test_all_problems_of_all_cases_are_told_at_once_with_their_cases():
    text = with_variants(
        'name = "a"\nset = { "circuits.F1.spacing" = "1 kW", "frequency" = "60" }',
        'name = "b"\nset = { "circuits.F1.spacing" = "1 kW" }',
        'name = "c"\nset = { "circuits.F7.spacing" = "1 cm" }',
    )
    told = problems_of(text + '\n[sweep]\n"circuits.F1.current" = ["1 mm"]\n')
    assert [problem.key for problem in told] == [
        'case "a": frequency',
        'cases "a", "b": circuits[1] "F1" → spacing',
        'case "current 1 mm": circuits[1] "F1" → current',
        'variants[3] "c" → set → "circuits.F7.spacing"',
    ]


def test_a_problem_of_the_base_study_is_told_once_and_not_for_every_case():
    broken = PAIR.replace('"100 A"', '"100 uT"')
    (problem,) = problems_of(swept(("30 mm", "40 mm"), broken))
    assert problem.key == 'circuits[1] "F1" → current'


def test_problems_of_very_many_cases_are_not_all_listed():
    values = tuple(f"{1 + k / 40:.3f} mm" for k in range(3 * MOST_TOLD))
    told = problems_of(swept(values))
    assert len(told) == MOST_TOLD + 1
    assert "problems more" in told[-1].wrong


# --- the name of the base study ---------------------------------------------------------------------------------------

NAMED = PAIR.replace('title = "Pair"', 'title = "Pair"\ncase = "flat, spaced"')
WIDER = 'name = "a"\nset = { "circuits.F1.spacing" = "40 mm" }'


def test_the_base_study_has_the_name_that_its_file_gives_it_and_no_number_depends_on_it():
    plan, plain = plan_of(with_variants(WIDER, study=NAMED)), plan_of(with_variants(WIDER))
    assert [case.name for case in plan.cases] == ["flat, spaced", "a"]
    assert [case.name for case in plain.cases] == [BASE, "a"]
    assert [case.key for case in plan.cases] == [case.key for case in plain.cases]
    assert "This is the base study, “flat, spaced”; its file states 1 further case" in cases_note(plan.base)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [('""', "not a name"), ("3", "not a name"), ('" a"', "not a name"), (f'"{61 * "a"}"', "too long")],
)
def test_a_name_of_the_base_study_that_is_none_is_told(name, wrong):
    (problem,) = problems_of(PAIR.replace('title = "Pair"', f'title = "Pair"\ncase = {name}'))
    assert problem.key == "case"
    assert wrong in problem.wrong


@pytest.mark.parametrize("name", ["flat, spaced", BASE])
def test_no_variant_has_the_name_of_the_base_study(name):
    (problem,) = problems_of(with_variants(f'name = "{name}"\nset = {{ "frequency" = "60 Hz" }}', study=NAMED))
    assert "first case" in problem.wrong


def test_a_misspelt_name_of_the_base_study_is_told_with_its_key():
    with pytest.raises(StudyError, match="right: case"):
        loads(NAMED.replace("case =", "cas ="))


def test_a_problem_of_a_named_base_study_is_told_once():
    (problem,) = problems_of(swept(("30 mm", "40 mm"), NAMED.replace('"100 A"', '"100 uT"')))
    assert problem.key == 'circuits[1] "F1" → current'


# --- the study alone ----------------------------------------------------------------------------------------------


def test_a_study_with_cases_reads_as_its_base_study():
    text = with_variants(TREFOIL, study=TRIPLE)
    study = loads(text, "pair.toml")
    assert study.model_copy(update={"source_text": "", "source_sha256": ""}) == loads(TRIPLE, "pair.toml").model_copy(
        update={"source_text": "", "source_sha256": ""}
    )
    assert cases_note(study) == (
        "This is the base study; its file states 1 further case: trayfield compare pair.toml compares them all."
    )
    assert "6 further cases" in cases_note(loads(swept(("1 cm", "2 cm", "3 cm", "4 cm", "5 cm", "6 cm"))))
    assert cases_note(loads(TRIPLE)) == ""


def test_a_misspelt_table_of_cases_is_told_with_its_name():
    with pytest.raises(StudyError, match="right: variants"):
        loads(PAIR + '\n[[variant]]\nname = "a"\n')


# --- dotted keys --------------------------------------------------------------------------------------------------

DATA = tomllib.loads(PAIR)
PATHS = ("title", "cables.c50.insulation", "circuits.F1.spacing", "circuits.F1.phases.2", "receptors.instrument.at.1")


@pytest.mark.parametrize("path", PATHS)
def test_a_value_that_is_set_is_there_and_the_tables_stay_as_they_were(path):
    before = copy.deepcopy(DATA)
    changed = with_value(DATA, path, "new")
    assert value_at(changed, path) == "new"
    assert before == DATA
    assert with_value(changed, path, value_at(before, path)) == before


@pytest.mark.parametrize("path", PATHS)
def test_a_key_that_is_removed_is_gone_and_the_tables_stay_as_they_were(path):
    before = copy.deepcopy(DATA)
    changed = without(DATA, path)
    assert changed != before
    assert before == DATA
    if not path[-1].isdigit():
        assert value_at(changed, path) is None


def accepted_or_told(change: Callable[[], object]) -> bool:
    try:
        change()
    except PathError as error:
        return bool(error.wrong and error.right)
    return True


@given(st.lists(st.text(max_size=8), max_size=5).map(".".join))
def test_any_text_is_a_dotted_key_or_told_as_none(path):
    assert accepted_or_told(lambda: with_value(DATA, path, 1))
    assert accepted_or_told(lambda: without(DATA, path))
