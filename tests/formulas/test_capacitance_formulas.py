"""Capacitance formulas against each other and against limits."""

import numpy as np
import pytest
from scipy.constants import epsilon_0

from studies.formulas.capacitance import (
    coaxial_capacitance,
    line_capacitance_matrix,
    line_capacitance_matrix_over_plane,
    transposed_capacitance,
)
from studies.formulas.line_impedance import coaxial_impedance_matrix, phase_impedance_matrix
from studies.verify.plausibility import RULE_REACTANCE


def test_coaxial_capacitance_in_the_form_of_the_standard() -> None:
    # IEC 60287-1-1 [M]: eps/(18 ln(D/d)) nF/m; 18 stands for 1/(2 pi eps0) = 17.975 m/nF, 0.14 % off
    assert coaxial_capacitance(0.02, 0.04, 2.5) == pytest.approx(2.5e-9 / (18 * np.log(2)), rel=1.5e-3)


def test_transposed_form_is_the_matrix_of_three_wires_far_apart() -> None:
    side = 1.0
    axes = [[0.0, 0.0], [side, 0.0], [side / 2, side * np.sqrt(0.75)]]
    matrix = line_capacitance_matrix(axes, 0.01, 0.01, 1.0, 1000.0)
    balanced = np.exp(-2j * np.pi / 3 * np.arange(3))
    # equal distances: exact
    assert (matrix @ balanced / balanced).real == pytest.approx(transposed_capacitance(side, 0.01), rel=1e-12)


def test_matrix_over_a_plane_is_that_of_the_wires_and_their_images() -> None:
    axes = np.array([[0.0, 0.5], [0.3, 0.6]])
    over = line_capacitance_matrix_over_plane(axes, 0.01, 0.012, 2.5)
    with_images = line_capacitance_matrix(np.vstack([axes, axes * (1, -1)]), 0.01, 0.012, 2.5, 50.0)
    charges = with_images @ [1.0, 0.4, -1.0, -0.4]
    assert over @ [1.0, 0.4] == pytest.approx(charges[:2], rel=1e-12)
    # a single thin bare wire: 2 pi eps0/arccosh(h/r), classical [M]; ln(2 h/r) is arccosh(h/r) to (r/2h)^2
    thin = line_capacitance_matrix_over_plane([[0.0, 1.0]], 1e-3, 1e-3, 1.0)
    assert thin[0, 0] == pytest.approx(2 * np.pi * epsilon_0 / np.arccosh(1e3), rel=1e-6)


def test_insulation_of_permittivity_one_is_air() -> None:
    axes = [[0.0, 0.0], [0.2, 0.0], [0.4, 0.0]]
    bare = line_capacitance_matrix(axes, 0.01, 0.01, 1.0, 1000.0)
    assert line_capacitance_matrix(axes, 0.01, 0.02, 1.0, 1000.0) == pytest.approx(bare, rel=1e-12)
    with pytest.raises(ValueError, match="axes"):
        line_capacitance_matrix_over_plane([[0.0, 0.005]], 0.005, 0.01, 2.5)


def test_coaxial_impedance_is_the_line_matrix_where_no_axes_agree() -> None:
    axes = [[0.0, 0.0], [0.1, 0.0], [0.0, 0.2]]
    lines = phase_impedance_matrix(axes, 0.008, 1e-4, 50.0, 100.0)
    assert coaxial_impedance_matrix(axes, 0.008, 1e-4, 50.0, 100.0) == pytest.approx(lines, rel=1e-14)


def test_screen_and_its_conductor_have_the_mutual_of_the_screens_radius() -> None:
    # standing voltage of a screen: w (mu0/2 pi) ln(s/r) I in a two-wire loop, IEEE 575 form [C]
    axes = [[0.0, 0.0], [0.1, 0.0], [0.0, 0.0], [0.1, 0.0]]
    z = coaxial_impedance_matrix(axes, [0.008, 0.008, 0.02, 0.02], [1e-4, 1e-4, 5e-4, 5e-4], 50.0, 1000.0)
    voltage = z @ [1.0, -1.0, 0.0, 0.0]
    assert voltage[2] == pytest.approx(1j * 2 * np.pi * 50 * 2e-7 * np.log(0.1 / 0.02), rel=1e-9)
    assert voltage[3] == pytest.approx(-voltage[2], rel=1e-12)


def test_the_reactances_of_the_rule_follow_the_line_formula() -> None:
    # w (mu0/2 pi) ln D adds up: GMD of touching flat cables is 2^(1/3) d, 0.0628 ln 1.26 = 0.0145; with gaps of one
    # diameter twice that GMD, 0.0628 ln 2.52 = 0.058; the rule rounds to hundredths [D]
    base = RULE_REACTANCE["trefoil or multicore"]
    step = 2 * np.pi * 50 * 2e-7
    assert RULE_REACTANCE["flat, touching"] == pytest.approx(base + step * np.log(2 ** (1 / 3)), abs=0.005e-3)
    assert RULE_REACTANCE["flat, spaced"] == pytest.approx(base + step * np.log(2 * 2 ** (1 / 3)), abs=0.009e-3)


def test_a_cable_may_lie_on_the_plane() -> None:
    # y = outer radius: ln(ro/rc)/eps_r + ln 2
    lying = line_capacitance_matrix_over_plane([[0.0, 0.01]], 0.005, 0.01, 2.5)
    assert lying[0, 0] == pytest.approx(2 * np.pi * epsilon_0 / (np.log(2) / 2.5 + np.log(2)), rel=1e-12)
