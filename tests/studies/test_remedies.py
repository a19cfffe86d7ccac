"""Remedies: files with their lines pasted, the exact distance of line currents, what they make worse, every cell."""

import re
import tomllib
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.answers.remedies import compute
from studies.answers.remedies.changes import changes
from studies.answers.remedies.rows import RemedyResult
from studies.answers.remedies.words import remedy_notes, remedy_rows
from studies.answers.solutions import solved_variant
from studies.report.summary import verdict_lines
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from studies.text.terminal import as_text
from tests.studies.cells import FLUX, LOSS, Known, err, num, words
from tests.studies.solved_examples import EXAMPLES, of_examples

EXAMPLE = "remedies_for_an_instrument"
TEXT = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8")
VERDICTS = {True: "within the limit", False: "above the limit", None: "–"}


def page_tables(result: Result) -> Iterator[Known]:
    if result.remedies:
        yield _table(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    if result.remedies:
        yield _table(result, full=False)


def _table(result: Result, full: bool) -> Known:
    moved = any(row.distance_m is not None for row in result.remedies)
    columns = (
        words("At", lambda row: row.place),
        words("Remedy", lambda row: row.remedy),
        *([num("Moved by", "m", lambda row: row.distance_m)] if moved else []),
        num("Field", FLUX, lambda row: row.b_rms_t),
        *([err(FLUX, lambda row: row.b_rms_error_t)] if full else []),
        *([num("Limit", FLUX, lambda row: row.limit_t)] if full else []),
        words("Verdict", lambda row: re.compile(rf"(! )?{VERDICTS[row.within_limit]}$")),
        num("Losses", LOSS, lambda row: row.loss_w_per_m),
        *([err(LOSS, lambda row: row.loss_error_w_per_m)] if full else []),
        *([num("Change of losses", LOSS, lambda row: row.loss_change_w_per_m)] if full else []),
        words("But", lambda row: "; ".join(row.drawbacks) or re.compile("–?$")),
        *([words("Line for the study file", lambda row: "; ".join(row.lines))] if full else []),
    )
    return Known("What would meet the limit", result.remedies, columns)


def named(result: Result, remedy: str) -> RemedyResult:
    return next(row for row in result.remedies if row.remedy == remedy)


def pasted(text: str, line: str) -> str:
    """The file with one line in the table that stands before its colon, in place of the keys that it replaces."""
    table, key_value = line.split(": ", 1)
    key = key_value.split(" = ")[0]
    gone = [key, *re.findall(r"\w+", key_value.partition("# without ")[2])]
    head = re.match(r"\[\[(\w+)\]\] ?(.*)", table)
    assert head
    if not head[2]:
        return text.replace("\n[remedies]", f"\n[[{head[1]}]]\n{key_value}\n\n[remedies]")
    blocks = text.split("\n\n")
    k = next(k for k, block in enumerate(blocks) if block.startswith(f'[[{head[1]}]]\nname = "{head[2]}"'))
    kept = [one for one in blocks[k].split("\n") if one.split(" = ")[0] not in gone]
    return "\n\n".join([*blocks[:k], "\n".join([*kept, key_value]), *blocks[k + 1 :]])


@of_examples([EXAMPLE])
def test_a_file_with_the_lines_pasted_has_the_field_and_the_losses_of_the_remedy(solved: Result) -> None:
    for remedy in ("trefoil in closed trays", "screens and sheaths bonded at both ends", "best phase order"):
        row = named(solved, remedy)
        text = TEXT
        for line in row.lines:
            text = pasted(text, line)
        found = run(loads(text.replace("\n[remedies]\nthickness_factor = 2 ", "\n# ")))
        assert found.receptors[0].b_rms_t == pytest.approx(row.b_rms_t, rel=1e-9), remedy
        assert sum(loss.loss_w_per_m for loss in found.losses) == pytest.approx(row.loss_w_per_m, rel=1e-9)
        assert found.receptors[0].within_limit is row.within_limit


@of_examples([EXAMPLE])
def test_only_places_above_their_limit_have_remedies_and_each_says_what_it_costs(solved: Result) -> None:
    assert {row.place for row in solved.remedies} == {"instrument"}  # the bench is within its limit
    assert named(solved, "trefoil").within_limit is True
    assert named(solved, "closed trays").within_limit is False
    bonded = named(solved, "screens and sheaths bonded at both ends")
    rise = 100 * (bonded.loss_change_w_per_m or 0.0) / sum(loss.loss_w_per_m for loss in solved.losses)
    assert f"raises the losses by {rise:.2g} %" in bonded.drawbacks
    assert any("permitted current" in words for words in bonded.drawbacks)
    assert (named(solved, "trefoil").loss_change_w_per_m or 0.0) < 0
    assert not any("raises the losses" in words for words in named(solved, "trefoil").drawbacks)


BARE = """title = "Go and return in air"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "2.5 mm^2", temperature = "20 degC" }
insulation = "0.5 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-50 mm", "0 m"], ["50 mm", "0 m"]]
phases = ["L1", "N"]
current = "10 A"

[[receptors]]
name = "probe"
at = ["0 m", "0.4 m"]
limit = "LIMIT"

[remedies]

[accuracy]
tolerance = "2 %"
"""


def test_the_smallest_distance_is_that_of_two_line_currents() -> None:
    result = run(loads(BARE.replace("LIMIT", "0.4 uT")))
    (row,) = result.remedies  # neither metal nor a formation nor an order that could be another
    # above their middle two line currents 2d apart have mu0 I 2d/(2 pi (d^2 + y^2))
    exact = np.sqrt(mu_0 * 10 * 0.1 / (2 * np.pi * 0.4e-6) - 0.05**2)
    # the relative error of B is twice that of y; the estimate of the field is counted in, and the place rounded to 1 mm
    assert row.distance_m is not None
    assert exact <= 0.4 + row.distance_m <= exact * 1.02 + 1e-3
    assert row.lines == (f'[[receptors]] probe: at = ["0 mm", "{1e3 * (0.4 + row.distance_m):.0f} mm"]',)
    assert row.within_limit is True
    nearer = run(loads(BARE.replace("LIMIT", "0.4 uT").replace('"0.4 m"', f'"{exact * 0.99} m"')))
    assert nearer.receptors[0].within_limit is False
    assert nearer.remedies[0].distance_m == pytest.approx(0.4 + row.distance_m - exact * 0.99, abs=2e-3)


def test_nothing_is_solved_where_nothing_is_above_its_limit() -> None:
    result = run(loads(BARE.replace("LIMIT", "1 mT")))
    assert result.remedies == ()
    (row,) = remedy_rows(result)
    assert row.value == "not asked of any place: none is above its limit on the straight run"
    assert row.tone == ""
    assert not any("would meet" in line for line in verdict_lines(result))  # the run in space may be above it


PARALLEL = """title = "Trefoil that breaks another limit"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "2 mm"
jacket = "2 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "120 mm"
inside_height = "30 mm"
thickness = "1.5 mm"
material = "aluminium-5052"

[[receptors]]
name = "far"
at = ["2 m", "0 m"]
limit = "0.2 uT"

[[receptors]]
name = "above"
at = ["0 m", "0.07 m"]
limit = "ABOVE"

[remedies]

[accuracy]
tolerance = "5 %"
"""


def test_a_remedy_that_breaks_another_limit_or_cannot_be_laid_says_so() -> None:
    flat = run(loads(PARALLEL.replace("ABOVE", "100 mT").replace("[remedies]\n", "")))
    limit = f"{flat.receptors[1].b_rms_t * 1.05 * 1e6:.4g} uT"  # just kept by the flat cables
    result = run(loads(PARALLEL.replace("ABOVE", limit)))
    assert "breaks the limit at “above”" in named(result, "trefoil").drawbacks  # its top cable is nearer
    closed = named(result, "trefoil in closed trays")
    assert (closed.b_rms_t, closed.within_limit, closed.lines) == (None, None, ())
    assert closed.drawbacks[0].startswith("cannot be laid: ")  # 44 mm of trefoil under a cover at 30 mm
    assert {row.place for row in result.remedies} == {"far"}


def test_a_remedy_that_fails_costs_only_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(study: Any, *rest: Any) -> Any:
        if study.trays[0].thickness == pytest.approx(3e-3):
            raise ZeroDivisionError("broken on purpose")
        return solved_variant(study, *rest)

    monkeypatch.setattr(compute, "solved_variant", failing)
    result = run(loads(PARALLEL.replace("ABOVE", "100 mT").replace('"5 %"', '"20 %"')))
    assert [failure.what for failure in result.failures] == ["remedy trays 2 times as thick"]
    assert {row.remedy for row in result.remedies} >= {"trefoil", "closed trays", "receptor further away"}


@of_examples((EXAMPLE,))
def test_a_terminal_shows_each_line_to_paste_on_a_line_of_its_own_unbroken(solved: Result) -> None:
    notes = remedy_notes(solved)
    meet = [row for row in solved.remedies if row.within_limit]
    assert len(notes) == len(meet) > 0
    for note, row in zip(notes, meet, strict=True):
        first, *lines = as_text(note, 30).replace("\n# in", "\0# in").split("\0")
        assert " ".join(first.split()) == f"To have “{row.remedy}” for “{row.place}”, in the study file:"
        assert len(lines) == len(row.lines)
        for shown, line in zip(lines, row.lines, strict=True):
            statement = shown.split("\n")[-1]
            assert statement == line.split(": ", 1)[1]
            assert tomllib.loads(statement)


FLAT = (
    BARE.replace("LIMIT", "1 mT")
    .replace('"positions"\npositions = [["-50 mm", "0 m"], ["50 mm", "0 m"]]', '"flat"\nclear_gap = "2 mm"')
    .replace('current = "10 A"', 'rests_at = ["0.1 m", "0.02 m"]\ncurrent = "10 A"')
)


def test_a_neutral_lies_on_the_floor_beside_the_trefoil() -> None:
    study = loads(FLAT.replace('["L1", "N"]', '["L1", "N", "L2", "L3"]'))
    change = changes(study, 2.0)[0]
    cables = {cable.phase: cable for cable in cross_section(change.of(study)).cables}
    axes = {phase: np.array(cable.axis) for phase, cable in cables.items()}
    diameter = cables["N"].layers.diameter
    apart = [np.linalg.norm(axes[a] - axes[b]) for a, b in (("L1", "L2"), ("L2", "L3"), ("L3", "L1"), ("N", "L2"))]
    assert apart == pytest.approx([diameter] * 4, abs=3e-5)
    assert min(apart) >= diameter
    assert axes["N"] == pytest.approx([0.1 + diameter, 0.02 + diameter / 2], abs=3e-5)
    assert change.lines[0].endswith('F1: arrangement = "positions"  # without clear_gap, rests_at')
    assert change.lines[2].endswith('F1: phases = ["L1", "L2", "L3", "N"]')


def test_each_trefoil_of_parallel_cables_holds_three_phases() -> None:
    study = loads(FLAT.replace('["L1", "N"]', '["L1", "L1", "L2", "L2", "L3", "L3"]'))
    change = changes(study, 2.0)[0]
    assert change.of(study).circuits[0].phases == ("L1", "L2", "L3", "L1", "L2", "L3")
    assert change.lines[1].endswith('F1: phases = ["L1", "L2", "L3", "L1", "L2", "L3"]')


TWO = (
    FLAT.replace('["L1", "N"]', '["L1", "L2", "L3", "N"]')
    .replace('limit = "1 mT"', 'limit = "1 nT"')
    .replace(
        "[[receptors]]",
        '[[circuits]]\nname = "F2"\ncable = "c"\narrangement = "trefoil"\nrests_at = ["-0.1 m", "0 m"]\n'
        'phases = ["L1", "L2", "L3"]\ncurrent = "10 A"\n\n[[receptors]]',
    )
)


def test_trefoils_of_two_circuits_are_told_in_their_best_order_too() -> None:
    text = TWO.replace("2 %", "20 %")
    solved = run(loads(text))
    plain, best = named(solved, "trefoil"), named(solved, "trefoil in the best order")
    assert plain.b_rms_t is not None
    assert best.b_rms_t is not None
    assert best.b_rms_t < 0.9 * plain.b_rms_t
    assert "circuits cancel each other's field only while they carry these currents together" in best.drawbacks
    for line in best.lines:
        text = pasted(text, line)
    assert run(loads(text.replace("[remedies]", ""))).receptors[0].b_rms_t == pytest.approx(best.b_rms_t, rel=1e-9)
