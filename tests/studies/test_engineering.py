"""Numbers as text: prefix, digits by the error, differences in per cent."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studies.text.engineering import PREFIXES, common_unit, difference, engineering, fixed, percent, prefix_power

EVERY_NUMBER = st.floats(1e-11, 9e11).flatmap(lambda x: st.sampled_from([x, -x]))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (2.254e-6, "2.254 µT"),
        (1e-6, "1.000 µT"),
        (1e-9, "1.000 nT"),
        (1.0, "1.000 T"),
        (1000.0, "1.000 kT"),
        (0.0123456, "12.35 mT"),
        (-0.0123456, "-12.35 mT"),
        (123456.0, "123.5 kT"),
        (0.0, "0 T"),
        (1e-15, "0.001000 pT"),
        (5e12, "5000 GT"),
        (None, "–"),
        (math.nan, "–"),
        (math.inf, "–"),
    ],
)
def test_a_number_is_written_with_the_prefix_that_leaves_one_to_three_digits_before_the_point(value, text):
    assert engineering(value, "T") == text


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [
        (2.25408e-6, 3.7e-10, "2.2541 µT ± 0.0004"),
        (2.25408e-6, 3.7e-8, "2.25 µT ± 0.04"),
        (2.25408e-6, 3.7e-7, "2.3 µT ± 0.4"),
        (2.25408e-6, 3.7e-6, "2 µT ± 4"),
        (2.264e-6, 3.0e-11, "2.2640 µT ± 0.0001"),  # never an error far below the last digit shown
        (2.25408e-6, 0.0, "2.2541 µT ± 0"),
        (9.99996e-6, 2e-7, "10.0 µT ± 0.2"),
        (0.0, 1e-9, "0 nT ± 1"),
        (0.0, 0.0, "0 T"),
        (-3.2e-9, 4e-8, "-3 nT ± 40"),
    ],
)
def test_a_number_has_the_digits_that_its_error_supports(value, error, text):
    assert engineering(value, "T", error=error) == text


@given(EVERY_NUMBER, st.floats(1e-9, 10))
def test_a_number_and_its_error_have_the_same_decimals_and_the_error_is_no_smaller(value, ratio):
    error = abs(value) * ratio
    number, unit, _, bound = engineering(value, "T", error=error).split(" ")
    power = next(power for power, prefix in PREFIXES.items() if f"{prefix}T" == unit)
    assert len(number.partition(".")[2]) == len(bound.partition(".")[2])
    # rounded up to one digit, or to the last of five digits: at most twice the error, or 1e-4 of the value more
    assert error * (1 - 1e-6) <= float(bound) * 10.0**power <= 2 * error + 1.0001e-4 * abs(value)
    assert abs(float(number) * 10.0**power - value) <= float(bound) * 10.0**power


@given(EVERY_NUMBER, st.integers(2, 6))
def test_the_text_reads_back_as_the_number_to_its_digits(value, digits):
    number, unit = engineering(value, "T", digits).split(" ")
    power = next(power for power, prefix in PREFIXES.items() if f"{prefix}T" == unit)
    # half of the last digit, and the rounding of the scaling
    assert float(number) * 10.0**power == pytest.approx(value, rel=0.5 * 10.0 ** (1 - digits) * (1 + 1e-9))


@given(EVERY_NUMBER, st.integers(1, 6))
def test_a_number_has_the_digits_asked_for_and_never_an_exponent(value, digits):
    text = fixed(value, digits)
    assert re.fullmatch(r"-?\d+(\.\d+)?", text)
    significant = text.lstrip("-0.").replace(".", "")
    whole = len(text.lstrip("-").split(".")[0])
    assert len(significant) == max(digits, whole if abs(float(text)) >= 1 else 0)


@pytest.mark.parametrize(("value", "text"), [(9.996, "10.0"), (999.96, "1000"), (0.09996, "0.100"), (-9.996, "-10.0")])
def test_rounding_up_to_the_next_power_of_ten_adds_no_digit(value, text):
    assert fixed(value, 3) == text


@given(st.integers(-11, 11))
def test_an_exact_power_of_ten_gets_its_own_prefix(power):
    assert prefix_power(10.0**power) == 3 * (power // 3)


def test_the_common_unit_suits_the_largest_value():
    factor, unit = common_unit([1e-9, -2e-6, math.nan, math.inf], "T")
    assert factor == pytest.approx(1e6)
    assert unit == "µT"
    assert common_unit([], "T") == (1.0, "T")
    assert common_unit([0.0], "A") == (1.0, "A")


@pytest.mark.parametrize(
    ("value", "reference", "expected"),
    [
        (2.0, 3.0, 50.0),
        (2.0, 1.0, -50.0),
        (-2.0, -3.0, -50.0),
        (2.0, 2.0, 0.0),
        (0.0, 1.0, None),
        (None, 1.0, None),
        (1.0, None, None),
        (1.0, math.inf, None),
        (1.0, math.nan, None),
    ],
)
def test_a_difference_is_that_of_the_reference_from_the_value_in_per_cent(value, reference, expected):
    assert difference(value, reference) == expected


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (38.5, "+38 %"),
        (-2.61, "-2.6 %"),
        (9.96, "+10 %"),
        (0.0123, "+0.012 %"),
        (-0.0000123, "-0.000012 %"),
        (0.0, "+0 %"),
        (12345.6, "+12 346 %"),
        (-12345.6, "-12 346 %"),
        (None, "–"),
    ],
)
def test_per_cent_has_a_sign_and_no_exponent(value, text):
    assert percent(value) == text
