"""Routes of study files: what runs through, what is joined at the ends, and what other cross-sections make of it."""

from __future__ import annotations

import json
import math
from html import unescape
from pathlib import Path

import numpy as np
import pytest

import studies
from studies.command import main
from studies.formulas.screens import screen_reactance
from studies.output.numbers import results_document
from studies.output.tables import tables
from studies.report.contents import write_report
from studies.result import Result
from studies.solve import accuracy, levels
from studies.study.decisions import RouteSection
from studies.study.phases import LINES
from studies.study.reading import loads
from studies.text.numbers import brief
from studies.text.units import Unit
from tests.studies.reading_cells import tables_of_terminal

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")

MV = """
title = "Screened feeder"
frequency = "50 Hz"
[cables.mv]
conductor = { material = "copper", area = "240 mm^2", temperature = "80 degC" }
insulation = "5.5 mm"
screen = { material = "copper", thickness = "0.2 mm", temperature = "65 degC" }
jacket = "2.5 mm"
[[circuits]]
name = "F1"
cable = "mv"
arrangement = "flat"
spacing = "70 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "380 A"
[[receptors]]
name = "desk"
at = ["1 m", "0.5 m"]
limit = "10 uT"
[accuracy]
tolerance = "20 %"
"""
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "2 mm"
material = "aluminium-5052"
"""
SOLID = '[[bonds]]\nparts = ["F1 screens"]\n'
CROSSED = '[[bonds]]\nparts = ["F1 screens"]\nkind = "cross-bonded"\n'
TREFOIL = '"circuits.F1.arrangement" = "trefoil"'
ORDINARY = levels.FINENESS
IDENTITY = 1e-9
"""Two ways through the same matrices differ by rounding."""


def run(*more: str) -> Result:
    return studies.run(loads("\n".join((MV, *more))))


def section(length: float, *lines: str) -> str:
    return "\n".join(("[[route]]", f'length = "{length} m"', *lines))


def current_of(result: Result, line: str) -> complex:
    assert result.route is not None
    return next(entry.current_a for entry in result.route.lines if entry.line == line)


@pytest.mark.parametrize("bonds", [SOLID, '[[bonds]]\nparts = ["F1 screens", "T1"]\n', ""])
def test_a_run_of_one_section_is_the_study_times_its_length(bonds: str) -> None:
    result = run(TRAY, bonds, section(40))
    route = result.route
    assert route is not None
    # the power that enters the lines is the loss of all parts: an identity of the discrete system
    total = sum(loss.loss_w_per_m for loss in result.losses)
    assert route.loss_w == pytest.approx(40 * total, rel=IDENTITY)
    assert route.sections[0].loss_w_per_m == pytest.approx(total, rel=IDENTITY)
    for part in result.parts:
        if part.part.endswith("screen"):
            phase = LINES[int(part.part.split(".")[1]) - 1]
            # an open screen carries the rounding of a solve
            assert abs(current_of(result, f"F1 {phase} screen") - part.current_a) < 1e-9 * 380
    for own, drop in zip(result.phases, route.circuits[0].drop_v, strict=True):
        assert drop == pytest.approx(40 * own.voltage_v_per_m, rel=IDENTITY)
    assert route.fields[0].b_rms_t == pytest.approx(result.receptors[0].b_rms_t, rel=IDENTITY)
    assert route.fields[0].line_formula_b_rms_t == pytest.approx(result.receptors[0].line_formula_b_rms_t, rel=0.05)
    if "T1" in bonds:
        tray = next(part.current_a for part in result.parts if part.part == "T1")
        assert abs(tray) > 1
        assert current_of(result, "T1") == pytest.approx(tray, rel=IDENTITY)


@pytest.mark.parametrize(
    "earth", ["", 'earth = true\nimpedance = ["0.2 ohm/km", "0 ohm/km"]\n[earth]\nresistivity = "100 ohm*m"\n']
)
def test_equal_cross_bonded_sections_carry_what_the_cross_bonded_study_says(earth: str) -> None:
    result = run(
        CROSSED + earth.replace("[earth]", '[earth]\nsurface = "-1 m"'), section(100), section(100), section(100)
    )
    # the study solves the three minor sections of a cross bond by their loops, the route by its lines
    study = [part.current_a for part in result.parts if part.part.endswith("screen")]
    route = [current_of(result, f"F1 {phase} screen") for phase in LINES]
    assert route == pytest.approx(study, rel=1e-6, abs=1e-6)
    if earth:
        assert min(abs(current) for current in study) > 0.1  # something is left that returns through the earth


def test_sections_of_other_cross_sections_add_what_each_study_says() -> None:
    flat = run()
    other = studies.run(loads(MV.replace('"flat"\nspacing = "70 mm"', '"trefoil"')))
    result = run(section(30), section(70, 'remove = ["circuits.F1.spacing"]', f"set = {{ {TREFOIL} }}"))
    route = result.route
    assert route is not None
    for k, drop in enumerate(route.circuits[0].drop_v):
        expected = 30 * flat.phases[k].voltage_v_per_m + 70 * other.phases[k].voltage_v_per_m
        assert drop == pytest.approx(expected, rel=IDENTITY)
    assert [entry.b_rms_t for entry in route.fields] == pytest.approx(
        [flat.receptors[0].b_rms_t, other.receptors[0].b_rms_t], rel=IDENTITY
    )
    losses = [sum(loss.loss_w_per_m for loss in one.losses) for one in (flat, other)]
    assert route.loss_w == pytest.approx(30 * losses[0] + 70 * losses[1], rel=IDENTITY)
    worst = route.worst_sections[0]
    assert (worst.section, worst.start_m, worst.end_m) == ("section 1", 0, 30)


def test_a_receptor_may_lie_elsewhere_beside_a_section() -> None:
    nearer = studies.run(loads(MV.replace('["1 m", "0.5 m"]', '["0.5 m", "0.5 m"]')))
    result = run(
        section(30, 'name = "far"'),
        section(5, 'name = "near"', 'set = { "receptors.desk.at" = ["0.5 m", "0.5 m"] }'),
    )
    assert result.route is not None
    far, near = result.route.fields
    assert (near.x_m, near.section) == (0.5, "near")
    # the mesh is refined for each place by itself: both hold to their error estimate
    assert near.b_rms_t == pytest.approx(nearer.receptors[0].b_rms_t, abs=near.b_rms_error_t)
    assert result.receptors[0].within_limit is far.within_limit is True
    assert near.within_limit is False
    assert result.exceeded() == ()
    assert [entry.section for entry in result.exceeded_along_route()] == ["near"]


def test_a_limit_that_is_exceeded_along_the_route_alone_is_told_and_decides_the_exit_status(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    near = section(5, 'name = "near"', 'set = { "receptors.desk.at" = ["0.5 m", "0.5 m"] }')
    path, folder = tmp_path / "feeder.toml", tmp_path / "out"
    zone = '[[zones]]\nname = "bench"\nwindow = [["1 m", "0.5 m"], ["1.2 m", "0.7 m"]]'
    path.write_text("\n".join((MV, zone, section(30), near)), encoding="utf-8")
    assert main(["run", str(path), "--out", str(folder), "--fail-over-limit", "--svg"]) == 1
    assert "Above its limit along the route: desk beside near." in capsys.readouterr().out
    report = (folder / "report.html").read_text(encoding="utf-8")
    assert "Along the route a limit is exceeded in near." in report
    assert "Zones are judged in the stated cross-section only." in unescape(report)
    tables = {file.name for file in (folder / "tables").iterdir()}
    assert {"route_sections.csv", "route_circuits.csv", "route_lines.csv", "route_fields.csv"} <= tables
    lines = (folder / "tables" / "route_fields.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("receptor,section,start_m,end_m,x_m,y_m,b_rms_t,b_rms_error_t,line_formula_b_rms_t")
    assert [line.split(",")[1] for line in lines[1:]] == ["section 1", "near"]
    route = json.loads((folder / "results.json").read_text(encoding="utf-8"))["route"]
    assert route["length_m"] == 35.0
    assert len(route["lines"]) == 6
    figures = {file.name for file in (folder / "figures").iterdir()}
    assert {"route_f1.png", "run_section_near.svg"} <= figures  # asked by --svg


def test_open_screens_reach_the_standing_voltage_of_the_standard_and_earthing_in_the_middle_halves_it() -> None:
    trefoil = MV.replace('"flat"\nspacing = "70 mm"', '"trefoil"\nspacing = "70 mm"')
    ends = studies.run(loads(f"{trefoil}\n{section(300)}"))
    middle = studies.run(loads(f'{trefoil}\n{section(300)}\n[route_screens]\nearthed_at = "150 m"\n'))
    mean_diameter = 2 * (math.sqrt(240e-6 / math.pi) + 5.5e-3 + 0.1e-3)
    # E = X I with X of IEC 60287-1-1 for trefoil [C]; neighbours' eddy currents are not in it
    expected = 300 * 380 * float(screen_reactance(0.07, mean_diameter, 50.0))
    for result, factor, at in ((ends, 1.0, 300.0), (middle, 0.5, None)):
        assert result.route is not None
        for line in result.route.lines:
            if line.layer != "screen":
                continue
            assert line.largest_voltage_v == pytest.approx(factor * expected, rel=0.01)
            assert line.formula_largest_voltage_v == pytest.approx(factor * expected, rel=1e-9)
            assert (
                line.current_a == line.current_error_a == line.formula_current_a == 0
            )  # and not the rounding of a solve
            assert at is None or line.at_m == at
    standing = next(part.standing_voltage_v_per_100m for part in ends.parts if part.part == "F1.1.screen")
    assert ends.route is not None
    first = ends.route.lines[3]
    assert first.line == "F1 L1 screen"
    assert standing == pytest.approx((first.largest_voltage_v or 0.0) / 3, rel=IDENTITY)


def test_screens_that_stay_in_place_under_a_transposition_cancel_and_the_file_can_say_so() -> None:
    orders = (("L1", "L2", "L3"), ("L3", "L1", "L2"), ("L2", "L3", "L1"))

    def largest(turns: tuple[int | None, ...]) -> float:
        parts = []
        for order, turn in zip(orders, turns, strict=True):
            labels = ", ".join(f'"{label}"' for label in order)
            turned = [] if turn is None else [f"screens_turned = {turn}"]
            parts.append(section(100, f"phases = {{ F1 = [{labels}] }}", *turned))
        result = run(CROSSED, *parts)
        assert result.route is not None
        return max(abs(line.current_a) for line in result.route.lines if line.layer == "screen")

    # each screen keeps its place while the phases pass by: the induced voltages of three equal sections cancel
    assert largest((0, -1, -2)) < 1e-6
    assert largest((None, None, None)) > 1


def test_the_drop_at_a_load_is_that_of_the_hand_formula() -> None:
    loaded = section(80) + '\n[supply]\nvoltage = "400 V"\n[[loads]]\npower = "150 kW"\npower_factor = 0.8\n'
    result = studies.run(loads(MV.replace('"flat"\nspacing = "70 mm"', '"trefoil"') + loaded))
    assert result.route is not None
    circuit = result.route.circuits[0]
    found = circuit.delivered
    assert found is not None
    current = 150e3 / 0.8 / (math.sqrt(3) * 400)
    z = circuit.z1_ohm
    # R cos phi + X sin phi, textbook; what it leaves out is (X cos phi - R sin phi)^2 I^2/2 of the voltage squared
    hand = current * (0.8 * z.real + 0.6 * z.imag) / (400 / math.sqrt(3))
    second = (current * (0.8 * z.imag - 0.6 * z.real) / (400 / math.sqrt(3))) ** 2
    assert found.relative_drop == pytest.approx(hand, abs=second + 0.01 * hand)
    assert found.load == "150 kW at power factor 0.8 lagging, constant current"
    assert found.v2_over_v1 < 1e-3  # trefoil without a tray
    assert found.relative_drop == pytest.approx(found.formula_relative_drop, rel=0.01)


LOADED = MV.replace('"flat"\nspacing = "70 mm"', '"trefoil"')
SUPPLY = '\n[supply]\nvoltage = "400 V"\n'


def load_of(current: float, kind: str) -> str:
    """A load that takes a current [A] at the supply's voltage."""
    power = math.sqrt(3) * 400 * current * 0.8
    return f'[[loads]]\npower = "{power!r} W"\npower_factor = 0.8\nkind = "{kind}"\n'


@pytest.fixture(scope="module")
def loaded() -> Result:
    """A load of twice the study's currents; the limit lies between the two fields."""
    return studies.run(loads(LOADED.replace("10 uT", "4 uT") + section(80) + SUPPLY + load_of(760, "current")))


def test_losses_and_fields_are_given_at_the_load_as_well(loaded: Result) -> None:
    route = loaded.route
    assert route is not None
    (entry,), (part,) = route.fields, route.sections
    # twice the current, all else linear
    assert entry.load_b_rms_t == pytest.approx(2 * entry.b_rms_t, rel=IDENTITY)
    assert entry.load_b_rms_error_t == pytest.approx(2 * entry.b_rms_error_t, rel=1e-6)
    assert entry.load_line_formula_b_rms_t == pytest.approx(2 * entry.line_formula_b_rms_t, rel=IDENTITY)
    assert part.load_loss_w_per_m == pytest.approx(4 * part.loss_w_per_m, rel=IDENTITY)
    assert part.load_formula_loss_w_per_m == pytest.approx(4 * part.formula_loss_w_per_m, rel=IDENTITY)
    assert route.load_loss_w == pytest.approx(80 * 4 * part.loss_w_per_m, rel=IDENTITY)
    assert route.load_loss_error_w == pytest.approx(4 * route.loss_error_w, rel=1e-6)
    assert entry.b_rms_t < 4e-6 < (entry.load_b_rms_t or 0)
    assert (entry.within_limit, entry.judged_at) == (False, "the load")
    assert loaded.exceeded_along_route() == (entry,)


def test_a_load_of_impedance_takes_the_current_that_the_run_leaves_it(loaded: Result) -> None:
    result = studies.run(loads(LOADED.replace("10 uT", "4 uT") + section(80) + SUPPLY + load_of(380, "impedance")))
    assert result.route is not None
    assert loaded.route is not None
    z_load = 400 / math.sqrt(3) / 380 * complex(0.8, 0.6)
    current = 400 / math.sqrt(3) / abs(z_load + loaded.route.circuits[0].z1_ohm)
    part = result.route.sections[0]
    assert current < 0.99 * 380
    # a trefoil is balanced: each phase has the positive-sequence impedance, to the mesh's own inequality
    assert part.load_loss_w_per_m == pytest.approx((current / 380) ** 2 * part.loss_w_per_m, rel=1e-3)
    (entry,) = result.route.fields
    assert entry.judged_at == "the study's currents"
    assert (entry.within_limit, entry.limit_t) == (True, 4e-6)


def test_readers_are_told_which_current_a_loss_and_a_field_are_at(loaded: Result) -> None:
    assert loaded.route is not None
    (entry,), (part,) = loaded.route.fields, loaded.route.sections
    text = str(loaded)
    known = {table.caption: table for table in tables_of_terminal(text)}
    losses, fields = known["Sections of the run"], known["The field along the run"]
    at_both = "at the study's currents", "at the load"
    assert [name for name, _ in losses.head if name.startswith("Loss")] == [f"Loss {at}" for at in at_both]
    columns = [k for k, (name, _) in enumerate(fields.head) if name.startswith("Field")]
    assert [fields.head[k][0] for k in columns] == [f"Field, rms, {at}" for at in at_both]
    assert entry.load_b_rms_t is not None
    unit = Unit("", {"nT": 1e-9, "µT": 1e-6}[fields.head[columns[0]][1]])
    assert [fields.rows[0][k] for k in columns] == [brief(b, unit) for b in (entry.b_rms_t, entry.load_b_rms_t)]
    assert fields.rows[0][-1] == "! above the limit, at the load"
    page = unescape(write_report(loaded, {}, {}))
    for words in ("Loss at the study's currents", "Loss at the load", "Field, rms, at the study's currents"):
        assert words in page
    assert "above the limit, at the load" in page
    assert "F1 421.2 kW at power factor 0.8 lagging, constant current" in page
    with_unit = tables(loaded)["route_fields.csv"].splitlines()[0].split(",")
    assert {"load_b_rms_t", "load_b_rms_error_t", "load_line_formula_b_rms_t", "judged_at"} <= set(with_unit)
    stated = results_document(loaded)["route"]
    assert isinstance(stated, dict)
    assert stated["load_loss_w"] == loaded.route.load_loss_w
    assert stated["sections"][0]["load_loss_w_per_m"] == part.load_loss_w_per_m


def test_without_a_stated_load_nothing_is_given_at_one() -> None:
    result = studies.run(loads(LOADED + section(80) + SUPPLY))
    assert result.route is not None
    assert result.route.load_loss_w is None
    assert result.route.fields[0].load_b_rms_t is None
    assert "Loss at the load" not in str(result)
    assert "Field, rms, at the load" not in str(result)


def test_errors_of_the_run_cover_what_a_finer_solve_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(accuracy, "FINENESS", ORDINARY)
    more = (TRAY, SOLID, section(30), section(70, f"set = {{ {TREFOIL} }}", 'remove = ["circuits.F1.spacing"]'))
    coarse = run(*more).route
    fine = studies.run(loads("\n".join((MV.replace('"20 %"', '"0.1 %"'), *more)))).route
    assert coarse is not None
    assert fine is not None
    assert abs(coarse.loss_w - fine.loss_w) < coarse.loss_error_w < 0.02 * coarse.loss_w
    for one, other in zip(coarse.lines, fine.lines, strict=True):
        assert abs(one.current_a - other.current_a) < one.current_error_a + 1e-9 * 380
    for here, there in zip(coarse.fields, fine.fields, strict=True):
        assert abs(here.b_rms_t - there.b_rms_t) < here.b_rms_error_t
    assert abs(coarse.circuits[0].z1_ohm - fine.circuits[0].z1_ohm) < coarse.circuits[0].z1_error_ohm


def test_currents_without_a_way_back_leave_the_load_out_and_nothing_else() -> None:
    unbalanced = MV.replace('"380 A"', '{ L1 = "380 A", L2 = "300 A", L3 = "200 A" }')
    result = studies.run(loads(unbalanced + section(50) + '\n[supply]\nvoltage = "400 V"\n'))
    assert result.route is not None
    assert result.route.circuits[0].delivered is None
    assert result.route.circuits[0].transpositions == ()
    assert all(np.isfinite(abs(drop)) for drop in result.route.circuits[0].drop_v)


def test_an_earth_conductor_in_a_bond_runs_through() -> None:
    more = MV.replace('["L1", "L2", "L3"]\ncurrent', '["L1", "L2", "L3", "PE"]\ncurrent')
    bonds = '[[bonds]]\nparts = ["F1.4.conductor", "F1 screens"]\n'
    result = studies.run(loads("\n".join((more, bonds, section(60)))))
    own = {part.part: part.current_a for part in result.parts}
    assert abs(own["F1.4.conductor"]) > 1
    assert current_of(result, "F1 PE") == pytest.approx(own["F1.4.conductor"], rel=1e-6)
    assert current_of(result, "F1 L2 screen") == pytest.approx(own["F1.2.screen"], rel=1e-6)


def test_a_study_made_in_a_program_may_change_its_sections() -> None:
    made = loads(MV)
    route = (
        RouteSection(length=30.0),
        RouteSection(length=70.0, settings={"circuits.F1.spacing": 0.09}),
    )
    study = made.model_copy(update={"route": route})
    result = studies.run(study)
    assert result.route is not None
    by_text = run(section(30), section(70, 'set = { "circuits.F1.spacing" = "90 mm" }')).route
    assert by_text is not None
    assert result.route.circuits[0].z1_ohm == pytest.approx(by_text.circuits[0].z1_ohm, rel=IDENTITY)
    assert result.route.sections[1].changes == ("circuits.F1.spacing = 0.09",)
