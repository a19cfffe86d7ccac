"""Drives of parts as small circuits, against hand-worked networks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fem.ties import Tie, drive, impedance_matrix, membership, tied_admittance

ROUNDING = 1e-12
NAMES = ("a", "b", "s", "t")
Z = np.array(  # of the parts, symmetric and passive [ohm/m]
    [
        [2 + 9j, 1 + 4j, 1 + 5j, 1 + 4j],
        [1 + 4j, 3 + 8j, 1 + 4j, 1 + 5j],
        [1 + 5j, 1 + 4j, 6 + 7j, 1 + 3j],
        [1 + 4j, 1 + 5j, 1 + 3j, 5 + 7j],
    ]
)
Y = np.linalg.inv(Z)
IA, IB = 10.0 + 0j, -4 + 3j


def test_a_solution_has_the_given_currents() -> None:
    ties = [Tie(("a",), IA), Tie(("b",), IB), Tie(("s",)), Tie(("t",))]
    state = drive(Y, NAMES, ties)
    assert state.currents == pytest.approx(np.array([IA, IB, 0, 0]), abs=ROUNDING)
    assert state.voltages == pytest.approx(Z @ np.array([IA, IB, 0, 0]), rel=ROUNDING)  # u = Z i


def test_bonded_parts_share_a_voltage_and_their_currents_sum_to_zero() -> None:
    state = drive(Y, NAMES, [Tie(("a",), IA), Tie(("b",), IB), Tie(("s", "t"))])
    # loop equation: (z_s - z_t) i = 0 with i_s = -i_t
    loop = Z[2] - Z[3]
    circulating = -(loop[0] * IA + loop[1] * IB) / (loop[2] - loop[3])
    assert state.currents == pytest.approx(np.array([IA, IB, circulating, -circulating]), rel=ROUNDING)
    assert state.voltages[2] == pytest.approx(state.voltages[3], rel=ROUNDING)


def test_parallel_parts_share_a_voltage_and_their_currents_sum_to_the_given_one() -> None:
    state = drive(Y, NAMES, [Tie(("a", "b"), IA), Tie(("s",)), Tie(("t",))])
    # current divider of two coupled branches: i_a/I = (z_bb - z_ab)/(z_aa + z_bb - 2 z_ab)
    share = (Z[1, 1] - Z[0, 1]) / (Z[0, 0] + Z[1, 1] - 2 * Z[0, 1])
    assert state.currents == pytest.approx(np.array([share * IA, (1 - share) * IA, 0, 0]), abs=1e-11)
    assert state.voltages[0] == pytest.approx(state.voltages[1], rel=ROUNDING)


def test_a_bond_through_an_impedance_returns_its_sum_through_it() -> None:
    impedance = 0.7 + 0.2j
    state = drive(Y, NAMES, [Tie(("a",), IA), Tie(("b",), IB), Tie(("s", "t"), impedance=impedance)])
    total = state.currents[2] + state.currents[3]
    assert state.voltages[2] == pytest.approx(-impedance * total, rel=1e-11)  # the loop has no source
    assert abs(total) > 0.1


@pytest.mark.parametrize(("impedance", "like"), [(1e9, None), (1e-12, 0.0)])
def test_a_return_of_no_or_endless_impedance_tends_to_its_limit(impedance: float, like: float | None) -> None:
    state = drive(Y, NAMES, [Tie(("a",), IA), Tie(("b",), IB), Tie(("s", "t"), impedance=impedance)])
    if like is None:
        insulated = drive(Y, NAMES, [Tie(("a",), IA), Tie(("b",), IB), Tie(("s", "t"))])
        assert state.currents == pytest.approx(insulated.currents, abs=1e-6)
    else:
        assert abs(state.voltages[2]) < 1e-9


def test_the_impedance_matrix_is_that_of_the_ports_with_the_others_open() -> None:
    ties = [Tie(("a",)), Tie(("b",)), Tie(("s",)), Tie(("t",))]
    assert impedance_matrix(Y, NAMES, ties, [0, 1]) == pytest.approx(Z[:2, :2], rel=1e-11)
    bonded = [Tie(("a",)), Tie(("b",)), Tie(("s", "t"))]
    found = impedance_matrix(Y, NAMES, bonded, [1, 0])
    # eliminating the loop s, -t by hand (Kron)
    loop = Z[2] - Z[3]
    expected = Z[:2, :2] - np.outer(loop[:2], loop[:2]) / (loop[2] - loop[3])
    assert found == pytest.approx(expected[::-1, ::-1], rel=1e-11)
    state = drive(Y, NAMES, [Tie(("a",), IA), Tie(("b",), IB), Tie(("s", "t"))])
    assert state.voltages[:2] == pytest.approx(expected @ np.array([IA, IB]), rel=1e-11)


@given(st.permutations(range(4)))
def test_the_order_of_the_parts_does_not_matter(order: list[int]) -> None:
    ties = [Tie(("b", "a"), IA), Tie(("t",), IB), Tie(("s",))]
    usual = drive(Y, NAMES, ties)
    other = drive(Y[np.ix_(order, order)], [NAMES[k] for k in order], ties[::-1])
    assert other.currents == pytest.approx(usual.currents[order], abs=1e-10)
    assert other.voltages == pytest.approx(usual.voltages[order], rel=1e-10)


def test_every_part_must_be_in_exactly_one_tie() -> None:
    with pytest.raises(ValueError, match="exactly one tie: t"):
        membership(NAMES, [Tie(("a", "b", "s"))])
    with pytest.raises(ValueError, match="exactly one tie: a"):
        membership(NAMES, [Tie(("a", "b", "s", "t")), Tie(("a",))])
    with pytest.raises(ValueError, match="'x'"):
        membership(NAMES, [Tie(("a", "b", "s", "t", "x"))])
    assert tied_admittance(Y, NAMES, [Tie(NAMES)])[0, 0] == pytest.approx(Y.sum(), rel=ROUNDING)
