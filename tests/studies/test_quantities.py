"""Quantities as text: conversions by definition, round trips, and what is said about a bad one."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studies.study.quantities import (
    KINDS,
    MOST_DIAMETERS,
    RANGES,
    Gap,
    QuantityError,
    bounds,
    convert,
    gap,
    in_range,
    quantity,
)
from studies.study.quantities import _converted as by_pint
from studies.study.unit_names import FACTORS, UNITS

ROUNDING = 1e-12  # relative: a few roundings of double precision

# every factor is a definition: inch 25.4 mm, foot 304.8 mm, gauss 1e-4 T, 0 degC = 273.15 K, 32 degF = 0 degC
CONVERSIONS = [
    ("56 mm", "spacing", 0.056),
    ("5.6 cm", "spacing", 0.056),
    ("2.2 in", "spacing", 0.05588),
    ("1 ft", "spacing", 0.3048),
    ("60 mil", "thickness", 1.524e-3),
    ("200 um", "thickness", 2e-4),
    ("-1.5 m", "coordinate", -1.5),
    ("\u22121.5\u00a0m", "coordinate", -1.5),
    ("240 mm^2", "area", 240e-6),
    ("240 mm2", "area", 240e-6),
    ("240 mm\u00b2", "area", 240e-6),
    ("0.4 kA", "current", 400.0),
    ("0.4kA", "current", 400.0),
    ("4e2 A", "current", 400.0),
    ("0.5 uT", "limit", 5e-7),
    ("0.5 \u00b5T", "limit", 5e-7),
    ("0.5 \u03bcT", "limit", 5e-7),
    ("500 nT", "limit", 5e-7),
    ("0.2 mT", "limit", 2e-4),
    ("5 mG", "limit", 5e-7),
    ("2 G", "limit", 2e-4),
    ("70 degC", "temperature", 70.0),
    ("70 \u00b0C", "temperature", 70.0),
    ("158 degF", "temperature", 70.0),
    ("343.15 K", "temperature", 70.0),
    ("50 Hz", "frequency", 50.0),
    ("0.4 kHz", "frequency", 400.0),
    ("0.5 %", "tolerance", 0.005),
    ("0.0754 ohm/km", "dc resistance", 7.54e-5),
    ("0.0754 \u03a9/km", "dc resistance", 7.54e-5),
    ("0.0754 mohm/m", "dc resistance", 7.54e-5),
    ("0.3048 ohm/kft", "dc resistance", 1e-3),
    ("6.0 MS/m", "conductivity", 6e6),
    ("0.17 uohm*m", "resistivity", 1.7e-7),
    ("0.17 uohm m", "resistivity", 1.7e-7),
    ("0.00393 1/K", "temperature coefficient", 3.93e-3),
    ("0.393 %/K", "temperature coefficient", 3.93e-3),
    ("-120 deg", "angle", -2 * math.pi / 3),
    ("-120\u00b0", "angle", -2 * math.pi / 3),
    ("1.5 rad", "angle", 1.5),
]


@pytest.mark.parametrize(("text", "name", "si"), CONVERSIONS)
def test_a_quantity_becomes_its_si_number(text: str, name: str, si: float) -> None:
    # degF is shifted by 255 K before it is scaled: absolute rounding of some 1e-13 K
    assert quantity(text, name) == pytest.approx(si, rel=ROUNDING)


# ASTM B258 [C]: 4/0 AWG is 0.4600 in across; a circular mil is pi/4 (25.4 um)^2 by definition
@pytest.mark.parametrize(
    ("text", "area"),
    [
        ("4/0 AWG", math.pi / 4 * (0.46 * 0.0254) ** 2),
        ("36 AWG", math.pi / 4 * (0.005 * 0.0254) ** 2),
        ("500 kcmil", 500e3 * math.pi / 4 * 25.4e-6**2),
        ("211600 cmil", 211600 * math.pi / 4 * 25.4e-6**2),
    ],
)
def test_american_sizes_are_areas(text: str, area: float) -> None:
    assert quantity(text, "area") == pytest.approx(area, rel=ROUNDING)


BAD = [
    ("", "is empty", "56 mm"),
    ("   ", "is empty", "56 mm"),
    ("56", "without a unit", "56 mm"),
    (56, "bare number", "56 mm"),
    (0.056, "bare number", "0.056 mm"),
    (10**400, "bare number", "56 mm"),
    (math.nan, "not a finite number", "56 mm"),
    (math.inf, "not a finite number", "56 mm"),
    ("nan mm", "not a finite number", "56 mm"),
    ("inf mm", "not a finite number", "56 mm"),
    ("1e999 mm", "not a finite number", "56 mm"),
    ("56 A", 'unit "A"', "56 mm"),
    ("56 mm^2", 'unit "mm^2"', "56 mm"),
    ("56 MM", 'unknown unit "MM"', '"mm" in place of'),
    ("56 inch", 'unknown unit "inch"', '"in" in place of'),
    ("56 furlong", 'unknown unit "furlong"', "56 mm"),
    ("56,5 mm", "comma", '"56.5 mm"'),
    ("1,000 mm", "comma", '"1.000 mm" or "1000 mm"'),
    ("5 mm + 3 mm", "one number", "56 mm"),
    ("5 mm 3", "one number", "56 mm"),
    ("mm", "does not begin with a number", "56 mm"),
    ("about 5 mm", "does not begin with a number", "56 mm"),
    (["56 mm"], "a list", "56 mm"),
    ({"value": 56}, "a table", "56 mm"),
    (True, "true or false", "56 mm"),
    ("0 mm", "outside", "from 0.1 mm to 100 m"),
    ("-56 mm", "outside", "from 0.1 mm to 100 m"),
    ("56 km", "outside", "from 0.1 mm to 100 m"),
]


@pytest.mark.parametrize(("text", "wrong", "right"), BAD)
def test_a_bad_length_is_told_on_one_line_with_the_right_form(text: object, wrong: str, right: str) -> None:
    with pytest.raises(QuantityError) as caught:
        quantity(text, "spacing")
    assert wrong in caught.value.wrong
    assert right in caught.value.right
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "name", "wrong", "right"),
    [
        ("70 C", "temperature", 'unknown unit "C"', '"degC" in place of'),
        ("500 MCM", "area", 'unknown unit "MCM"', '"kcmil" in place of'),
        ("12 awg", "area", "American wire gauge", '"12 AWG"'),
        ("AWG 12", "area", "American wire gauge", '"12 AWG"'),
        ("41 AWG", "area", "American wire gauge", '"40 AWG"'),
        ("0 Hz", "frequency", "outside", "above 0 Hz and at most 20 kHz"),
        ("21 kHz", "frequency", "outside", "above 0 Hz and at most 20 kHz"),
        ("101 kA", "current", "outside", "from 0 A to 100 kA"),
        ("-400 A", "current", "outside", "from 0 A to 100 kA"),
        ("0.001 mm", "thickness", "outside", "from 0.01 mm to 100 mm"),
        ("0 uT", "limit", "outside", "above 0 uT"),
        ("0.5", "tolerance", "without a unit", "0.5 %"),
    ],
)
def test_a_bad_quantity_of_another_kind_is_told_with_the_right_form(
    text: object, name: str, wrong: str, right: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        quantity(text, name)
    assert wrong in caught.value.wrong
    assert right in caught.value.right


@pytest.mark.parametrize("name", RANGES)
def test_every_range_holds_its_own_example_and_its_ends(name: str) -> None:
    allowed, (low, high) = RANGES[name], bounds(name)
    assert low <= quantity(allowed.example, name) <= high
    assert quantity(allowed.high, name) == high
    if allowed.above:
        with pytest.raises(QuantityError, match="outside"):
            quantity(allowed.low, name)
    else:
        assert quantity(allowed.low, name) == low


@pytest.mark.parametrize("name", RANGES)
def test_a_number_beyond_a_range_is_refused(name: str) -> None:
    low, high = bounds(name)
    for value in (low - 0.01 * (high - low), high + 0.01 * (high - low), math.nan, math.inf, -math.inf):
        with pytest.raises(QuantityError):
            in_range(value, name)


@given(st.sampled_from(sorted(KINDS)), st.data(), st.floats(1e-6, 1e6))
def test_a_number_survives_the_way_through_any_two_units_of_a_kind(
    kind: str, data: st.DataObject, number: float
) -> None:
    names = [unit for unit in KINDS[kind].units if unit != "AWG"]
    first, second = data.draw(st.sampled_from(names)), data.draw(st.sampled_from(names))
    si = convert(f"{number!r} {first}", kind)
    zero, one = (
        convert(f"0 {second}", kind),
        convert(f"1 {second}", kind),
    )  # every scale is linear, temperatures shifted
    again = convert(f"{(si - zero) / (one - zero)!r} {second}", kind)
    # absolute part for the shift of temperature scales, 273 K and 460 degF, and their roundings
    assert again == pytest.approx(si, rel=1e-11, abs=1e-11 if kind == "temperature" else 0)


@given(st.floats(0.2, 99_000), st.sampled_from(["", " ", "  ", "\t"]))
def test_space_before_the_unit_does_not_matter(number: float, space: str) -> None:
    assert quantity(f"{number!r}{space}mm", "spacing") == pytest.approx(number * 1e-3, rel=ROUNDING)


def finite_or_told(text: object, name: str) -> bool:
    try:
        return math.isfinite(quantity(text, name))
    except QuantityError as error:
        return bool(error.wrong and error.right)


@given(st.text(max_size=20))
def test_any_text_is_either_a_finite_number_or_a_told_error(text: str) -> None:
    assert all(finite_or_told(text, name) for name in RANGES)


@given(st.from_regex(r"[0-9]{1,3} ?([a-zA-Z%/*^ 0-9]{1,12})", fullmatch=True))
def test_any_unit_is_either_known_or_a_told_error(text: str) -> None:
    assert all(finite_or_told(text, name) for name in RANGES)


def test_a_unit_is_never_read_as_a_prefix_and_a_unit() -> None:
    for text in ("1 min", "1 Mm", "1 kkm", "1 dm"):
        assert text.split()[1] not in UNITS
        with pytest.raises(QuantityError, match="unknown unit"):
            quantity(text, "spacing")


def test_a_clear_gap_is_a_length_or_a_number_of_diameters() -> None:
    assert gap("25 mm") == Gap(0.025)
    assert gap("0 mm").length(0.03) == 0
    assert gap("1 diameter").length(0.03) == pytest.approx(0.03, rel=ROUNDING)
    assert gap("2.15 diameters").length(0.02) == pytest.approx(0.043, rel=ROUNDING)


@pytest.mark.parametrize("text", ["1 dia", "-1 diameter", f"{MOST_DIAMETERS + 1} diameter", "1", 1, "-5 mm"])
def test_a_bad_clear_gap_shows_that_diameters_are_allowed(text: object) -> None:
    with pytest.raises(QuantityError) as caught:
        gap(text)
    assert '"1 diameter"' in caught.value.right


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind, units in FACTORS.items() for unit in units])
def test_a_usual_unit_is_converted_as_by_pint(kind, unit):
    assert convert(f"0.7 {unit}", kind) == pytest.approx(by_pint(0.7, unit, unit, KINDS[kind], ""), rel=ROUNDING)


def test_every_range_is_in_usual_units():
    for name, allowed in RANGES.items():
        units = {text.partition(" ")[2] for text in (allowed.low, allowed.high, allowed.example)}
        assert units <= set(FACTORS[allowed.kind]), name
