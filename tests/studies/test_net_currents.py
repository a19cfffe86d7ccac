"""Net currents: worst phases by brute force, fields by direct solves, returns in metal and earth, and every cell."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.worst_phases import gram, worst_phases
from studies.answers.answers import Answers
from studies.answers.fields.compute import map_result, receptor_results, traverse_results
from studies.answers.fields.map_marks import field_text
from studies.answers.fields.readings import field_readings
from studies.answers.fields.words import receptor_rows, verdict_line
from studies.answers.laying import compute as laying
from studies.answers.laying import direct
from studies.answers.limits.judged_field import JudgedField
from studies.answers.loops.compute import loop_results
from studies.answers.losses.compute import loss_results
from studies.answers.net_currents.compute import net_currents
from studies.answers.net_currents.marked import marked_receptors, marked_zones
from studies.answers.net_currents.rows import NetCurrents
from studies.answers.net_currents.superposed import NetAtPoints
from studies.answers.net_currents.with_net import field_with_net, line_resultant, superposed_of, taken_net_currents
from studies.answers.net_currents.words import net_current_verdicts, net_current_words
from studies.answers.orders.compute import order_search
from studies.answers.permitted.compute import permitted_result
from studies.answers.permitted.rows import PermittedCable
from studies.answers.remedies import compute as remedies
from studies.answers.reservations.rows import ReservationResult
from studies.answers.shields import compute as shields
from studies.answers.solutions import solved_variant
from studies.answers.space.rows import AlongCourseResult, SpaceFieldResult, SpaceResult
from studies.answers.space.words import space_rows, space_verdicts
from studies.answers.stated_limits.compute import stated_limit_results
from studies.compare.case_numbers import worst_over_limit, zone_fields
from studies.result import Result
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.reading import loads
from studies.text.units import FLUX_DENSITY
from tests.studies.cells import FLUX, LOSS, Known, err, num, off, words
from tests.studies.coarse_meshes import coarse_meshes
from tests.studies.sheet_rows import told
from tests.studies.solved_examples import EXAMPLES, of_examples

EXAMPLE = "net_current"
STUDY = """title = "Two cables in a tube"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "70 degC" }
insulation = "1.5 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-12 mm", "0 mm"], ["10 mm", "6 mm"]]
phases = ["L1", "L2"]
current = { L1 = ["100 A", "0 deg"], L2 = ["100 A", "180 deg"] }
net_current = NET

[[metalwork]]
name = "pipe"
shape = "tube"
at = ["0 m", "0 m"]
outside_diameter = "60 mm"
thickness = "2 mm"
material = "copper"

[[receptors]]
name = "bench"
at = ["0.3 m", "0.4 m"]

[accuracy]
tolerance = "5 %"
"""
PLAIN = STUDY.replace("net_current = NET\n", "")


WALL = '\n[[traverses]]\nname = "wall"\nfrom = ["0.3 m", "0.4 m"]\nto = ["0.6 m", "0.8 m"]\npoints = 5\n'
EARTH = '\n[earth]\nresistivity = "100 ohm*m"\nsurface = "-1 m"\n'
OPPOSITE = 'L1 = ["100 A", "0 deg"], L2 = ["100 A", "180 deg"]'


@dataclass(frozen=True)
class Solved:
    """A study without net currents on a coarse mesh."""

    solutions: tuple[Solution, ...]
    done: Mapping[str, tuple[Any, ...]]

    def net(self, text: str, more: str = "", **done: Any) -> NetCurrents:
        found = net_currents(loads(STUDY.replace("NET", text) + more), self.solutions, {**self.done, **done})
        assert found is not None
        return found


def solved_of(text: str) -> Solved:
    study = loads(text)
    with coarse_meshes():
        solutions = solved_variant(study, lambda _: None)
    done = {
        "receptors": receptor_results(study, solutions),
        "losses": loss_results(study, solutions),
        "zones": (),
        "limit_distances": (),
        "traverses": (),
    }
    return Solved(solutions, done)


def stated(each: complex) -> str:
    """Go and return of 100 A with another current in step in both."""
    both = (("L1", 100 + each), ("L2", each - 100))
    texts = (f'{label} = ["{abs(i)} A", "{math.degrees(np.angle(i))} deg"]' for label, i in both)
    return PLAIN.replace(OPPOSITE, ", ".join(texts))


@pytest.fixture(scope="module")
def pair() -> Solved:
    return solved_of(PLAIN)


def test_the_worst_phases_are_those_of_a_search_over_all_angles() -> None:
    rng = np.random.default_rng(7)
    vectors = rng.normal(size=(4, 30, 2)) + 1j * rng.normal(size=(4, 30, 2))
    turns = np.exp(2j * np.pi * np.arange(72) / 72)
    for count, turned in ((2, turns[:, None]), (3, np.stack(np.meshgrid(turns, turns), axis=-1).reshape(-1, 2))):
        squares, phases = worst_phases(gram(vectors[:count]))
        at = vectors[0] + np.einsum("qk,kqd->qd", np.exp(1j * phases), vectors[1:count])
        assert squares == pytest.approx((np.abs(at) ** 2).sum(axis=1), rel=1e-9)  # the phases have the value
        brute = np.array(
            [(np.abs(v[0] + turned @ v[1:]) ** 2).sum(axis=1).max() for v in vectors[:count].swapaxes(0, 1)]
        )
        # half a step of 5 degrees away, a square is at most 2 (1 - cos 2.5 deg) of the largest products lower
        assert np.all((brute <= squares * (1 + 1e-12)) & (squares <= brute * (1 + 6e-3)))
    closed = (np.abs(vectors[:2]) ** 2).sum(axis=(0, 2)) + 2 * np.abs((vectors[0].conj() * vectors[1]).sum(axis=1))
    assert worst_phases(gram(vectors[:2]))[0] == pytest.approx(closed, rel=1e-12)
    assert np.array_equal(worst_phases(gram(np.zeros((2, 1, 2), dtype=complex)))[1], [[0.0]])


def test_a_stated_angle_and_the_worst_one_are_those_of_stated_currents(pair: Solved) -> None:
    found = pair.net('{ share = "5 %" }')
    (row,), angle = found.fields, found.fields[0].angles_rad[0]
    direct = solved_of(stated(2.5 * np.exp(1j * angle)))  # another drive of the same mesh: equal but for rounding
    assert row.b_rms_t == pytest.approx(direct.done["receptors"][0].b_rms_t, rel=1e-9)
    assert row.b_rms_error_t >= direct.done["receptors"][0].b_rms_error_t  # changes of both vectors, not of their sum
    (opposite,) = pair.net(f'{{ current = "5 A", angle = "{math.degrees(angle) - 180} deg" }}').fields
    assert opposite.angles_rad[0] == pytest.approx(angle - math.pi)
    # |a + b|^2 + |a - b|^2 = 2 |a|^2 + 2 |b|^2
    squares = row.b_without_rms_t**2 + row.net_b_rms_t**2
    assert row.b_rms_t**2 + opposite.b_rms_t**2 == pytest.approx(2 * squares, rel=1e-9)
    assert row.b_rms_t > max(row.b_without_rms_t, opposite.b_rms_t)
    of_pipe, of_all = found.losses
    turned = pair.net(f'{{ current = "5 A", angle = "{math.degrees(angle)} deg" }}').losses
    metal = sum(loss.loss_w_per_m for loss in direct.done["losses"] if loss.kind == "metalwork")
    assert turned[0].loss_w_per_m == pytest.approx(metal, rel=1e-9)
    assert turned[1].loss_w_per_m == pytest.approx(sum(o.loss_w_per_m for o in direct.done["losses"]), rel=1e-9)
    at_worst = solved_of(stated(2.5 * np.exp(1j * of_pipe.angles_rad[0])))
    metal = sum(loss.loss_w_per_m for loss in at_worst.done["losses"] if loss.kind == "metalwork")
    assert of_pipe.loss_w_per_m == pytest.approx(metal, rel=1e-9)
    assert of_pipe.loss_w_per_m > max(turned[0].loss_w_per_m, of_pipe.loss_without_w_per_m)
    assert of_all.loss_w_per_m >= turned[1].loss_w_per_m


def test_the_field_alone_is_that_of_a_line_and_none_if_the_current_returns_in_the_pipe(pair: Solved) -> None:
    line = mu_0 * 5 / (2 * np.pi * 0.5)
    # in a round tube: the net current alone, by Ampere's law; its middle is 3 mm off, 0.6 % at 0.5 m [D]
    (row,) = pair.net('{ current = "5 A" }').fields
    assert row.net_b_rms_t == pytest.approx(line, rel=1e-2)
    both = [pair.net(f'{{ current = "5 A", returns_in = "pipe", angle = "{at} deg" }}') for at in (0, 180)]
    assert both[0].fields[0].net_b_rms_t < 1e-2 * line  # go and return about one axis have no field outside
    added = sum(row.loss_w_per_m - row.loss_without_w_per_m for row in (one.losses[0] for one in both)) / 2
    resistance = 1.7241e-8 / (math.pi * 2e-3 * 58e-3)  # at 20 degC; the tube is thin, so that 50 Hz changes little
    assert added == pytest.approx(25 * resistance, rel=0.05)


def test_a_return_through_the_earth_is_that_of_stated_currents(pair: Solved) -> None:
    found = solved_of(PLAIN + EARTH).net('{ current = "5 A", angle = "90 deg" }', EARTH)
    direct = solved_of(stated(2.5j) + EARTH)
    assert found.currents[0].returns_in == "earth"
    assert found.fields[0].b_rms_t == pytest.approx(direct.done["receptors"][0].b_rms_t, rel=1e-9)
    assert found.fields[0].b_rms_error_t == pytest.approx(direct.done["receptors"][0].b_rms_error_t, rel=0.5)


def limited(text: str, net: str = 'net_current = { current = "5 A" }') -> Study:
    """With a limit of 2 uT, which 1.54 uT of the phase currents meet and 3.36 uT with the net current do not."""
    place = 'at = ["0.3 m", "0.4 m"]'
    return loads(STUDY.replace("net_current = NET", net).replace(place, f'{place}\nlimit = "2 uT"') + text)


def test_squares_with_net_currents_are_those_of_the_worst_phases_or_bound_them() -> None:
    rng = np.random.default_rng(3)
    v = rng.normal(size=(4, 30, 2)) + 1j * rng.normal(size=(4, 30, 2))
    one = NetAtPoints(v[1], v[2:3], (np.abs(v[2]) ** 2).sum(axis=1))
    exact = worst_phases(gram(np.stack([v[0] + v[1], v[2]])))[0]
    assert one.squared(v[0]) == pytest.approx(exact, rel=1e-9)
    two = NetAtPoints(0 * v[1], v[2:], worst_phases(gram(v[2:]))[0])
    exact, bound = worst_phases(gram(v[[0, 2, 3]]))[0], two.squared(v[0])
    assert np.all(exact * (1 - 1e-9) <= bound)
    assert np.all(np.sqrt(bound) <= np.sqrt((np.abs(v[[0, 2, 3]]) ** 2).sum(axis=2)).sum(axis=0) * (1 + 1e-9))


def test_the_95th_percentile_over_layings_holds_the_net_current(pair: Solved, monkeypatch: pytest.MonkeyPatch) -> None:
    study = limited('[laying_tolerance]\nacross = "0.05 mm"\nseed = 1\n')

    def drawn_alone(study: Study, sections: Any, layings: Any, points: Any, net: Any, _: Any) -> Any:
        return direct._solved(sections, points, net), {}

    monkeypatch.setattr(laying, "solve_layings", drawn_alone)
    found = laying.laying_result(study, pair.solutions, receptor_results(study, pair.solutions), (), lambda _: None)
    assert found is not None
    (row,), (own,) = found.fields, pair.net('{ current = "5 A" }').fields
    assert row.b_rms_t == pytest.approx(own.b_rms_t)
    assert (row.within_limit, row.p95_within_limit) == (False, False)
    # cables 22.8 mm apart of which each moves by 0.05 mm: the pair's field changes by 1.645 sqrt(2) 0.05/22.8 = 0.5 %
    # at the 95th percentile, at the most, and the net current's by far less
    assert 1.0005 < row.p95_b_rms_t / row.b_rms_t < 1 + 1.2 * 0.0051 * own.b_without_rms_t / own.b_rms_t


def test_the_verdict_of_a_phase_order_counts_the_net_current(pair: Solved) -> None:
    for net, within in (('net_current = { current = "5 A" }', False), ("", True)):
        study = limited('[order_search]\nobjective = "field"\n', net)
        found = order_search(study, pair.solutions[0], lambda _: None)
        assert found is not None
        assert found.best_solved.within_limits is within
        assert found.best_solved.worst_over_limit == pytest.approx(1.538 / 2, rel=1e-3)  # without it in both


def test_remedies_are_for_what_the_net_current_takes_above_its_limit(
    pair: Solved, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(remedies, "_changes", lambda *_: ())
    for net, count in (('net_current = { current = "5 A" }', 1), ("", 0)):
        study = limited("[remedies]\n", net)
        places = receptor_results(study, pair.solutions)
        rows = remedies.remedy_results(study, pair.solutions, places, (), (), (), lambda _: None)
        assert len(rows) == count
    moved = limited("[remedies]\n")
    (row,) = remedies.remedy_results(moved, pair.solutions, places, (), (), (), lambda _: None)
    # far enough that 2 uT of the net current at 0.5 m, which falls with the distance, and 1.54 uT of the pair, which
    # fall with its square, together are 2 uT: x = 0.5 m (2 + sqrt(4 + 4 2 1.54))/4 by the sum, less by their angle
    assert row.within_limit
    assert row.b_rms_t == pytest.approx(2e-6, rel=5e-3)
    assert 0.8 * 0.5 * (2.005 + math.sqrt(4.02 + 12.3)) / 4 < 0.5 + (row.distance_m or 0.0) < 0.5 * 1.52


def test_a_shield_meets_a_limit_with_the_net_current_or_not_at_all(
    pair: Solved, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shields, "solved_variant", lambda *_: pair.solutions)  # as if the plate did nothing
    monkeypatch.setattr(shields, "factor_without_edges", lambda *_: (None, ()))
    plate = 'metals = ["mild-steel"]\nrelative_densities = [7.85]\nthicknesses = ["2 mm"]\nwidths = ["0.1 m"]\n'
    plate += 'middles = [["0.2 m", "0.1 m"]]\nleast = "mass"\n'
    for net, within in (('net_current = { current = "5 A" }', False), ("", True)):
        study = limited(f"[shield_search]\n{plate}", net)
        places = receptor_results(study, pair.solutions)
        (row,) = shields.shield_results(study, places, (), lambda _: None)
        assert row.within_limits is within
        assert row.shielding_factor == pytest.approx(1.0)  # of the field without net currents in both


AS_STATED = """
[[stated_limits]]
name = "microscope"
receptor = "bench"
limit = "1 mT"
"""


def test_limits_as_stated_hold_the_net_current_at_their_own_worst_angle(pair: Solved) -> None:
    a, b = ((row.bx_t, row.by_t) for row in (pair.done["receptors"][0], solved_of(stated(2.5)).done["receptors"][0]))
    field, added = np.array(a), np.array(b) - np.array(a)
    turns = np.exp(2j * np.pi * np.arange(360) / 360)
    across = np.pi * np.arange(180) / 180
    normals = np.stack([np.cos(across), np.sin(across)])
    major = np.abs((field + turns[:, None] * added) @ normals).max()  # by all angles and directions
    level = 200e-6  # ICNIRP 2010, general public, 50 Hz [C]
    cases = {
        'component = "x"': abs(field[0]) + abs(added[0]),
        'value = "peak to peak"\ncomponent = "y"': 2 * math.sqrt(2) * (abs(field[1]) + abs(added[1])),
        'component = "major axis"': major,
        'value = "weighted peak"': major / level,
    }
    for terms, expected in cases.items():
        text = AS_STATED + terms
        if "weighted" in terms:
            text = text.replace("1 mT", "ICNIRP 2010 public")
        study = loads(STUDY.replace("NET", '{ current = "5 A" }') + text)
        (row,) = stated_limit_results(study, pair.solutions)
        # steps of a degree in angle and direction miss at most 2 (1 - cos 0.5 deg) = 8e-5
        assert (row.b_t or row.index) == pytest.approx(expected, rel=2e-4), terms
        assert row.formula_index == pytest.approx(row.index, rel=0.15)
    (bare,) = stated_limit_results(loads(PLAIN + AS_STATED), pair.solutions)
    assert bare.b_t == pytest.approx(float(np.linalg.norm(field)), rel=1e-9)


def test_a_loop_beside_a_net_current_has_the_voltage_of_the_logarithm_more(pair: Solved) -> None:
    loop = '\n[[loops]]\nname = "pair"\nwires = [["0.5 m", "0 m"], ["0.6 m", "0 m"]]\n'
    for lay in ("", 'length = "10 m"\nlay_length = "1 m"\n'):
        (bare,) = loop_results(loads(PLAIN + loop + lay), pair.solutions)
        (row,) = loop_results(loads(STUDY.replace("NET", '{ current = "5 A" }') + loop + lay), pair.solutions)
        net = 2 * math.pi * 50 * mu_0 * 5 / (2 * math.pi) * math.log(0.6 / 0.5)
        # one line at the middle of the pipe; the conductors' middle is 3 mm off, 0.7 % [D]
        assert row.u_v_per_m - bare.u_v_per_m == pytest.approx(net, rel=1e-2)
        assert row.formula_u_v_per_m - bare.formula_u_v_per_m == pytest.approx(net, rel=1e-2)
        assert row.u_error_v_per_m > bare.u_error_v_per_m
        if lay:  # lay length/pi of the voltage per metre, in a field that is nearly even
            assert row.voltage_v == pytest.approx(row.u_v_per_m / math.pi, rel=0.1)


def test_a_permitted_current_is_compared_with_what_flows_at_the_worst_angle(pair: Solved) -> None:
    def with_(net: str) -> PermittedCable:
        text = STUDY.replace("net_current = NET", f'permitted_current = "102 A"\n{net}')
        found = permitted_result(loads(text), pair.solutions, loss_results(loads(text), pair.solutions), lambda _: None)
        assert found is not None
        return found.cables[0]

    bare, own = with_(""), with_('net_current = { current = "5 A" }')
    assert own.current_rms_a == pytest.approx(102.5)  # each of two conductors carries half, in phase with its own
    assert bare.current_ratio < 1 < own.current_ratio
    assert 1.02**2 < own.loss_w_per_m / bare.loss_w_per_m < 1.03**2  # as the square of 1.025, and of the eddies less


@of_examples([EXAMPLE])
def test_a_run_in_space_says_that_net_currents_may_take_it_above_its_limit(solved: Result) -> None:
    microscope, net = solved.receptors[0], solved.net_currents
    assert net is not None
    at = 3.0, 0.0, 3.0
    place = SpaceFieldResult(
        *("bench", *at, 4e-8, 1e-9, 1e-9, None, 4e-8, 0.0, "straight 1", 9.0, 1.0, 4e-8, 1e-7),
        *(None, None, None, True, ()),
    )
    along = AlongCourseResult("microscope", "bend 1", *at, 4e-8, 1e-9, microscope.b_rms_t, 1e-7, None, None, None, True)
    still = replace(along, name="desk", b_rms_t=1e-8, limit_t=1.0)
    run = replace(solved, space=SpaceResult((place,), (along, still), (), None, 0.1))
    rows = space_rows(run)
    # 3 A as a line at 9 m, 67 nT, times 1.71, and 40 nT are above 100 nT; of the microscope 1.71 times its own
    turned = "within the limit without net currents, may be ABOVE it with them"
    assert [row.verdict for row in rows] == [turned, turned, "within the limit"]
    assert [row.tone for row in rows] == ["bad", "bad", "good"]
    assert [row.margin is None for row in rows] == [True, True, False]
    assert rows[0].of == "Run in space at “bench”, without net currents"
    assert space_verdicts(run) == (
        "Within the limit in the run in space, may be above it with net currents: “bench”, “microscope”.",
    )
    far = replace(place, distance_m=30.0)  # 20 nT times 1.71
    assert space_rows(replace(run, space=SpaceResult((far,), (), (), None, 0.1)))[0].verdict == "within the limit"


def test_maps_readings_and_traverses_hold_the_net_current(pair: Solved) -> None:
    study = limited("")
    field, drawn = field_with_net(study, pair.solutions), map_result(study, pair.solutions)
    read = field_readings(study, pair.solutions, drawn).grids[0]
    for grid in (drawn, read):
        row, column = np.abs(grid.y_m - 0.4).argmin(), np.abs(grid.x_m - 0.3).argmin()
        point = np.array([[grid.x_m[column], grid.y_m[row]]])
        # the map averages no circles near the solids, and its readings come from one series for many points
        assert grid.b_rms_t[row, column] == pytest.approx(field.value(point)[0], rel=2e-3)
        assert grid.b_rms_t[row, column] > 1.9 * JudgedField(pair.solutions).value(point)[0]
        lines = line_resultant(pair.solutions[0].model, superposed_of(field)[0], point)
        assert grid.line_formula_b_rms_t[row, column] == pytest.approx(lines[0])
    assert read.b_rms_error_t[row, column] >= JudgedField(pair.solutions).value_and_error(point)[1]
    outwards = np.linspace((0.3, 0.4), (0.6, 0.8), 5)
    found = traverse_results(loads(PLAIN + WALL), solved_of(PLAIN + WALL).solutions)
    net = pair.net('{ current = "5 A" }', traverses=found)
    bench, wall = net.fields
    assert np.allclose(found[0].points_m, outwards)
    assert wall.b_rms_t == pytest.approx(bench.b_rms_t)  # highest at its start, where the bench is
    assert net.traverses[0].b_rms_t[[0, 4]] == pytest.approx(field.value(outwards[[0, 4]]))


@of_examples([EXAMPLE])
def test_the_map_marks_a_receptor_above_its_limit_with_the_net_current(solved: Result) -> None:
    (one,) = marked_receptors(solved)
    assert one.within_limit is False
    assert field_text(one, FLUX_DENSITY[0]) == "microscope\n132\u202fnT, above 100\u202fnT"
    assert marked_zones(solved)[0].b_max_rms_t > 1.01 * solved.zones[0].b_max_rms_t


@of_examples([EXAMPLE])
def test_a_case_of_a_comparison_is_judged_with_the_net_current(solved: Result) -> None:
    worst, net = worst_over_limit(solved), solved.net_currents
    assert net is not None
    microscope, desk, _ = net.fields
    assert worst.place == "microscope"
    assert worst.value == pytest.approx(microscope.b_rms_t / 100e-9)
    assert worst.error == pytest.approx(microscope.b_rms_error_t / 100e-9)
    assert worst.formula == pytest.approx(microscope.line_formula_b_rms_t / 100e-9)
    zone = zone_fields(solved)["desk"]
    assert (zone.value, zone.error, zone.formula) == (desk.b_rms_t, desk.b_rms_error_t, desk.line_formula_b_rms_t)


def test_a_net_current_has_harmonics_of_its_circuit() -> None:
    net = '{ current = "5 A", harmonics = { 5 = "2 A" } }\nharmonics = { 5 = "10 %" }'
    both = solved_of(STUDY.replace("NET", net)).net(net)
    assert [(row.current_a, row.frequency_hz, row.share) for row in both.currents] == [(5, 50, 0.05), (2, 250, None)]
    first, second = (line(row.current_a) for row in both.currents)
    assert both.fields[0].net_b_rms_t == pytest.approx(math.hypot(first, second), rel=1e-2)  # in a round tube, as above
    told = net_current_words(cast(Answers, SimpleNamespace(net_currents=both)))[1]
    assert told.startswith("Net current of F1: 2.00\u202fA at 250\u202fHz, carried in step by L1, L2, back far away;")
    alone = loads(STUDY.replace("NET", net.replace("5 A", "0 A")))
    assert [row.frequency_hz for row in taken_net_currents(alone)] == [250]


def line(current: float) -> float:
    """Field of a line current half a metre away. [T]"""
    return mu_0 * current / (2 * math.pi * 0.5)


@of_examples([EXAMPLE])
def test_a_verdict_that_the_stated_net_current_turns_says_so_and_is_bad(solved: Result) -> None:
    row = next(row for row in receptor_rows(solved) if "microscope" in row.of)
    assert row.verdict == "within the limit without net currents, ABOVE it with them"
    assert row.tone == "bad"
    assert row.margin is None  # that without net currents, two thirds of the limit, would mislead
    assert (
        verdict_line(solved) == "Both places with a limit are within the limit without net currents, not all with them."
    )
    assert row.beyond is not None
    assert "with the net currents as stated (132 nT)" in " ".join(row.beyond.split())
    assert " A of net current" not in row.beyond


@of_examples([EXAMPLE])
@pytest.mark.parametrize(
    ("within", "words"),
    [
        (True, " without net currents, ABOVE it with them; 3.00 times the field along the course"),
        (False, " on a straight run without net currents, ABOVE it with either; 3.00 times the field along the course"),
    ],
)
def test_a_course_does_not_hide_that_the_net_current_turns_a_verdict(solved: Result, within: bool, words: str) -> None:
    field = next(row.b_rms_t for row in solved.receptors if row.name == "microscope")
    course = ReservationResult("receptor", "microscope", "", "course", 3 * field, within, not within, "bend 1")
    both = replace(solved, reservations=(*solved.reservations, course))
    row = next(row for row in receptor_rows(both) if "microscope" in row.of)
    assert row.verdict == f"within the limit{words}"
    assert row.tone == "bad"


@of_examples([EXAMPLE])
def test_the_head_of_the_report_names_the_worst_with_net_currents(solved: Result) -> None:
    turned, worst = net_current_verdicts(solved)
    assert turned == "Within the limit without net currents, above it with them: “microscope”."
    assert worst == "With net currents the worst is “microscope”: the field is 1.32 times the limit."
    assert solved.net_currents is not None
    desk = solved.net_currents.fields[1]
    alone = replace(solved, net_currents=replace(solved.net_currents, fields=(desk,)))
    left = 1 - (desk.b_rms_t + desk.b_rms_error_t) / 1e-6
    assert net_current_verdicts(alone) == (
        f"With net currents the least margin is {100 * left:.1f} % of the limit, at “desk”.".replace(" %", "\u202f%"),
    )


@of_examples([EXAMPLE])
def test_the_net_current_of_the_example_takes_the_microscope_above_its_limit(solved: Result) -> None:
    found = solved.net_currents
    assert found is not None
    assert [row.carried_by for row in found.currents] == [("N",)]
    microscope, desk, wall = found.fields
    assert solved.exceeded_with_net_currents() == (microscope,)
    assert "above its limit: microscope with net currents" in repr(solved)
    # go 3 A in N at (8.5, 25.5) mm, back in the pipe at (-1.2, -0.6) m; eddies in tray and pipe are small
    go, back = np.array([3, 0]) - (0.0085, 0.0255), np.array([3, 0]) - (-1.2, -0.6)
    lines = mu_0 * 3 / (2 * np.pi) * abs(1 / complex(*go) - 1 / complex(*back))
    assert microscope.net_b_rms_t == pytest.approx(lines, rel=0.03)
    assert microscope.b_rms_t <= microscope.b_without_rms_t + microscope.net_b_rms_t
    assert desk.b_rms_t > desk.b_without_rms_t
    assert wall.b_rms_t == max(found.traverses[0].b_rms_t.max(), wall.b_rms_t) > 1.5 * wall.b_without_rms_t
    assert wall.y_m == pytest.approx(found.traverses[0].highest_m - 0.6)
    reach = found.distances[0]
    assert reach.of == ("microscope",)
    assert reach.without_from_outline_m is not None
    assert reach.from_outline_m is not None
    assert reach.from_outline_m > 1.2 * reach.without_from_outline_m
    # a field that falls with the distance or faster bounds what its error makes of the distance
    assert reach.error_m is not None
    relative = microscope.b_rms_error_t / microscope.b_rms_t
    assert 0.3 * relative < reach.error_m / reach.from_outline_m < 3 * relative
    assert microscope.line_formula_b_rms_t == pytest.approx(microscope.b_rms_t, rel=0.15)
    text = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8")
    assert [row.share for row in found.currents] == pytest.approx([3 / 170])
    assert 'current = "3 A"' in text


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    found = result.net_currents
    if found is None:
        return
    angle = words(
        "Angle", lambda row: ", ".join(f"{round(math.degrees(a))}°".replace("-", "−") for a in row.angles_rad)
    )
    columns = (
        words("Place", lambda row: row.place),
        num("Without", FLUX, lambda row: row.b_without_rms_t),
        *([err(FLUX, lambda row: row.b_without_rms_error_t)] if full else []),
        num("Alone", FLUX, lambda row: row.net_b_rms_t),
        num("With", FLUX, lambda row: row.b_rms_t),
        *([err(FLUX, lambda row: row.b_rms_error_t), angle] if full else []),
        *([num("Formula", FLUX, lambda row: row.line_formula_b_rms_t)] if full else []),
        *([num("Difference", "%", lambda row: off(row.line_formula_b_rms_t, row.b_rms_t))] if full else []),
        num("Limit", FLUX, lambda row: row.limit_t),
        words("Verdict", lambda row: verdict(row) if full else re.compile(rf"(! )?{verdict(row)}$")),
    )
    yield Known("Flux density with net currents, rms", found.fields, columns)
    columns = (
        words("Limit", lambda row: told("{T}", row.limit_t)),
        words("Of", lambda row: ", ".join(row.of)),
        num("Without", "m", lambda row: row.without_from_outline_m),
        num("With", "m", lambda row: row.from_outline_m),
        *([err("m", lambda row: row.error_m)] if full else []),
    )
    yield Known("Largest distances beyond which the limits are met, with net currents", found.distances, columns)
    columns = (
        words("Part", lambda row: row.part),
        num("Without", LOSS, lambda row: row.loss_without_w_per_m),
        *([err(LOSS, lambda row: row.loss_without_error_w_per_m)] if full else []),
        num("With", LOSS, lambda row: row.loss_w_per_m),
        *([err(LOSS, lambda row: row.loss_error_w_per_m), angle] if full else []),
    )
    yield Known("Loss with net currents", found.losses, columns)


def verdict(row: Any) -> str:
    if row.limit_t is None:
        return "–"
    over = "above the limit" if row.b_rms_t > row.limit_t else "limit within the error"
    return "within the limit" if row.within_limit else over


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.net_currents
    if found is None:
        return
    above = [f"“{row.place}”" for row in found.fields if row.within_limit_without and not row.within_limit]
    if above:
        yield f"Within the limit without net currents, above it with them: {', '.join(above)}.", ()
    worst = max(found.fields, key=lambda row: (row.b_rms_t + row.b_rms_error_t) / (row.limit_t or math.inf))
    assert worst.limit_t is not None
    share, spread = worst.b_rms_t / worst.limit_t, worst.b_rms_error_t / worst.limit_t
    if share + spread <= 1:
        left = 1 - share - spread
        yield f"With net currents the least margin is {{%}} of the limit, at “{worst.place}”.", (left,)
    elif share > 1:
        yield f"With net currents the worst is “{worst.place}”: the field is {{}} times the limit.", (share,)
    yield "A net current flows in water pipe. A joint or bond that is opened there can bear{*}", ()


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    if result.net_currents is not None:
        yield "A net current flows in water pipe. A joint or bond that is opened there can bear{*}", ()
    for row in () if result.net_currents is None else result.net_currents.currents:
        text = f"Net current of {row.circuit}: {{A}} ({{%}} of the largest phase current), carried by N, back in "
        yield f"{text}{row.returns_in}; angle: worst of each number.", (row.current_a, row.share)
