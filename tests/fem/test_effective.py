"""Effective reluctivity: closed forms, identities and the meeting with a load line."""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.special import gamma

from fem.arrays import Floats
from fem.curve_data import CURVES
from fem.effective import DEFAULT_RULE, RULES, effective_reluctivity, rule_error, rule_gap, third_harmonic
from fem.magnetisation import Curve
from tests.fem.linear_curve import LinearCurve


@dataclass(frozen=True)
class CubicCurve(Curve):
    """H = k B^3, whose averages over a cycle are known."""

    k: float = 100.0  # [A/m/T^3]

    @property
    def last_flux_density(self) -> float:
        return np.inf

    def rising(self, flux_density: Floats) -> tuple[Floats, Floats]:
        return self.k * flux_density**3, 3 * self.k * flux_density**2

    def flux_density(self, field_strength):
        return np.cbrt(np.asarray(field_strength) / self.k)


MEAN = gamma(7 / 6) / (np.sqrt(np.pi) * gamma(5 / 3))  # mean of |sin|^(4/3) over a cycle


@pytest.mark.parametrize(
    ("rule", "over_k_b_squared"),  # nu/(k B^2) with B the peak of the phasor
    [
        ("equal-peak", 1),
        ("fundamental-h", 3 / 4),  # sin^3 = (3 sin - sin 3)/4
        ("mean-energy", 3 / 8),  # mean of k B^4 sin^4/4 is 3 k B^4/32 = nu B^2/4
        ("peak-energy", 1 / 2),  # k B^4/4 = nu B^2/2
        # B(t) = p sin^(1/3), fundamental 2 MEAN p; nu = k p^3/(2 MEAN p) = k b^2/(2 MEAN)^3
        ("fundamental-b", 1 / (2 * MEAN) ** 3),
        # mean of 3/4 p H sin^(4/3) = H^2/(4 nu): nu = H/(3 p MEAN), b = 3 MEAN p
        ("mean-coenergy", 1 / (3 * MEAN) ** 3),
    ],
)
def test_rules_have_their_closed_form_for_a_cubic_curve(rule, over_k_b_squared):
    b = np.geomspace(0.02, 10, 57)
    found = effective_reluctivity(CubicCurve(), rule).reluctivity(b) / (100.0 * b**2)
    # cube root at the zero of H: the quadrature is 1e-5 off there; the table interpolates to 1e-5
    np.testing.assert_allclose(found, over_k_b_squared, rtol=1e-4)


def test_every_rule_has_a_closed_form_test():
    marks = test_rules_have_their_closed_form_for_a_cubic_curve.pytestmark
    assert {case[0] for case in marks[0].args[1]} == set(RULES)
    assert DEFAULT_RULE in RULES


@pytest.mark.parametrize("rule", RULES)
def test_all_rules_agree_for_a_linear_curve(rule):
    table = effective_reluctivity(LinearCurve(250.0), rule)
    b = np.concatenate([[0.0], np.geomspace(1e-9, 1e3, 100)])
    np.testing.assert_allclose(table.reluctivity(b) * mu_0 * 250, 1, rtol=1e-13)  # rounding of 128 summands
    np.testing.assert_allclose(table.peak(b), b, rtol=1e-13)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("name", ["mild-steel-curve", "cast-steel-curve", "annealed-steel-curve"])
def test_reluctivity_rises_with_the_flux_density(rule, name):
    # the reluctivity of a Brauer curve rises, and so does every average of it
    table = effective_reluctivity(CURVES[name].curve, rule)
    b = np.linspace(0, 35, 7001)
    nu = table.reluctivity(b)
    assert np.all(np.diff(nu) > 0)
    assert nu[0] == CURVES[name].curve.reluctivity(0.0)
    assert nu[-1] < 1 / mu_0
    assert np.all(np.diff(table.peak(b)) > 0)


@pytest.mark.parametrize("name", CURVES)
def test_a_sinusoidal_field_strength_drives_the_curve_higher_than_the_phasor(name):
    b = np.linspace(1.8, 2.5, 50)  # beyond the knee B is flat-topped: its fundamental exceeds its peak, by 4/pi at most
    table = effective_reluctivity(CURVES[name].curve, "fundamental-b")
    assert np.all(table.peak(b) <= b)
    assert np.all(table.peak(b) > np.pi / 4 * b)


@pytest.mark.parametrize("share", [0.1, 0.6, 0.9])
@pytest.mark.parametrize("name", CURVES)
def test_the_meeting_with_a_load_line_lies_on_both(name, share):
    table = effective_reluctivity(CURVES[name].curve, "fundamental-h")
    random = np.random.default_rng(3)
    b, used = np.exp(random.uniform(-6, 1.5, 200)), np.exp(random.uniform(5, 13.5, 200))
    found = table.on_load_line(b, used, share)
    there = b * (found / used) ** -share
    np.testing.assert_allclose(table.reluctivity(there), found, rtol=1e-9)  # bisection to 2^-50 of a few e-foldings


def test_an_unknown_rule_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match=r"'rms'.*equal-peak, fundamental-h"):
        effective_reluctivity(LinearCurve(2.0), "rms")


OVER_TIME = (  # gap, error of the loss, third harmonic at (2, 0) and (0, -0.5) m, percent: the table of fem.effective
    *((1.5, 0.6, 0.4, 0.5), (34, 2.2, 1.4, 1.6), (94, 3.8, 2.6, 4.0), (5.6, 5.3, 3.9, 4.9), (7.2, 6.8, 4.4, 5.5)),
    *((5.0, 3.1, 3.5, 4.4), (58, 2.9, 2.3, 3.6), (111, 5.1, 3.8, 6.0), (10.1, 2.6, 8.2, 9.5), (3.7, 3.2, 7.3, 9.5)),
    *((1.5, 1.4, 5.4, 7.2), (10.2, 1.6, 2.7, 3.7), (0.7, 0.7, 0.7, 1.0), (5.4, 0.9, 1.2, 1.7)),
)


@pytest.mark.parametrize("case", OVER_TIME)
def test_the_error_of_the_rule_covers_every_case_solved_over_time(case):
    gap, loss, beside, below = (value / 100 for value in case)
    assert loss <= rule_error(gap) <= 0.07
    assert max(beside, below) <= third_harmonic(gap) <= 0.1


def test_rules_agree_for_a_linear_curve():
    b = np.array([0.1, 1.0, 2.0])
    assert rule_gap(LinearCurve(250.0), b) == pytest.approx(0, abs=1e-12)


def test_rules_differ_more_with_rising_saturation():
    # a rectangular curve: sinusoidal H gives a B of fundamental 4 Bs/pi, so that nu of one rule is unbounded beyond it
    gap = rule_gap(CURVES["mild-steel-curve"].curve, np.array([0.2, 1.0, 1.8]))
    assert np.all(np.diff(gap) > 0)
    assert gap[0] < 0.005
