"""Field ellipses against their definition: the locus of the field over a cycle."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fem.polarisation import axes, resultant

parts = st.floats(-1, 1).filter(lambda value: value == 0 or abs(value) > 1e-6)
phasors = st.builds(complex, parts, parts)
CYCLE = np.linspace(0, 2 * np.pi, 20_001)


@given(phasors, phasors)
def test_axes_are_those_of_the_locus_over_a_cycle(bx: complex, by: complex) -> None:
    field = np.array([bx, by])
    locus = np.sqrt(2) * (field[:, None] * np.exp(1j * CYCLE)).real  # instantaneous values of rms phasors
    length = np.linalg.norm(locus, axis=0)
    major, minor = axes(field)
    # the extremes of a smooth periodic function on 20 000 points: (pi/20 000)^2/2 and the root of rounding at zero
    assert float(major) == pytest.approx(length.max() / np.sqrt(2), rel=1e-7, abs=1e-12)
    assert float(minor) == pytest.approx(length.min() / np.sqrt(2), rel=1e-7, abs=2e-4 * float(major) + 1e-12)
    assert float(resultant(field)) == pytest.approx(np.sqrt(np.mean(length[:-1] ** 2)), rel=1e-9, abs=1e-12)
    assert float(major**2 + minor**2) == pytest.approx(float(resultant(field) ** 2), rel=1e-12, abs=1e-24)


@pytest.mark.parametrize(
    ("bx", "by", "major", "minor"),
    [
        (3.0, 4.0, 5.0, 0.0),  # in phase: a line
        (3.0, -4.0, 5.0, 0.0),
        (2.0, 1j, 2.0, 1.0),  # in quadrature: axes along x and y
        (1j, 3.0, 3.0, 1.0),
        (1.0, 1j, 1.0, 1.0),  # a circle
    ],
)
def test_simple_ellipses_have_their_hand_values(bx: complex, by: complex, major: float, minor: float) -> None:
    field = np.array([bx, by])
    found = axes(field)
    assert (float(found[0]), float(found[1])) == pytest.approx((major, minor), abs=1e-12)


def test_many_fields_at_once_keep_their_shape() -> None:
    field = np.array([[[1, 1j], [2, 0]], [[0, 1], [3, 4]], [[1j, 1j], [0, 0]]])
    assert resultant(field).shape == axes(field)[0].shape == (3, 2)
    assert resultant(field)[1] == pytest.approx([1, 5])
