"""Charging currents from the file to the result: the whole run, unequal phases, touching cables, screens."""

from __future__ import annotations

import math
import types

import numpy as np
import pytest

from studies.answers.charging import compute as charging_module
from studies.answers.charging.capacitance import capacitances
from studies.data.permittivities import Dielectric, Dielectrics
from studies.formulas.capacitance import coaxial_capacitance
from studies.report.contents import write_report
from studies.result import Result
from studies.runner import run
from studies.section.parts import CrossSection
from studies.study.reading import loads
from studies.text.problems import StudyError

STUDY = """
title = "Charging"
frequency = "50 Hz"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "4 mm"
permittivity = 2.5
{layer}
jacket = "2 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "{spacing}"
rests_at = ["0 mm", "0 mm"]
phases = {phases}
current = "100 A"
[supply]
voltage = "10 kV"
{more}
[accuracy]
tolerance = "5 %"
"""

pytestmark = pytest.mark.usefixtures("coarse_mesh")
SCREEN = 'screen = { material = "copper", thickness = "0.2 mm" }'
CORE = math.sqrt(240e-6 / math.pi)  # [m]
THREE = '["L1", "L2", "L3"]'
ORDERS = (THREE, '["L3", "L1", "L2"]', '["L2", "L3", "L1"]')


def solved(layer: str = "", spacing: str = "60 mm", phases: str = THREE, more: str = "") -> Result:
    return run(loads(STUDY.format(layer=layer, spacing=spacing, phases=phases, more=more)))


def route(*orders: str) -> str:
    return "\n".join(f'[[route]]\nlength = "50 m"\nphases = {{ F1 = {order} }}' for order in orders)


def test_screened_cables_charge_by_the_coaxial_formula_and_parallel_ones_twice() -> None:
    result = solved(SCREEN, phases='["L1", "L2", "L3", "L1", "L2", "L3"]', more='[[route]]\nlength = "800 m"')
    exact = 2 * float(coaxial_capacitance(2 * CORE, 2 * (CORE + 4e-3), 2.5))
    current = 2 * math.pi * 50 * exact * 10e3 / math.sqrt(3)
    for entry in result.charging:
        assert "inside the screen" in entry.method
        assert entry.formulas_f_per_m == {"coaxial": pytest.approx(exact, rel=1e-12)}
        # the finite elements of the ring stand beside the formula and hold it within their own estimate
        assert abs(entry.charging_current_a_per_m - current) <= entry.charging_current_error_a_per_m
        assert 0 < entry.charging_current_error_a_per_m < 1e-3 * current
        assert entry.run_charging_current_a == pytest.approx(800 * entry.charging_current_a_per_m, rel=1e-12)
        assert entry.circuit_inequality < 1e-12
        assert not entry.touching
        assert entry.gap_m is None
    page = write_report(result, {}, {})
    assert "the phases charge alike" in page
    assert "vanishing gap" not in page


def test_unscreened_phases_charge_unequally_and_transposing_makes_them_equal() -> None:
    turned = route('["L1", "L2", "L3"]', '["L3", "L1", "L2"]', '["L2", "L3", "L1"]')
    result = solved(more=turned)
    per_metre = [entry.charging_current_a_per_m for entry in result.charging]
    mean = sum(per_metre) / 3
    capacitance = sum(entry.capacitance_f_per_m for entry in result.charging) / 3
    spread = max(abs(one - mean) for one in per_metre) / mean
    assert spread > 0.02  # the middle phase lies nearer to the others
    for entry in result.charging:
        assert entry.circuit_inequality == pytest.approx(spread, rel=1e-12)
        # each phase a third of the run in each place: circulant, rounding only
        assert entry.run_inequality is not None
        assert entry.run_inequality < 1e-12
        # a circulant matrix has no current across the voltage: w times the mean of the capacitances, exactly
        expected = 150 * 2 * math.pi * 50 * capacitance * 10e3 / math.sqrt(3)
        assert entry.run_charging_current_a == pytest.approx(expected, rel=1e-9)
    straight = solved(more=route(THREE, THREE, THREE))
    for entry in straight.charging:
        assert entry.run_charging_current_a == pytest.approx(150 * entry.charging_current_a_per_m, rel=1e-12)
        assert entry.run_inequality == pytest.approx(spread, rel=1e-9)
    assert f"{100 * spread:.1f}" in write_report(straight, {}, {})
    assert "Whole" in str(straight)


def test_a_section_with_another_cross_section_charges_by_its_own() -> None:
    wider = '[[route]]\nlength = "200 m"\n[[route]]\nlength = "300 m"\nset = { "circuits.F1.spacing" = "120 mm" }'
    both = solved(more=wider)
    first, second = (solved(spacing=spacing, more='[[route]]\nlength = "1 m"') for spacing in ("60 mm", "120 mm"))
    for entry, near, far in zip(both.charging, first.charging, second.charging, strict=True):
        assert near.run_charging_current_a is not None
        assert far.run_charging_current_a is not None
        assert near.run_charging_current_a > 1.2 * far.run_charging_current_a
        expected = 200 * near.run_charging_current_a + 300 * far.run_charging_current_a
        # in flat formation the phasors of the two spacings differ by a degree or two: cos of it
        assert entry.run_charging_current_a == pytest.approx(expected, rel=2e-3)


def test_an_insulated_neutral_moves_until_no_charging_current_returns_by_the_earth() -> None:
    tray = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "-20 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "2 mm"
material = "aluminium-5052"
"""
    study = STUDY.replace('voltage = "10 kV"', 'voltage = "10 kV"\ninsulated_neutral = true')
    text = study.format(layer="", spacing="30 mm", phases=THREE, more=tray)
    result = run(loads(text))
    section = result.cross_section
    own = Dielectric("stated", 2.5, "study file")
    found = capacitances(section, {"F1": Dielectrics(own, own)})
    balanced = 10e3 / math.sqrt(3) * np.exp(-2j * np.pi / 3 * np.arange(3))
    # every row of C summed is what a voltage of the neutral drives to earth; their currents sum to nothing
    neutral = -(found.matrix @ balanced).sum() / found.matrix.sum()
    currents = 2j * np.pi * 50 * found.matrix @ (balanced + neutral)
    assert abs(currents.sum()) < 1e-12 * np.abs(currents).max()
    assert [entry.charging_current_a_per_m for entry in result.charging] == pytest.approx(np.abs(currents), rel=1e-9)
    assert result.charging[0].neutral_displacement_v == pytest.approx(abs(neutral), rel=1e-9)
    assert abs(neutral) > 10  # the middle cable is nearer to its neighbours and farther from the walls
    assert "neutral stands at" in write_report(result, {}, {})
    # three equal sections with the phases turned: nothing is left that could move it
    turned = run(loads(study.format(layer="", spacing="30 mm", phases=THREE, more=tray + route(*ORDERS))))
    assert (turned.charging[0].neutral_displacement_v or 0.0) < 1e-9 * 10e3
    assert solved(more=tray).charging[0].neutral_displacement_v is None


def test_cables_that_touch_are_the_limit_of_a_gap_and_say_so() -> None:
    touching = solved(spacing=f"{2e3 * (CORE + 6e-3):.6f} mm")
    for entry in touching.charging:
        assert entry.touching
        # thickness over permittivity, 6/2.5 mm, times the middle one of the shares of the gaps
        assert entry.gap_m == pytest.approx(0.09 * 6e-3 / 2.5, rel=1e-9)
        assert entry.gap_capacitance_f_per_m is not None
        # a gap takes capacitance away, some per cent at a tenth of the electrical thickness
        assert 0.9 < entry.gap_capacitance_f_per_m / entry.capacitance_f_per_m < 0.999
    page = write_report(touching, {}, {})
    assert "limit for a vanishing gap" in page
    assert not any(entry.touching for entry in solved().charging)


def test_permittivity_is_asked_of_every_cable_that_is_laid_or_of_none() -> None:
    second = """
[cables.d]
conductor = { material = "copper", area = "35 mm^2", temperature = "70 degC" }
insulation = "4 mm"
jacket = "2 mm"
[[circuits]]
name = "F2"
cable = "d"
arrangement = "flat"
spacing = "60 mm"
rests_at = ["500 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "50 A"
"""
    with pytest.raises(StudyError, match="states one for the charging currents"):
        loads(STUDY.format(layer="", spacing="60 mm", phases=THREE, more=second))
    # a supply alone, as for the unbalance of a route, asks for none
    text = STUDY.format(layer="", spacing="60 mm", phases=THREE, more=second).replace("permittivity = 2.5\n", "")
    assert loads(text).supply is not None


@pytest.mark.parametrize(("tolerance", "solved"), [(5e-3, 1), (1e-4, 2), (1e-9, 3)])
def test_capacitances_are_refined_to_the_asked_tolerance_or_the_error_of_the_gaps(monkeypatch, tolerance, solved):
    asked = []

    def capacitances(section, dielectrics, fineness):
        asked.append(fineness)
        own = np.eye(2) * 1e-10
        return types.SimpleNamespace(matrix=own, mesh_error=own * 1e-3 / 4 ** len(asked), gap_error=0 * own)

    monkeypatch.setattr(charging_module, "capacitances", capacitances)
    charging_module._refined(CrossSection((), (), (), (), 50.0), {}, tolerance)
    assert asked == list(charging_module.PAIRS[:solved])
