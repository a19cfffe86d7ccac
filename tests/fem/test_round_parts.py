"""Impossible round parts and choices are refused with the part and the value."""

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fem.multipole import RoundPart, solve_round_parts

COPPER = 5.8e7  # [S/m]


def wire(name: str, x: float, y: float, radius: float, sigma: float = COPPER, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), radius, 0.0, sigma, mu)


def tube(name: str, x: float, y: float, outer: float, inner: float, sigma: float, mu: complex = 1.0) -> RoundPart:
    return RoundPart(name, (x, y), outer, inner, sigma, mu)


GOOD = wire("first", 0, 0, 0.01)


@pytest.mark.parametrize(
    ("parts", "named"),
    [
        ([GOOD, wire("second", 0.019, 0, 0.01)], ["'first'", "'second'", "-0.001"]),
        ([GOOD, wire("second", 0.020, 0, 0.01)], ["'first'", "'second'", "touch"]),
        ([GOOD, GOOD], ["'first'", "2"]),
        ([tube("t", 0, 0, 0.03, 0.02, 1.0), wire("c", 0.012, 0, 0.01)], ["'t'", "'c'", "-0.002"]),
        ([tube("t", 0, 0, 0.03, 0.02, 1.0), tube("u", 0.0, 0, 0.025, 0.015, 1.0)], ["'t'", "'u'"]),
        ([], ["at least one"]),
    ],
)
def test_parts_that_touch_overlap_cross_or_share_a_name_are_named(parts: list[RoundPart], named: list[str]) -> None:
    with pytest.raises(ValueError, match=".*".join(named)):
        solve_round_parts(parts, 50.0)


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("outer_radius", -0.01, "-0.01"),
        ("outer_radius", np.nan, "nan"),
        ("inner_radius", -0.001, "-0.001"),
        ("inner_radius", 0.01, "0.01"),
        ("inner_radius", np.nan, "nan"),
        ("conductivity", -1.0, "-1.0"),
        ("conductivity", np.inf, "inf"),
        ("relative_permeability", 0.0, "0.0"),
        ("relative_permeability", 5 + 1j, "(5+1j)"),
        ("relative_permeability", np.nan, "nan"),
        ("centre", (0.0, np.nan), "nan"),
    ],
)
def test_impossible_parts_are_refused_with_name_and_value(field: str, value: object, named: str) -> None:
    changed: dict[str, Any] = {field: value}
    with pytest.raises(ValueError, match=f"'first': {field} .* is .*{re.escape(named)}"):
        replace(GOOD, **changed)


@pytest.mark.parametrize(
    ("choice", "named"),
    [
        ({"frequency": -1.0}, "-1.0"),
        ({"frequency": np.nan}, "nan"),
        ({"reference_radius": 0.005}, "0.005"),
        ({"order": 0}, "0"),
        ({"tolerance": 1e-15}, "1e-15"),
        ({"frequency": 1e18}, "'first'"),
    ],
)
def test_impossible_choices_are_refused_with_their_value(choice: dict[str, float], named: str) -> None:
    arguments: dict[str, Any] = {"parts": [GOOD], "frequency": 50.0, **choice}
    with pytest.raises(ValueError, match=re.escape(named)):
        solve_round_parts(**arguments)


def test_a_part_without_a_name_and_arrays_of_a_wrong_shape_are_refused() -> None:
    with pytest.raises(ValueError, match="empty name"):
        replace(GOOD, name="")
    solution = solve_round_parts([GOOD], 50.0)
    with pytest.raises(ValueError, match="voltages"):
        solution.losses([1.0, 2.0])
    with pytest.raises(ValueError, match="points"):
        solution.field([1.0], [0.0, 0.0])
