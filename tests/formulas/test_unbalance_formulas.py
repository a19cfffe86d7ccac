"""Unbalance: worked examples, and the measures against each other."""

import numpy as np
import pytest

from studies.formulas.unbalance import (
    largest_deviation_unbalance,
    negative_sequence_unbalance,
    sequence_components,
    x_spread,
    z_deviation,
    zero_sequence_unbalance,
)
from tests.line_voltages import line_voltage_unbalance

A = np.exp(2j * np.pi / 3)


@pytest.mark.parametrize(
    ("volts", "nema", "negative"),
    [
        # published examples 462/463/455 V: 1.1 %, and 480/476/472 V: 0.84 % [C]; V2/V1 by the triangle [D]
        ([462.0, 463.0, 455.0], (1.1, 0.05), 1.091),
        ([480.0, 476.0, 472.0], (0.84, 0.005), 0.970),
    ],
)
def test_worked_examples(volts: list[float], nema: tuple[float, float], negative: float) -> None:
    assert 100 * largest_deviation_unbalance(volts) == pytest.approx(nema[0], abs=nema[1])
    assert 100 * line_voltage_unbalance(volts) == pytest.approx(negative, abs=0.0005)  # half the last digit


def test_components_are_taken_apart_as_they_were_put_together() -> None:
    zero, positive, negative = 3 - 1j, 230 + 5j, -2 + 4j
    phases = np.array(
        [zero + positive + negative, zero + A**2 * positive + A * negative, zero + A * positive + A**2 * negative]
    )
    assert sequence_components(phases) == pytest.approx([zero, positive, negative], rel=1e-12)
    assert negative_sequence_unbalance(phases) == pytest.approx(abs(negative / positive), rel=1e-12)
    assert zero_sequence_unbalance(phases) == pytest.approx(abs(zero / positive), rel=1e-12)


@pytest.mark.parametrize("share", [0.001, 0.02, 0.3])
@pytest.mark.parametrize("angle", np.linspace(0, 2 * np.pi, 7))
def test_line_voltages_alone_tell_the_negative_sequence(share: float, angle: float) -> None:
    negative = share * np.exp(1j * angle)
    phases = np.array([1 + negative, A**2 + A * negative, A + A**2 * negative]) + 0.4j  # a zero sequence as well
    lines = np.abs(phases - np.roll(phases, -1))
    assert negative_sequence_unbalance(phases) == pytest.approx(share, rel=1e-10)
    # 3 - 6 beta is near 1: a loss of digits of about 1e-16/share^2
    assert line_voltage_unbalance(lines) == pytest.approx(share, rel=1e-8)
    # the largest of three cosines 60 degrees apart is between sqrt(3)/2 and 1; second order in the share
    ratio = largest_deviation_unbalance(lines) / share
    assert np.sqrt(0.75) * (1 - 2 * share) < ratio < 1 + 2 * share


def test_what_is_no_triangle_or_has_no_positive_sequence_is_refused() -> None:
    with pytest.raises(ValueError, match="close no triangle"):
        line_voltage_unbalance([100.0, 100.0, 250.0])
    with pytest.raises(ValueError, match="no positive sequence"):
        negative_sequence_unbalance([1.0, A, A**2])
    with pytest.raises(ValueError, match="shape"):
        largest_deviation_unbalance([1.0, 2.0])


def test_the_measures_of_one_circuit_are_five_different_numbers() -> None:
    """Three phases of 1 + 1j, 1 + 2j and 1 + 3j ohm with balanced currents of 1 A, by hand."""
    z = np.array([1 + 1j, 1 + 2j, 1 + 3j])
    drops = z * np.array([1, A**2, A])
    assert x_spread(z.imag) == pytest.approx((3 - 1) / 2, rel=1e-12)
    assert z_deviation(z) == pytest.approx(1 / np.sqrt(5), rel=1e-12)
    # of the mean 1 + 2j, and 1j (a - a^2)/3 = -1/sqrt(3) in either other sequence
    assert negative_sequence_unbalance(drops) == pytest.approx(1 / np.sqrt(15), rel=1e-12)
    assert zero_sequence_unbalance(drops) == pytest.approx(1 / np.sqrt(15), rel=1e-12)


def test_spread_is_taken_along_the_first_axis() -> None:
    columns = np.array([[1.0, 2.0], [2.0, 2.0], [3.0, 2.0]])
    assert x_spread(columns) == pytest.approx([1.0, 0.0])


def test_deviation_is_taken_along_the_first_axis() -> None:
    columns = np.array([[1.0, 2.0], [2.0, 2.0], [3.0, 2.0]])
    assert z_deviation(1j * columns) == pytest.approx([0.5, 0.0])
