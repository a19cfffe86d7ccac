"""Unbalance of a case's phases: by hand, by line currents, and by those over an infinite plate."""

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.integrate import quad_vec

from studies.closed_forms.lines import formula_phase_impedances, line_model
from studies.compare.phase_state import (
    MEASURES,
    PhaseState,
    number_of_phases,
    sequence_drops,
    spread,
    spread_between_lines,
)
from studies.compare.quantities import numbers_of
from studies.formulas.infinite_plate import plate_waves
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.sweep_studies import TRIPLE
from tests.studies.test_sweep_numbers import of

# --- unbalance ----------------------------------------------------------------------------------------------------


def states(*impedances: complex, current: float = 100.0) -> dict[str, PhaseState]:
    turn = cmath.exp(-2j * math.pi / 3)
    return {
        f"L{k + 1}": PhaseState("F1", f"L{k + 1}", current * turn**k, impedance * current * turn**k)
        for k, impedance in enumerate(impedances)
    }


def test_equal_phases_have_no_spread_and_no_negative_sequence():
    lines = states(1e-4 + 2e-4j, 1e-4 + 2e-4j, 1e-4 + 2e-4j)
    _, positive, negative = sequence_drops(lines)
    assert spread(lines) == pytest.approx(0, abs=1e-12)
    assert abs(positive) == pytest.approx(100 * abs(1e-4 + 2e-4j), rel=1e-12)
    assert abs(negative) < 1e-12 * abs(positive)


def test_the_spread_is_largest_minus_smallest_over_the_mean():
    assert spread(states(1j, 2j, 3j)) == pytest.approx(1.0, rel=1e-12)
    assert spread(states(1j, 2j, 3j, current=0.0)) is None


def test_unbalance_is_that_of_the_symmetrical_components_by_hand():
    # drops of 2, 1, 1 V/m in positive sequence: U1 = 4/3, U2 = 1/3 (one third of the part that is not equal)
    _, positive, negative = sequence_drops(states(2, 1, 1, current=1.0))
    assert abs(positive) == pytest.approx(4 / 3, rel=1e-12)
    assert abs(negative) == pytest.approx(1 / 3, rel=1e-12)


def test_flat_cables_are_unequal_as_their_distances_are():
    # line currents: L = (mu0/2 pi) ln(s_eff/r'), s_eff = s sqrt 2 of the outer phases and s of the middle one; the
    # mean is that of GMD = s 2^(1/3). Proximity of 30 mm spaced 8 mm conductors at 50 Hz changes it by far below 2 %.
    result = run(loads(TRIPLE))
    radius = math.sqrt(50e-6 / math.pi) * math.exp(-0.25)
    expected = math.log(math.sqrt(2)) / math.log(0.03 * 2 ** (1 / 3) / radius)
    number = numbers_of(result)["phase_inequality.F1"]
    assert number.value == pytest.approx(expected, rel=0.02)
    assert number.formula == pytest.approx(expected, rel=1e-9)


def test_a_drop_common_to_the_phases_makes_them_unequal_and_not_the_voltages_between_them():
    equal = states(1e-4 + 2e-4j, 1e-4 + 2e-4j, 1e-4 + 2e-4j)
    common = 3e-3 * cmath.exp(0.4j)
    lifted = {line: replace(state, voltage_v_per_m=state.voltage_v_per_m + common) for line, state in equal.items()}
    # Im(common/i) = (3e-3/100) sin(0.4 + 0, 2 pi/3, -2 pi/3), over the mean 2e-4
    angles = [math.sin(0.4 + turn) for turn in (0.0, 2 * math.pi / 3, -2 * math.pi / 3)]
    assert spread(lifted) == pytest.approx(3e-5 * (max(angles) - min(angles)) / 2e-4, rel=1e-9)
    assert spread_between_lines(lifted) == pytest.approx(0, abs=1e-12)
    assert sequence_drops(lifted)[1:] == pytest.approx(sequence_drops(equal)[1:], abs=1e-12)
    assert sequence_drops(lifted)[0] == pytest.approx(common)


@pytest.mark.parametrize("key", MEASURES)
def test_errors_of_the_drops_move_no_number_further_than_its_error(key):
    rng = np.random.default_rng(7)
    base = states(1e-4 + 2.0e-4j, 1.2e-4 + 1.7e-4j, 0.7e-4 + 2.3e-4j)
    size = 2e-6  # 1e-4 of the drops: second order is far below the first
    known = tuple(replace(state, voltage_error_v_per_m=size) for state in base.values())
    number = number_of_phases(key, known)["F1"]
    value, error = of(number.value), of(number.error)
    moved = []
    for _ in range(300):
        turns = size * np.exp(2j * np.pi * rng.random(3))
        other = [replace(s, voltage_v_per_m=s.voltage_v_per_m + complex(d)) for s, d in zip(known, turns, strict=True)]
        moved.append(abs(of(number_of_phases(key, other)["F1"].value) - value))
    # a bound, and none that is far too wide
    assert 0.25 * error < max(moved) <= error * (1 + 1e-3)


PLATE = """
[[trays]]
name = "T1"
profile = "plate"
rests_at = ["0 mm", "0 mm"]
width = "600 mm"
thickness = "2 mm"
material = "mild-steel"
"""


def reactances_over_a_plate(result: Result) -> list[float]:
    """Im(u/i) of each phase of line currents over an infinite plate like the study's, by its reflection. [ohm/m]

    The reflected potential of line j at line k is mu0/(2 pi) int rho(u) e^{-u (h_j + h_k)} cos(u (x_j - x_k)) du/u.
    """
    section = result.cross_section
    model = line_model(section)
    steel = next(part.material for part in section.parts if part.kind == "tray")
    x, h = model.axes.T
    mu = abs(complex(steel.relative_permeability))

    def reflected(u: float) -> Any:
        rho = complex(plate_waves(u, 2e-3, steel.conductivity, section.frequency, mu).reflection)
        return rho * (np.exp(-u * (h[:, None] + h)) * np.cos(u * (x[:, None] - x)) / u) @ model.currents

    drops, error = quad_vec(reflected, 1e-9, 40 / float(h.min()), epsrel=1e-9, limit=2000)
    assert error < 1e-5 * np.abs(drops).max()
    own = formula_phase_impedances(section, model, 1.0)
    z = own + 1j * section.frequency * mu_0 * drops / model.currents
    return [float(value) for value in z.imag]


def test_a_trefoil_on_steel_is_more_unequal_than_flat_by_a_common_drop_alone():
    """By the finite elements and by line currents over an infinite plate, which know nothing of each other."""
    found = {}
    for name, text in (
        ("flat", TRIPLE + PLATE),
        ("trefoil", TRIPLE.replace('"flat"\nspacing = "30 mm"', '"trefoil"') + PLATE),
    ):
        result = run(loads(text.replace('"5 %"', '"0.5 %"')))
        numbers = numbers_of(result)
        plate = reactances_over_a_plate(result)
        elements = [phase.z_ohm_per_m.imag for phase in result.phases if phase.z_ohm_per_m is not None]
        # line currents leave out that current crowds within conductors 2.3 mm above steel, some per cent of X
        assert elements == pytest.approx(plate, rel=0.05)
        keys = ("phase_inequality.F1", "phase_inequality_between_lines.F1")
        found[name] = [float(numbers[key].value or math.nan) for key in keys]
        by_plate = (max(plate) - min(plate)) / np.mean(plate)
        assert found[name][0] == pytest.approx(by_plate, abs=0.08)
    assert found["trefoil"][0] > 1.2 * found["flat"][0]
    assert found["trefoil"][1] < 0.5 * found["flat"][1]


def test_without_metal_nearby_a_trefoil_has_equal_phases():
    result = run(loads(TRIPLE.replace('"flat"\nspacing = "30 mm"', '"trefoil"')))
    number = numbers_of(result)["phase_inequality.F1"]
    assert 0 <= of(number.value) <= of(number.error) < 5e-3
