"""What stands beside each verdict that the error estimate does not cover, and how many digits a summary shows."""

import dataclasses
import itertools
import re

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.answers.fields.tables import receptor_table
from studies.answers.reservations.circuits_off import highest_with_some_off
from studies.answers.reservations.compute import ABOVE_BEND, END, NET_SHARE, SHIFT, reservation_results
from studies.answers.reservations.rows import BEND
from studies.output.numbers import results_document
from studies.report.contents import write_report
from studies.report.terminal import summary, summary_html
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.everything_asked import Everything, solve_everything
from tests.studies.test_failures import text_of

BALANCED = np.exp(2j * np.pi / 3 * np.array([0, -1, 1]))


@pytest.fixture(scope="module")
def everything() -> Everything:
    return solve_everything()


# --- bends and ends against the law of Biot and Savart ------------------------------------------------------------


def of_leg(point, start, end):
    """Field of one ampere along a straight leg at a point, shape (3,). [T]"""
    along = (end - start) / np.linalg.norm(end - start)
    first, last = point - start, point - end
    across = np.cross(along, first)
    ends = first @ along / np.linalg.norm(first) - last @ along / np.linalg.norm(last)
    return mu_0 / (4 * np.pi) * across / (across @ across) * ends


def magnitude(point, corners_of, offsets):
    """Resultant of three balanced currents along polygons at a point. [T]"""
    field = sum(
        current * sum(of_leg(point, start, end) for start, end in itertools.pairwise(legs))
        for current, legs in ((one, corners_of(offset)) for one, offset in zip(BALANCED, offsets, strict=True))
    )
    return float(np.linalg.norm(np.abs(field)))


FAR = 1e4


def straight(offset):
    return [np.array([-FAR, -offset, 0.0]), np.array([FAR, -offset, 0.0])]


def bent(offset):
    corner = np.array([offset, -offset, 0.0])
    return [np.array([offset - FAR, -offset, 0.0]), corner, np.array([offset, FAR - offset, 0.0])]


def ending(offset):
    return [np.array([-FAR, -offset, 0.0]), np.array([0.0, -offset, 0.0])]


@pytest.mark.parametrize("distance", [0.5, 2.0])
def test_a_bend_and_an_end_change_the_field_of_flat_cables_as_line_currents_have_it(distance):
    offsets = (-0.05, 0.0, 0.05)
    beside = magnitude(np.array([0.0, distance, 0.0]), straight, offsets)
    inside = magnitude(np.array([-distance, distance, 0.0]), bent, offsets)
    above = magnitude(np.array([0.0, 0.0, distance]), bent, offsets)
    over = magnitude(np.array([0.0, 0.0, distance]), straight, offsets)
    end = magnitude(np.array([0.0, distance, 0.0]), ending, offsets)
    assert inside / beside == pytest.approx(BEND, abs=0.005)  # two digits of 1 + sin 45 deg
    assert above / over == pytest.approx(ABOVE_BEND, abs=0.005)  # sqrt(3/2), far from the cables
    assert end / beside == pytest.approx(END, rel=1e-3)  # by symmetry; the legs are 1e4 m long


# --- the rows -----------------------------------------------------------------------------------------------------


def rows_of(result: Result, place: str) -> dict[str, float | None]:
    return {row.concern: row.b_rms_t for row in result.reservations if row.place == place and row.kind != "route"}


def test_every_case_is_the_field_with_what_line_currents_add(everything):
    result, model = everything.result, everything.solutions[0].model
    bench = result.receptors[0]
    rows = rows_of(result, "bench")
    place = np.array([bench.x_m, bench.y_m])
    moved = []  # the largest change of the field by each cable, moved by 3 mm in any direction
    for axis, current in zip(model.axes, model.currents, strict=True):
        to = place - axis
        angles = np.linspace(0, 2 * np.pi, 181)
        off = place - (axis + SHIFT * np.stack([np.cos(angles), np.sin(angles)], axis=1))
        change = off / np.sum(off**2, axis=1)[:, None] - to / (to @ to)
        moved.append(mu_0 * abs(current) / (2 * np.pi) * np.linalg.norm(change, axis=1).max())
    assert rows["bend"] == pytest.approx(1.71 * bench.b_rms_t, rel=1e-12)
    assert rows["end"] == pytest.approx(0.5 * bench.b_rms_t, rel=1e-12)
    # to first order in 3 mm over a metre
    assert rows["laying"] - bench.b_rms_t == pytest.approx(float(np.linalg.norm(moved)), rel=0.01)
    away = float(np.linalg.norm(place - model.axes.mean(axis=0)))
    assert rows["net current"] - bench.b_rms_t == pytest.approx(2e-7 * NET_SHARE * 400 / away, rel=1e-9)
    assert "steel" not in rows  # the tray is of aluminium


def test_a_place_that_a_case_takes_over_its_limit_is_within_only_as_drawn(everything):
    desk = everything.result.zones[0]
    verdict = dataclasses.replace(desk, limit_t=1.3 * desk.b_max_rms_t, within_limit=True)
    found = reservation_results(everything.study, everything.solutions, [verdict], everything.result.parts, None)
    changes = {row.concern: row.changes_verdict for row in found}
    assert changes["bend"]
    assert not changes["end"]
    result = dataclasses.replace(everything.result, zones=(verdict,), receptors=(), reservations=found)
    for said in (summary(result), text_of(summary_html(result)), text_of(write_report(result, {}, {}))):
        said = " ".join(said.split())
        start = r"desk: within the limit on a straight run as drawn, ABOVE it"
        assert re.search(rf"{start} inside a right-angled bend \([\d.]+.µT\)", said)
    assert "within the limit, but see below" in text_of(summary_html(result))
    assert (
        "Within the limit only on a straight run as drawn, or in doubt: “desk”. The reasons stand below."
        in write_report(result, {}, {})
    )
    document = results_document(result)["reservations"]
    assert isinstance(document, list)
    assert {"zone", "desk", "bend", True} <= set(map(str, document[0].values())) | {True}
    far = dataclasses.replace(desk, limit_t=10 * desk.b_max_rms_t, within_limit=True)
    rows = reservation_results(everything.study, everything.solutions, [far], everything.result.parts, None)
    assert not any(row.changes_verdict for row in rows)


def test_the_sentence_over_the_reservations_is_none_of_them(everything):
    verdict = dataclasses.replace(everything.result.receptors[0], limit_t=1.0, within_limit=True)
    found = reservation_results(everything.study, everything.solutions, [verdict], everything.result.parts, None)
    result = dataclasses.replace(everything.result, zones=(), receptors=(verdict,), reservations=found)
    opening = "Cases beyond the error estimate, each alone, estimated (not bounds):"
    for page in (write_report(result, {}, {}), summary_html(result)):
        assert f"<p>{opening}</p>" in page
        start = r"bench: within the limit in each case: inside a right-angled bend [\d.]+.\wT; every cable 3"
        assert re.search(rf"{re.escape(opening)}</p>\s*<ul>\s*<li>{start}", page)


def test_a_receptor_in_metal_is_in_doubt_whatever_its_field(everything):
    bench = dataclasses.replace(everything.result.receptors[0], x_m=0.0, y_m=-0.001, limit_t=1.0, within_limit=True)
    rows = reservation_results(everything.study, everything.solutions, [bench], everything.result.parts, None)
    assert [row.words for row in rows if row.concern == "in metal"] == ["it lies in T1, where nothing can be measured"]


def test_along_a_route_a_bend_is_told_where_it_would_exceed_a_limit(everything):
    route = everything.result.route
    assert route is not None
    field = route.fields[0]
    near = dataclasses.replace(field, limit_t=1.3 * field.judged_b_rms_t, within_limit=True)
    found = reservation_results(
        everything.study, everything.solutions, [], (), dataclasses.replace(route, fields=(near,))
    )
    assert {(row.concern, row.changes_verdict) for row in found} == {("bend", True), ("end", False)}
    result = dataclasses.replace(everything.result, reservations=found)
    words = "Along the route: within the limit on a straight run, ABOVE it inside a right-angled bend: "
    assert f"{words}{near.receptor} beside" in " ".join(summary(result).split())


TWO = """title = "Two circuits that cancel"
frequency = "50 Hz"
[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "20 degC" }
insulation = "2 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 m", "0 m"]
phases = ["L1", "L2", "L3"]
current = "200 A"
[[circuits]]
name = "F2"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 m", "30 mm"]
phases = ["L3", "L2", "L1"]
current = "120 A"
[[trays]]
name = "T1"
profile = "plate"
rests_at = ["0 m", "0 m"]
width = "200 mm"
thickness = "3 mm"
material = "aluminium"
[[receptors]]
name = "probe"
at = ["0.5 m", "0.4 m"]
limit = "9 uT"
[accuracy]
tolerance = "5 %"
"""


def test_a_circuit_that_is_off_no_longer_cancels_the_other() -> None:
    solved, alone = run(loads(TWO)), run(loads(TWO.replace("120 A", "0.1 mA")))
    (row,) = [row for row in solved.reservations if row.concern == "circuits off"]
    assert row.words == "F2"
    assert row.b_rms_t == pytest.approx(alone.receptors[0].b_rms_t, rel=1e-5)  # 0.1 mA of 200 A are left
    assert row.b_rms_t is not None
    assert row.b_rms_t > 1.5 * solved.receptors[0].b_rms_t
    assert "; F2 off " in " ".join(summary(solved).split())


@pytest.mark.parametrize(("count", "off"), [(3, "b and c"), (9, "a")])  # of nine only one is taken to be off
def test_several_circuits_may_be_off_together(count: int, off: str) -> None:
    fields = np.zeros((count, 2), dtype=np.complex128)
    fields[:3, 0] = (5.0, -2.0, -2.0)
    assert highest_with_some_off("abcdefghi"[:count], [fields]) == (5.0 if count == 3 else 4.0, off)


# --- digits -------------------------------------------------------------------------------------------------------


def test_the_terminal_shows_three_digits_and_one_line_for_all_errors(everything):
    said = summary(everything.result)
    numbers = re.findall(r"(?<![\w.,(])\d+\.\d+(?=\s)", said)
    assert len(numbers) > 50
    assert [number for number in numbers if len(number.replace(".", "").lstrip("0")) > 3] == []
    after = said.split("Cautions of this study")[1]  # verdicts on the run as laid have both errors, at its head
    assert "±" not in after.replace("Each ± stands", "").replace("Its ±: numerical error", "")
    most = re.search(r"Numerical error of the numbers above: at most ([\d.]+) %", said)
    assert most
    bound = float(most[1]) / 100
    fields = [(one.b_rms_t, one.b_rms_error_t) for one in everything.result.receptors]
    fields += [(one.b_max_rms_t, one.b_max_rms_error_t) for one in everything.result.zones]
    assert all(error <= bound * value for value, error in fields)
    assert everything.result.accuracy.worst_error <= bound


def test_the_sentences_of_the_page_s_answers_have_no_error_in_brackets_and_the_tables_have_it(everything):
    page = write_report(everything.result, {}, {})
    before, rest = page.split('id="notes"', 1)
    first, rest = rest.split('id="subject"', 1)
    assert "±" not in first.split("<ul>")[-1]  # the sentences, below tables that have no room on page one
    assert "±" in before
    assert "±" in rest


@pytest.mark.parametrize(
    ("limit", "expected"), [(0.9, "within it"), (0.4, "still above it")], ids=["within", "above"]
)  # of the field of the straight run, of which half is left at the end
def test_a_place_above_its_limit_is_above_it_or_within_it_at_the_end_of_the_run(everything, limit, expected):
    bench = everything.result.receptors[0]
    verdict = dataclasses.replace(bench, limit_t=limit * bench.b_rms_t, within_limit=False)
    found = reservation_results(everything.study, everything.solutions, [verdict], everything.result.parts, None)
    result = dataclasses.replace(everything.result, zones=(), receptors=(verdict,), reservations=found)
    said = " ".join(summary(result).split())
    unit = receptor_table(result).full.columns[3].unit  # that of the tables
    assert re.search(rf"bench: above the limit, {expected} at the end of the run \([\d.]+.{unit}\)", said)
