"""Magnetisation curves: published values, slope and inverse, and what is refused."""

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.curve_data import CURVES, curve_from_csv, curve_from_points
from fem.magnetisation import NU_0, BrauerCurve, TabulatedCurve
from tests.fem.linear_curve import LinearCurve

EVERY = [pytest.param(published.curve, id=name) for name, published in CURVES.items()]
EVERY.append(pytest.param(LinearCurve(300.0), id="linear"))
EVERY.append(pytest.param(curve_from_points([0, 100, 400, 4000], [0, 0.8, 1.4, 1.7]), id="table"))


@pytest.mark.parametrize("curve", EVERY)
def test_the_slope_is_the_derivative_of_the_field_strength(curve):
    b = np.linspace(0.003, 3.0, 700)
    step = 1e-6
    b = b[np.abs(b - min(curve.last_flux_density, 9.0)) > 2 * step]
    rise = (curve.field_strength(b + step) - curve.field_strength(b - step)) / (2 * step)
    # central difference: step^2 times a third derivative of some thousands of slopes, and rounding 1e-16/1e-6
    np.testing.assert_allclose(curve.slope(b), rise, rtol=1e-6)


@pytest.mark.parametrize("curve", EVERY)
def test_flux_density_is_the_inverse_of_field_strength(curve):
    b = np.concatenate([[0.0], np.geomspace(1e-9, 1e3, 999)])
    np.testing.assert_allclose(curve.flux_density(curve.field_strength(b)), b, rtol=1e-12, atol=1e-24)


@pytest.mark.parametrize("curve", EVERY)
def test_reluctivity_tends_to_the_slope_at_zero(curve):
    assert curve.reluctivity(1e-8) == pytest.approx(float(curve.slope(0.0)), rel=1e-4)  # curvature times 1e-8 T
    assert curve.reluctivity(0.0) == curve.slope(0.0)
    assert curve.initial_relative_permeability == pytest.approx(NU_0 / float(curve.slope(0.0)))


@pytest.mark.parametrize("curve", [case for case in EVERY if case.id != "linear"])
def test_a_curve_goes_on_with_the_slope_of_air_and_without_a_step(curve):
    last = curve.last_flux_density
    h = curve.field_strength(np.array([last * (1 - 1e-12), last, last + 1.0, 1e9]))
    assert h[0] == pytest.approx(h[1], rel=1e-9)
    assert h[2] - h[1] == pytest.approx(NU_0, rel=1e-12)
    assert h[3] == pytest.approx(NU_0 * 1e9, rel=1e-6)
    assert np.all(curve.slope(np.array([last + 1e-9, 5.0])) == NU_0)


@pytest.mark.parametrize(
    ("name", "printed"),  # H at 0.5, 1, 1.5 and 1.8 T, derived once from the published constants
    [
        ("cast-steel-curve", (295.9, 733.3, 2760, 11015)),
        ("mild-steel-curve", (201.4, 429.5, 1346.5, 8449)),
        ("annealed-steel-curve", (79.8, 193.9, 2005.6, 31726)),
    ],
)
def test_brauer_curves_have_their_published_constants(name, printed):
    found = CURVES[name].curve.field_strength(np.array([0.5, 1.0, 1.5, 1.8]))
    np.testing.assert_allclose(found, printed, rtol=6.3e-4)  # half of the last digit of 79.8
    assert CURVES[name].source


@pytest.mark.parametrize(
    ("name", "printed"),  # relative permeability at B [T] as printed beside the constants, whole numbers
    [
        ("sheet-steel-dc01-curve", {0.02: 115, 0.05: 256, 0.1: 444, 0.2: 708, 0.5: 1104, 1.0: 1224}),
        ("carbon-steel-1008-curve", {0.01: 263, 0.05: 492, 0.1: 731, 0.5: 1738}),
    ],
)
def test_rational_curves_have_their_published_permeabilities(name, printed):
    curve = CURVES[name].curve
    for b, mu in printed.items():
        assert b / (mu_0 * float(curve.field_strength(b))) == pytest.approx(mu, abs=0.5)
    b = np.linspace(0.0, curve.last_flux_density, 4001)[1:-1]
    step = 1e-6
    slope = (curve.field_strength(b + step) - curve.field_strength(b - step)) / (2 * step)
    np.testing.assert_allclose(slope, curve.slope(b), rtol=1e-5)  # second order in the step, times curvature
    assert np.all(slope > 0)
    assert curve.last_flux_density < 2.4  # no more than iron carries


def test_the_curve_of_1010_steel_has_its_published_points():
    h = np.array([238.7, 637, 1591.5, 15915.5])
    found = CURVES["carbon-steel-1010-curve"].curve.flux_density(h)
    assert found == pytest.approx([0.2003, 0.791, 1.302, 1.87], abs=5e-4)


@pytest.mark.parametrize("name", CURVES)
def test_the_other_curve_of_a_steel_is_another_built_in_one(name):
    assert CURVES[name].other in {"", *CURVES}
    assert CURVES[name].other != name


def test_the_benchmark_curve_has_its_published_points():
    # TEAM workshop problem 13, B-H table
    curve = CURVES["benchmark-steel-curve"].curve
    b = np.array([0.0025, 0.0125, 0.1, 0.5, 1.0, 1.5, 1.6, 1.7, 1.75])
    h = np.array([16, 54, 191, 247, 342, 933, 1934, 4993, 7189])
    np.testing.assert_allclose(curve.field_strength(b), h, rtol=1e-12)
    assert curve.flux_density(9423.0) == pytest.approx(1.8, abs=5e-5)  # printed with two digits; the tail gives 1.79997


@pytest.mark.parametrize("h", [12e3, 25e3, 45e3])
def test_the_benchmark_curve_follows_its_published_tail(h):
    # TEAM workshop problem 13: B = mu0 H + a H^2 + b H + c between 1.8 and 2.22 T
    b = mu_0 * h - 2.381e-10 * h**2 + 2.327e-5 * h + 1.590
    assert CURVES["benchmark-steel-curve"].curve.flux_density(h) == pytest.approx(b, rel=1e-12)


def test_the_benchmark_curve_ends_near_its_published_saturation():
    # B = mu0 H + 2.16 above 2.22 T as published; the published tail ends 1.5 mT lower
    curve = CURVES["benchmark-steel-curve"].curve
    assert 2.5 - mu_0 * curve.field_strength(2.5) == pytest.approx(2.16, abs=1.6e-3)


def test_a_brauer_curve_may_be_left_at_a_stated_flux_density():
    curve = BrauerCurve(3.8, 2.17, 396.2, valid_to=1.6)
    whole = BrauerCurve(3.8, 2.17, 396.2)
    assert curve.field_strength(1.6) == whole.field_strength(1.6)
    assert curve.field_strength(1.7) == pytest.approx(float(whole.field_strength(1.6)) + 0.1 * NU_0)
    assert whole.slope(whole.last_flux_density) == pytest.approx(NU_0, rel=1e-12)


@pytest.mark.parametrize("constants", [(0.0, 2.0, 400.0), (3.8, -1.0, 400.0), (3.8, 2.0, -1.0), (3.8, 2.0, 9e5)])
def test_a_brauer_curve_of_no_steel_is_refused(constants):
    with pytest.raises(ValueError, match="Brauer"):
        BrauerCurve(*constants)


@pytest.mark.parametrize("seed", range(20))
def test_a_table_rises_strictly_between_its_points(seed):
    random = np.random.default_rng(seed)
    h = np.cumsum(np.concatenate([[0], random.lognormal(4, 2, 12)]))
    b = np.cumsum(np.concatenate([[0], random.lognormal(-3, 1, 12)])) + mu_0 * h
    b *= min(1.0, 2.5 / b[-1])
    curve = TabulatedCurve(tuple(b), tuple(h))
    assert np.all(curve.slope(np.linspace(0, b[-1], 5001)) > 0)
    assert np.all(np.diff(curve.field_strength(np.linspace(0, 1.2 * b[-1], 5001))) > 0)
    np.testing.assert_allclose(curve.field_strength(b), h, rtol=1e-12)


BAD = [
    ([0, 100], [0, 0.5], "at least 3 points, there are 2"),
    ([0, 100, 200], [0, 0.5], "3 of H, 2 of B"),
    ([0, 100, 90, 300], [0, 0.5, 0.6, 0.8], r"point 3: H = 90 A/m, B = 0.6 T: H must rise"),
    ([0, 100, 200, 300], [0, 0.5, 0.4, 0.8], r"point 3: H = 200 A/m, B = 0.4 T: B must rise"),
    ([0, 100, 200, 300], [0, 0.5, 0.5, 0.8], r"point 3.*B must rise.*point 2 has 0.5 T"),
    ([-5, 100, 200], [0.1, 0.5, 0.6], r"point 1: H = -5 A/m"),
    ([0, 100, float("nan")], [0, 0.5, 0.6], r"point 3.*finite"),
    ([0, 1000, 2e5], [0, 1.5, 1.6], r"point 3: .*slope is 0.4 mu0"),
    ([0, 100, 1000], [0, 0.5e3, 1.5e3], r"point 2: .*B must be in T"),
    ([0, 0.1e-3, 1e-3], [0, 0.5, 1.5], r"point 2: .*H must be in A/m"),
    ([0, 0.5, 1.5], [0, 100, 1000], r"point 2: .*the columns must be H, then B"),
]


@pytest.mark.parametrize(("h", "b", "message"), BAD)
def test_a_bad_row_is_refused_by_name_and_value(h, b, message):
    with pytest.raises(ValueError, match=message):
        curve_from_points(h, b)


def test_a_curve_is_extended_to_the_origin():
    curve = curve_from_points([100, 400, 4000], [0.8, 1.4, 1.7])
    assert curve.flux_densities == (0.0, 0.8, 1.4, 1.7)
    assert curve.field_strengths == (0.0, 100.0, 400.0, 4000.0)


@pytest.mark.parametrize(
    "head", ["", "H_A_per_m,B_T\n", "# sheet\n\nH_A_per_m, B_T  # as measured\n", "\ufeffH_A_per_m,B_T\n"]
)
def test_a_csv_file_is_read(tmp_path, head):
    path = tmp_path / "sheet.csv"
    path.write_text(head + "0,0\n100, 0.8 # knee\n\n4e2,1.4\n4000,1.7\n", encoding="utf-8")
    assert curve_from_csv(path) == curve_from_points([0, 100, 400, 4000], [0, 0.8, 1.4, 1.7])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("0;0\n1;2\n", r"sheet.csv, line 1 has 1 column;"),
        ("0,0\n100,0,8\n", r"line 2 has 3 columns"),
        ("B,H\n0,0\n", r"line 1 is not two numbers; a header must be the first line and read H_A_per_m,B_T"),
        ("0,0\n100,0.8\n# comment\n90,1.0\n", r"sheet.csv: line 4: H = 90 A/m, B = 1 T: H must rise.*line 2 has 100"),
        ("", r"at least 3 points, there are 0"),
    ],
)
def test_a_bad_csv_file_is_refused_by_line(tmp_path, text, message):
    path = tmp_path / "sheet.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match=message):
        curve_from_csv(path)


def test_a_csv_file_in_another_encoding_is_refused(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_bytes("0,0 # \u00b5".encode("latin-1"))
    with pytest.raises(ValueError, match="not UTF-8"):
        curve_from_csv(path)


def test_a_negative_or_missing_magnitude_is_refused():
    with pytest.raises(ValueError, match=r"flux_density must be a number of 0 T or above: -0\.1"):
        CURVES["mild-steel-curve"].curve.field_strength([0.1, -0.1])
    with pytest.raises(ValueError, match="nan"):
        CURVES["mild-steel-curve"].curve.flux_density(float("nan"))
