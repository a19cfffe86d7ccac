"""The run in space: straight runs, bends and ends against closed forms, and every cell."""

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.special import kv, kvp

from studies.answers.fields.words import receptor_rows
from studies.answers.reservations.compute import reservation_results
from studies.answers.space.rows import SpaceResult
from studies.answers.space.words import space_alarms
from studies.formulas.line_field import line_field
from studies.report.contents import write_report
from studies.report.sheet import sheet_rows
from studies.report.summary import verdict_lines
from studies.report.terminal import summary
from studies.result import Result
from tests.studies.cells import FLUX, Expected, Known, err, num, words
from tests.studies.cells_of_fields import share_of, verdict
from tests.studies.solved_examples import of_examples
from tests.studies.test_failures import text_of

BASE = """title = "Two circuits on a tray, not alike left and right"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "70 degC" }
insulation = "1.5 mm"
screen = { material = "copper", thickness = "0.2 mm" }
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "40 mm"
rests_at = ["-60 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "300 A"
harmonics = { 5 = "20 %" }

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "50 mm"
thickness = "2 mm"
material = "aluminium-5052"

[[bonds]]
parts = ["F1 screens", "T1"]         # so that the tray carries a net current

[[receptors]]
name = "right and above"
at = ["0.9 m", "0.4 m"]
limit = "1 uT"

[[receptors]]
name = "close, left"
at = ["-0.25 m", "0.15 m"]

[accuracy]
tolerance = "5 %"
"""
STRAIGHT = """
[course]
path = [["0 m", "-4 m", "2 m"], ["0 m", "4 m", "2 m"]]
plan = { height = "2.4 m", window = [["-1 m", "-1 m"], ["1 m", "1 m"]] }

[[course.receptors]]
name = "right and above"
at = ["0.9 m", "1 m", "2.4 m"]
limit = "1 uT"

[[course.receptors]]
name = "close, left"
at = ["-0.25 m", "-2 m", "2.15 m"]

[[course.lines]]
name = "across"
from = ["0.9 m", "0 m", "2.4 m"]
to = ["-0.25 m", "0 m", "2.15 m"]
points = 3
"""


def course(text: str) -> str:
    """The study with another course; its receptors stand in the text."""
    return f"{BASE}\n[course]\n{text}\n"


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    space = result.space
    if space is None:
        return
    if space.receptors:
        yield _space_table(space, full)
    if space.receptors and full:
        yield _share_table(space)
    if space.along:
        yield _along_table(space, full)


def _space_table(space: SpaceResult, full: bool) -> Known:
    limited = any(row.limit_t is not None for row in space.receptors)
    columns = (
        words("Place", lambda row: row.name),
        num("Field", FLUX, lambda row: row.b_rms_t, error=lambda row: row.b_rms_error_t),
        *([err(FLUX, lambda row: row.b_rms_error_t)] if full else []),
        *([num("Second form", FLUX, lambda row: row.second_b_rms_t)] if full else []),
        *([num("Cables alone", FLUX, lambda row: row.cables_b_rms_t)] if full else []),
        words("Nearest", lambda row: row.nearest),
        *([num("Away", "m", lambda row: row.distance_m)] if full else []),
        num("Cross-section alone", FLUX, lambda row: row.nearest_b_rms_t),
        num("Field over it", ("–", ""), lambda row: row.b_rms_t / row.nearest_b_rms_t),
        *_judged(limited),
    )
    return Known("The run in space", space.receptors, columns)


def _judged(limited: bool) -> tuple[Expected, ...]:
    if not limited:
        return ()
    shown = words("Verdict", lambda row: re.compile(rf"(! )?{_word(row)}$"))
    return num("Limit", FLUX, lambda row: row.limit_t), shown


def _along_table(space: SpaceResult, full: bool) -> Known:
    places = (num("x", "m", lambda r: r.x_m), num("y", "m", lambda r: r.y_m), num("z", "m", lambda r: r.z_m))
    columns = (
        words("Receptor", lambda row: row.name),
        num("Straight run", FLUX, lambda row: row.straight_b_rms_t),
        num("Highest", FLUX, lambda row: row.b_rms_t, error=lambda row: row.b_rms_error_t),
        *([err(FLUX, lambda row: row.b_rms_error_t)] if full else []),
        num("Over straight", ("–", ""), lambda row: row.b_rms_t / row.straight_b_rms_t),
        words("Beside", lambda row: row.section),
        *(places if full else ()),
        *_judged(any(row.limit_t is not None for row in space.along)),
    )
    return Known("Receptors of the cross-section along the course", space.along, columns)


def _share_table(space: SpaceResult) -> Known:
    shares = [(row.name, one) for row in space.receptors for one in row.shares]
    columns = (
        words("Place", lambda row: row[0]),
        words("Piece", lambda row: row[1].section),
        num("Share", "%", lambda row: row[1].share),
    )
    return Known("Shares of the pieces of the run", shares, columns)


def _word(row: Any) -> str:
    if row.limit_t is None:
        return "–"
    return verdict(row.limit_t, row.within_limit, share_of(row)[0])


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    for row in () if result.space is None else result.space.receptors:
        if row.nearest_b_rms_t < row.b_rms_t - row.b_rms_error_t:
            text = (
                f"The cross-section alone is too low at “{row.name}”: it gives {{T}} beside {row.nearest}, the run in "
            )
            text += "space {±T}, {} times as much."
            if row.within_limit is False and row.nearest_b_rms_t <= (row.limit_t or 0.0):
                text += " By the cross-section alone the limit would be met."
            numbers = (row.nearest_b_rms_t, row.b_rms_t, row.b_rms_error_t, row.b_rms_t / row.nearest_b_rms_t)
            yield text, numbers
    for one in () if result.space is None else result.space.along:
        share = share_of(one)[0] * one.straight_b_rms_t / one.b_rms_t if one.limit_t else 0.0
        higher = one.b_rms_t - one.b_rms_error_t > one.straight_b_rms_t
        if higher and one.within_limit is False and share <= 1:
            text = f"The limit at “{one.name}” is met beside a straight run, not along the whole course: beside "
            text += f"{one.section} the field is {{}} times that of the cross-section."
            yield text, (one.b_rms_t / one.straight_b_rms_t,)


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Places above their limit first, with its multiple."""
    found = () if result.space is None else result.space.receptors
    above = [row for row in found if row.within_limit is False]
    if above:
        names = ", ".join(f"“{row.name}”, {{}} times the limit" for row in above)
        yield f"ABOVE the limit in the run in space: {names}.", tuple(share_of(row)[0] for row in above)
    yield from sentences(result)


@of_examples(["run_with_bend"])
def test_the_example_is_about_1_71_of_the_straight_run_inside_its_bend_and_half_at_its_end(solved: Result) -> None:
    assert solved.space is not None
    inside, below, end = solved.space.receptors
    # 1.5 m from a bend of 0.4 m, with the end 3.5 m away: near the closed forms of line currents
    assert inside.ratio == pytest.approx(1 + np.sqrt(0.5), rel=0.03)
    assert below.ratio == pytest.approx(np.sqrt(1.5), rel=0.1)
    assert end.ratio == pytest.approx(0.5, rel=0.03)
    for row in solved.space.receptors:
        assert sum(one.share for one in row.shares) == pytest.approx(1.0, rel=1e-9)
        assert abs(row.b_rms_t - (row.second_b_rms_t or 0.0)) <= row.b_rms_error_t
        doubt = min(solved.space.half_width_m / (row.joint_distance_m or np.inf), 1.0) ** 2 * row.metal_b_rms_t
        assert row.b_rms_error_t >= row.numerical_error_t + doubt * (1 - 1e-9)
    assert inside.is_too_low
    assert inside.within_limit is False
    assert not end.is_too_low
    assert [one.section for one in inside.shares] == ["straight 1", "bend 1", "straight 2"]
    assert set(solved.figures()) >= {"space_plan", "space_wall_opposite_the_bend"}
    assert [row.name for row in solved.exceeded_in_space()] == ["bench inside the bend", "beside the straight run"]


@of_examples(["run_with_bend"])
def test_a_receptor_of_the_cross_section_is_judged_where_the_run_in_space_has_its_highest_field(solved: Result) -> None:
    assert solved.space is not None
    ((row,), receptor) = solved.space.along, solved.receptors[0]
    assert row.straight_b_rms_t == pytest.approx(receptor.b_rms_t, rel=1e-12)
    # 1.5 m to the right of the path, inside the bend; seen from there both pieces are as far
    assert (row.x_m, row.y_m, row.z_m) == pytest.approx((-1.5, -1.5, 3.0), abs=0.1)
    assert row.ratio == pytest.approx(1 + np.sqrt(0.5), rel=0.03)
    assert receptor.within_limit is True
    assert row.within_limit is False
    # where the verdict of the cross-section is read: on the sheet, in the terminal, on the page
    said = f"within the limit on a straight run, ABOVE it with {row.ratio:.3g} times the field along the course"
    assert [(line.verdict, line.tone) for line in sheet_rows(solved) if line.of.startswith("Field at")] == [
        (said, "bad")
    ]
    for shown in (" ".join(summary(solved).split()), text_of(write_report(solved, {}, {}))):
        assert said in " ".join(shown.split())
        higher = rf"ABOVE it in the run in space beside straight 2 \({1e6 * row.b_rms_t:.3g}.µT\), or with 4.A"
        assert re.search(higher, " ".join(shown.split()))
        assert "right-angled bend" not in shown  # the estimate whose place it takes


@of_examples(["run_with_bend"])
def test_a_verdict_that_the_run_in_space_does_not_turn_tells_how_much_higher_its_field_is(solved: Result) -> None:
    assert solved.space is not None
    higher = replace(solved.space.along[0], within_limit=True)
    level = replace(higher, b_rms_t=higher.straight_b_rms_t)
    for along, said in (
        (higher, "within the limit, 1.69 times the field along the course"),
        (level, "within the limit"),
    ):
        space = replace(solved.space, along=(along,))
        rows = reservation_results(solved.study, solved.solutions, solved.receptors, (), None, space)
        quiet = tuple(row for row in rows if not row.changes_verdict)
        (line,) = receptor_rows(replace(solved, reservations=quiet))
        assert (line.verdict, line.tone) == (said, "good")
        assert [row.concern for row in rows if row.concern in ("course", "bend", "end")] == ["course"] * (
            along is higher
        )
    assert any("met beside a straight run, not along the whole course" in line for line in space_alarms(solved))


@of_examples(["twisted_feeder_and_crossing"])
def test_the_twisted_feeder_leaves_the_field_of_the_run_that_crosses_it(solved: Result) -> None:
    assert solved.space is not None
    beside, under, railway = solved.space.receptors
    axes = np.array([[-0.04, 0.0], [0.0, 0.0], [0.04, 0.0]])
    currents = 100 * np.exp(np.array([0, -2j, 2j]) * np.pi / 3)
    # in the plane across F7, 10 m beside it and 1.6 m below it: line currents
    far, near = np.linalg.norm(line_field(np.array([[-10.0, -1.0], [0.0, -1.6]]), axes, currents), axis=1)
    # 0.45 m is half a lay length: 0.38 of the field of straight cables, to the size of their triangle
    assert beside.b_rms_t == pytest.approx(0.38 * beside.nearest_b_rms_t, rel=0.04)
    assert [one.section for one in beside.shares] == ["straight 1", "F7", "railway supply"]
    assert beside.shares[1].share * beside.b_rms_t < far
    twist = 2 * np.pi * 0.6 / 0.9
    left = np.sqrt(((twist**2 * kvp(1, twist)) ** 2 + (twist * kv(1, twist)) ** 2 + (twist**2 * kv(1, twist)) ** 2) / 2)
    own = left * under.nearest_b_rms_t
    assert abs(near - own) < under.b_rms_t < near + own
    assert sum(one.share for one in under.shares) == pytest.approx(1, rel=1e-9)
    assert not under.is_too_low
    # another frequency adds by squares: the railway's two conductors 2.5 m above
    alone = np.linalg.norm(
        line_field(np.array([[0.0, -2.5]]), np.array([[-0.03, 0], [0.03, 0]]), np.array([150, -150]))
    )
    assert railway.shares[2].share * railway.b_rms_t**2 == pytest.approx(alone**2, rel=1e-6, abs=0)
    assert sum(one.share for one in railway.shares) == pytest.approx(1, rel=1e-9)


@of_examples(["run_with_bend"])
def test_the_cautions_of_the_page_do_not_deny_the_run_in_space(solved: Result) -> None:
    page = text_of(write_report(solved, {}, {}))
    assert "Bends, risers, ends and crossing runs are in the numbers of the run in space" in page
    assert "are not in these numbers" not in page
    assert "the run is straight, except in the numbers of the run in space." in page


@of_examples(["run_with_bend"])
def test_the_permeability_of_steel_is_left_open_only_if_there_is_steel(solved: Result) -> None:
    rows = [row.beyond for row in sheet_rows(solved) if row.of.startswith("Run in space")]
    assert set(rows) == {"laying, net current, what else lies along the run"}
    parts = [
        replace(part, material=replace(part.material, relative_permeability=300)) for part in solved.cross_section.parts
    ]
    steel = replace(solved, cross_section=replace(solved.cross_section, parts=tuple(parts)))
    rows = [row.beyond for row in sheet_rows(steel) if row.of.startswith("Run in space")]
    assert set(rows) == {"laying, net current, steel's permeability, what else lies along the run"}


@of_examples(["run_with_bend"])
def test_a_limit_exceeded_in_space_is_the_first_sentence(solved: Result) -> None:
    first = "ABOVE the limit in the run in space: “bench inside the bend”"
    assert verdict_lines(solved)[0].startswith(first)
