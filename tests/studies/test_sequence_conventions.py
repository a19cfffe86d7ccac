"""Conventions of sequence impedances and unbalance, each pinned by an example that is worked by hand."""

import cmath

import numpy as np
import pytest

from studies.answers.phases.compute import sequence_matrix
from studies.compare.quantities import numbers_of
from studies.formulas.unbalance import (
    largest_deviation_unbalance,
    negative_sequence_unbalance,
    zero_sequence_unbalance,
)
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads

A = np.exp(2j * np.pi / 3)
X = 2e-7 * 2 * np.pi * 50  # w mu0/2 pi at 50 Hz [ohm/m]

FLAT = """
title = "Flat"
frequency = "50 Hz"
[accuracy]
tolerance = "5 %"
[cables.c]
conductor = {{ material = "copper", area = "50 mm^2", temperature = "20 degC" }}
insulation = "4 mm"
jacket = "1 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "90 mm"
rests_at = ["0 m", "0 m"]
phases = {phases}
current = "100 A"
"""


@pytest.fixture(scope="module")
def flat() -> Result:
    return run(loads(FLAT.format(phases='["L1", "L2", "L3"]')))


@pytest.fixture(scope="module")
def mirrored() -> Result:
    return run(loads(FLAT.format(phases='["L3", "L2", "L1"]')))


def test_a_published_line_has_its_printed_sequence_matrix() -> None:
    """T. Gonen, Electric Power Transmission System Engineering, 2nd ed., ex. 9.3 and 9.5 [C]."""
    miles, earth = 40.0, (0.09528, 2788.5)  # 60 Hz, re and De; distances in feet
    distances = np.sqrt([[0, 68, 146], [68, 0, 178], [146, 178, 0]]) + 0.0311 * np.eye(3)
    # Carson's short form; the book has 0.1213 ohm/mile a unit of the logarithm at 60 Hz
    phases = miles * (0.206 * np.eye(3) + earth[0] + 0.1213j * np.log(earth[1] / distances))
    z = sequence_matrix(phases)
    assert z[0, 0] == pytest.approx(19.6736 + 109.05j, abs=0.01)  # half the last digit, and that of the logarithms
    assert z[1, 1] == pytest.approx(8.24 + 28.4717j, abs=1e-3)
    assert z[2, 2] == pytest.approx(z[1, 1], rel=1e-12)
    for (row, column), printed in {
        (0, 1): 0.5351 + 0.4692j,
        (0, 2): -0.5351 + 0.4692j,
        (1, 2): -1.0702 - 0.9384j,
        (2, 1): 1.0702 - 0.9384j,  # the negative-sequence voltage of a positive-sequence current: row 2, column 1
    }.items():
        assert z[row, column] == pytest.approx(printed, abs=1e-3)
    # balanced voltages drive the currents: unbalance 4.79 % at 64.8 degrees, zero sequence 0.61 % at 142.3 degrees
    zero, positive, negative = np.linalg.solve(z, [0, 1, 0])
    assert 100 * abs(negative / positive) == pytest.approx(4.79, abs=0.005)
    assert np.degrees(cmath.phase(negative / positive)) == pytest.approx(64.8, abs=0.05)
    assert 100 * abs(zero / positive) == pytest.approx(0.61, abs=0.005)
    assert np.degrees(cmath.phase(zero / positive)) == pytest.approx(142.3, abs=0.1)


def test_flat_phases_couple_the_sequences_as_their_distances_do(flat: Result) -> None:
    """L1, L2, L3 from the left, s, s, 2s: only M_13 = M_31 = -jX ln 2 is not equal.

    Z21 = (1, a^2, a) M (1, a^2, a)'/3 = 2a M_13/3; Z01 = (1, 1, 1) M (1, a^2, a)'/3 = (1 + a) M_13/3 = -a^2 M_13/3.
    """
    (found,) = flat.sequence_impedance
    z21, z01 = -2 / 3 * A * 1j * X * np.log(2), A**2 * 1j * X * np.log(2) / 3
    assert found.formula_z21_ohm_per_m == pytest.approx(z21, rel=1e-9)
    assert found.formula_z01_ohm_per_m == pytest.approx(z01, rel=1e-9)
    # proximity of 8 mm conductors at 90 mm and 50 Hz: (a/s)^2 of X, 0.2 %
    assert found.z21_ohm_per_m == pytest.approx(z21, abs=3e-3 * X)
    assert found.z01_ohm_per_m == pytest.approx(z01, abs=3e-3 * X)
    assert found.z21_over_z11 == pytest.approx(abs(found.z21_ohm_per_m) / abs(found.z1_ohm_per_m), rel=1e-12)
    assert found.z01_over_z11 == pytest.approx(abs(found.z01_ohm_per_m) / abs(found.z1_ohm_per_m), rel=1e-12)
    assert found.formula_z21_over_z11 == pytest.approx(found.z21_over_z11, rel=0.02)
    assert found.formula_z01_over_z11 == pytest.approx(found.z01_over_z11, rel=0.02)


def test_drops_of_the_studys_currents_are_those_of_the_sequence_impedances(flat: Result) -> None:
    (found,) = flat.sequence_impedance
    numbers = numbers_of(flat)
    negative, common = numbers["u2_over_u1.F1"], numbers["u0_over_u1.F1"]
    assert negative.value == pytest.approx(found.z21_over_z11, rel=1e-9)
    assert common.value == pytest.approx(found.z01_over_z11, rel=1e-9)
    assert negative.formula == pytest.approx(found.formula_z21_over_z11, rel=1e-9)
    assert common.formula == pytest.approx(found.formula_z01_over_z11, rel=1e-9)
    assert numbers["u2_v_per_m.F1"].value == pytest.approx(100 * abs(found.z21_ohm_per_m), rel=1e-9)


def test_the_phase_of_the_outer_cable_that_leads_drops_most(flat: Result, mirrored: Result) -> None:
    """u1/i1 = jX [ln(s/r') - (i3/i1) ln 2], i3/i1 = a: resistance X ln 2 sin 120 more in L1, as much less in L3."""
    more = X * np.log(2) * np.sqrt(3) / 2
    for result in (flat, mirrored):  # which of the two lies left makes no difference
        of = {phase.phase: phase.z_ohm_per_m for phase in result.phases if phase.z_ohm_per_m is not None}
        first, second, third = of["L1"], of["L2"], of["L3"]
        assert first.real - second.real == pytest.approx(more, rel=0.02)
        assert second.real - third.real == pytest.approx(more, rel=0.02)
        assert first.imag - second.imag == pytest.approx(X * np.log(2) / 2, rel=0.02)
        # the current of an inductive load lags by phi: drop R cos phi + X sin phi [C], most in L1 and least in L3
        drops = [z.real * 0.8 + z.imag * 0.6 for z in (first, second, third)]
        assert drops[0] > drops[1] > drops[2]


def test_induction_has_the_sign_of_a_drop(flat: Result) -> None:
    # e^{+jwt} and u = z i along the current: a lone inductance leads by 90 degrees
    assert all(phase.z_ohm_per_m is not None and phase.z_ohm_per_m.imag > 0 for phase in flat.phases)
    (found,) = flat.sequence_impedance
    assert found.z1_ohm_per_m.imag == pytest.approx(
        X * np.log(0.09 * 2 ** (1 / 3) / (4.0e-3 * np.exp(-0.25))), rel=0.01
    )


def test_three_measures_of_one_set_of_voltages_by_hand() -> None:
    """Positive 1, negative 0.05, common -j 0.1: V2/V1 5 %, V0/V1 10 %, and NEMA MG 1 blind to the common part."""
    negative, common = 0.05, -0.1j
    volts = np.array([1 + negative + common, A**2 + A * negative + common, A + A**2 * negative + common])
    assert negative_sequence_unbalance(volts) == pytest.approx(0.05, rel=1e-12)
    assert zero_sequence_unbalance(volts) == pytest.approx(0.10, rel=1e-12)
    lines = np.abs(volts - np.roll(volts, -1))
    # V_k - V_{k+1}: sqrt3 |1 + 0.05 e^{j theta}| with theta -60, 180 and 60 degrees; the mean is 0.9999 sqrt3
    sides = [abs(1 + 0.05 * np.exp(1j * np.radians(angle))) for angle in (-60, 180, 60)]
    assert sorted(lines) == pytest.approx(sorted(np.sqrt(3) * np.array(sides)), rel=1e-12)
    mean = np.mean(sides)
    assert largest_deviation_unbalance(lines) == pytest.approx(max(abs(s - mean) for s in sides) / mean, rel=1e-12)
    without = volts - common
    assert np.abs(without - np.roll(without, -1)) == pytest.approx(lines, rel=1e-12)
