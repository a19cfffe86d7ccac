"""Closed forms in the table of losses: the right one for each part, its name and its range, and none where none is."""

from __future__ import annotations

import math

import pytest

from studies.answers.losses.rows import LossResult
from studies.closed_forms.lines import NO_FORMULA, LineModel
from studies.closed_forms.losses import closed_form_loss
from studies.closed_forms.validity import ClosedForm
from studies.output.tables import tables
from studies.result import Result
from studies.runner import run
from studies.section.parts import CrossSection, StudyPart
from studies.study.reading import loads

STUDY = """
title = "Losses"
frequency = "50 Hz"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "3 mm"
{layer}
jacket = "2 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "{arrangement}"
spacing = "60 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = {current}
{more}
[accuracy]
tolerance = "1 %"
"""
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
BOND = '[[bonds]]\nparts = ["F1 {}"]'
BACKWARDS = '{ L1 = ["400 A", "0 deg"], L2 = ["400 A", "120 deg"], L3 = ["400 A", "-120 deg"] }'
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "{width}"
inside_height = "5 mm"
thickness = "2 mm"
material = "aluminium-6063"
"""


def solved(arrangement: str = "trefoil", layer: str = "", current: str = '"400 A"', more: str = "") -> Result:
    return run(loads(STUDY.format(arrangement=arrangement, layer=layer, current=current, more=more)))


def losses(result: Result, kind: str) -> list[LossResult]:
    return [loss for loss in result.losses if loss.kind == kind]


def test_bonded_screens_in_trefoil_have_the_circulating_factor() -> None:
    result = solved(layer=SCREEN, more=BOND.format("screens"))
    parts = {part.part: part for part in result.parts}
    # lambda1' = (Rs/R)/(1 + (Rs/X)^2), X = 2 w 1e-7 ln(2 s/d), IEC 60287-1-1 [C]; times R I^2: R drops out
    core = math.sqrt(240e-6 / math.pi)
    reactance = 2 * 2 * math.pi * 50 * 1e-7 * math.log(2 * 60e-3 / (2 * (core + 3e-3) + 0.2e-3))
    for loss in losses(result, "screen"):
        resistance = parts[loss.part].r_dc_ohm_per_m
        expected = 400**2 * resistance / (1 + (resistance / reactance) ** 2)
        assert loss.formula_loss_w_per_m == pytest.approx(expected, rel=1e-9)
        assert "circulating" in loss.formula
        assert loss.formula_outside_range == ""
        # what it leaves out, the eddy currents in the screens, is of the order of a per cent of it
        assert loss.formula_loss_w_per_m == pytest.approx(loss.loss_w_per_m, rel=0.03)


def test_a_sheath_alone_has_the_same_formula_and_two_layers_are_outside_its_range() -> None:
    sheath = 'sheath = { material = "lead", thickness = "1.2 mm" }'
    alone = losses(solved(layer=sheath, more=BOND.format("sheaths")), "sheath")
    assert all("circulating" in loss.formula and not loss.formula_outside_range for loss in alone)
    for loss in alone:
        assert loss.formula_loss_w_per_m == pytest.approx(loss.loss_w_per_m, rel=0.03)
    both = losses(solved(layer=f'{SCREEN}\nseparation = "0.5 mm"\n{sheath}', more=BOND.format("sheaths")), "sheath")
    assert all("other layers" in loss.formula_outside_range for loss in both)


@pytest.mark.parametrize(("current", "backwards"), [('"400 A"', False), (BACKWARDS, True)])
def test_leading_and_lagging_screens_change_places_with_the_sequence(current: str, backwards: bool) -> None:
    rows = losses(solved("flat", SCREEN, current, BOND.format("screens")), "screen")
    first, last = rows[0], rows[2]
    # of two outer screens the one whose conductor lags has more loss; by finite elements as by the formula
    assert (first.loss_w_per_m < last.loss_w_per_m) != backwards
    for loss in (first, last):
        # 5.5 % lie between the two outer screens; the formula has no eddy currents, a per cent
        assert loss.formula_loss_w_per_m == pytest.approx(loss.loss_w_per_m, rel=0.02)
        assert loss.formula_outside_range == ""
    assert abs(first.loss_w_per_m / last.loss_w_per_m - 1) > 0.04


def test_unbalanced_currents_are_named_and_currents_in_step_have_no_formula() -> None:
    uneven = '{ L1 = ["400 A", "0 deg"], L2 = ["300 A", "-120 deg"], L3 = ["350 A", "120 deg"] }'
    rows = losses(solved(layer=SCREEN, current=uneven, more=BOND.format("screens")), "screen")
    assert all("not balanced" in loss.formula_outside_range for loss in rows)
    in_step = '{ L1 = ["400 A", "0 deg"], L2 = ["400 A", "0 deg"], L3 = ["400 A", "0 deg"] }'
    for loss in losses(solved(layer=SCREEN, current=in_step, more=BOND.format("screens")), "screen"):
        assert loss.formula_loss_w_per_m is None
        assert loss.formula == NO_FORMULA


def test_losses_of_harmonics_add_in_the_formula_as_in_the_fields() -> None:
    fifth = 'harmonics = { 5 = "20 %" }'
    plain = losses(solved(layer=SCREEN), "screen")
    rows = losses(solved(layer=SCREEN, current=f'"400 A"\n{fifth}'), "screen")
    for alone, loss in zip(plain, rows, strict=True):
        assert loss.formula_loss_w_per_m is not None
        assert alone.formula_loss_w_per_m is not None
        # eddy loss in a thin screen goes with the square of frequency and current: 1 + (5 x 0.2)^2 = 2; its own field
        # takes a per cent off
        assert loss.formula_loss_w_per_m / alone.formula_loss_w_per_m == pytest.approx(2.0, rel=0.02)
        # the formula leaves out what the conductors' eddy currents shield, which at 250 Hz is a third
        assert 0.6 < loss.loss_w_per_m / loss.formula_loss_w_per_m < alone.loss_w_per_m / alone.formula_loss_w_per_m < 1


def test_a_wide_open_tray_has_the_loss_of_its_floor_as_a_plate() -> None:
    wide = solved("flat", more=TRAY.format(width="1200 mm"))
    (tray,) = losses(wide, "tray")
    assert "infinite plate" in tray.formula
    assert tray.formula_outside_range == ""
    # edges 0.54 m away from currents 12 mm above the floor: a few per cent
    assert tray.formula_loss_w_per_m == pytest.approx(tray.loss_w_per_m, rel=0.05)
    (beside,) = [beside for beside in wide.ladder if beside.quantity == "tray loss"]
    assert beside.value_in_unit == pytest.approx(tray.formula_loss_w_per_m, rel=1e-12)
    (narrow,) = losses(solved("flat", more=TRAY.format(width="150 mm")), "tray")
    # 75 mm to the side less 60 mm to the axis, over the height of the axis: 8.74 mm of conductor, 3 and 2 mm
    beside_it = "floor beside the cables / their height above it = 1.09, below 3: the floor ends near the cables"
    assert beside_it in narrow.formula_outside_range
    (covered,) = losses(
        solved("flat", more=TRAY.format(width="300 mm").replace('"5 mm"', '"60 mm"') + 'cover = "closed"\n'), "tray"
    )
    assert covered.formula_loss_w_per_m is None
    assert covered.formula == NO_FORMULA


def test_names_and_ranges_reach_the_terminal_and_the_tables() -> None:
    result = solved("flat", more=TRAY.format(width="150 mm"))
    text = " ".join(str(result).split())  # lines are broken to the width of a terminal
    assert "Loss formula of T1: infinite plate" in text
    assert "outside its range: floor beside the cables / their height above it = " in text
    assert ", below 3: the floor ends near the cables; its walls are left out)." in text
    table = tables(result)["losses.csv"]
    assert "formula_outside_range" in table.splitlines()[0]
    assert "infinite plate" in table


def test_the_closed_form_of_each_part_is_computed_once_a_run(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def counted(section: CrossSection, model: LineModel, part: StudyPart) -> ClosedForm | None:
        asked.append(part.name)
        return closed_form_loss(section, model, part)

    monkeypatch.setattr("studies.solve.solution.closed_form_loss", counted)
    result = solved(layer=SCREEN, more=BOND.format("screens"))
    assert sorted(asked) == sorted(part.part for part in result.parts)  # losses and the formulas beside them ask
    assert len(result.ladder) > len(losses(result, "screen")) == 3
