"""The highest field along a traverse is that of the line, wherever its points lie, and is read so by a reader."""

import dataclasses
import math
import re

import numpy as np
import pytest

from fem.constants import mu_0
from studies.answers.fields import peak
from studies.answers.fields.words import traverse_rows
from studies.result import Result
from studies.text.failures import collected
from tests.studies.small_installations import CONDUCTOR, circuit, solved

HALF = 0.2
"""Half the spacing of a go and a return conductor. [m]"""
ABOVE = 0.1
"""Of the traverse over their axes. [m]"""
OVER_ALL = CONDUCTOR + 3.5e-3
PAIR = circuit(
    phases="L1 L2",
    current='{ L1 = ["400 A", "0 deg"], L2 = ["400 A", "180 deg"] }',
    formation='arrangement = "flat"\nspacing = "400 mm"',
    at=(0.0, -1e3 * OVER_ALL),
)


def traverse(points: int, name: str = "over the pair") -> str:
    return f"""
[[traverses]]
name = "{name}"
from = ["-1 m", "{ABOVE} m"]
to = ["1.3 m", "{ABOVE} m"]
points = {points}
"""


@pytest.fixture(scope="module")
def pair() -> Result:
    return solved(PAIR, traverse(2) + traverse(41, "finely"))


def axes_of(result: Result) -> list[tuple[float, float]]:
    return [cable.axis for cable in result.cross_section.cables]


def test_the_highest_field_of_a_pair_is_above_a_place_just_inside_a_conductor(pair: Result) -> None:
    assert np.array(axes_of(pair)) == pytest.approx(np.array([(-HALF, 0.0), (HALF, 0.0)]), abs=1e-9)
    found = pair.traverses[0].peak

    assert found is not None
    # |B| = mu0 I 2a / (2 pi r1 r2), and r1 r2 along y = h < a is least, 2 a h, where x^2 = a^2 - h^2 [D]
    assert found.b_rms_t == pytest.approx(mu_0 * 400 / (2 * math.pi * ABOVE), rel=1e-3)  # eddies in two round parts
    # at the top the field changes by the square of the distance: 1e-3 of it is 2 % of a width of about h
    assert abs(found.x_m) == pytest.approx(math.sqrt(HALF**2 - ABOVE**2), abs=0.03 * ABOVE)
    assert found.distance_m == pytest.approx(found.x_m + 1.0, abs=1e-12)
    assert found.y_m == pytest.approx(ABOVE)


def test_two_points_and_many_give_the_same_highest_field(pair: Result) -> None:
    coarse, fine = (one.peak for one in pair.traverses)

    assert coarse is not None
    assert fine is not None
    assert coarse.b_rms_t == pytest.approx(fine.b_rms_t, rel=1e-4)
    assert coarse.b_rms_t > 5 * pair.traverses[0].b_rms_t.max()


def test_no_place_of_the_line_has_a_higher_field(pair: Result) -> None:
    found = pair.traverses[0].peak
    assert found is not None
    along = np.column_stack([np.linspace(-1.0, 1.3, 3001), np.full(3001, ABOVE)])

    field = pair.field_at(along).b_rms_t
    assert found.b_rms_t >= field.max() * (1 - 1e-6)
    assert abs(found.x_m) == pytest.approx(abs(along[field.argmax(), 0]), abs=1e-3)  # samples 0.77 mm apart, two tops
    at_it = pair.field_at([[found.x_m, found.y_m]])
    assert at_it.b_rms_t[0] == pytest.approx(found.b_rms_t, rel=1e-9)
    assert at_it.b_rms_error_t[0] == pytest.approx(found.b_rms_error_t, rel=1e-6)


def test_the_sheet_shows_the_highest_field_with_its_place(pair: Result) -> None:
    row, _ = traverse_rows(pair)
    words = re.fullmatch(r"\((\d+\.?\d*) ± \d+\.?\d*\)\u202fmT, (\d\.\d+)\u202fm from its start", row.value)

    assert row.of == "Highest field along “over the pair”"
    assert words is not None
    assert float(words[1]) == pytest.approx(0.8, rel=2e-3)
    assert min(abs(float(words[2]) - 1 - way * math.sqrt(0.03)) for way in (-1, 1)) < 0.01


def test_without_a_search_the_sheet_says_of_how_many_points(pair: Result) -> None:
    unsearched = tuple(dataclasses.replace(one, peak=None) for one in pair.traverses)
    row, other = traverse_rows(dataclasses.replace(pair, traverses=unsearched))

    assert row.value.endswith("0\u202fm from its start, of its 2 points")
    assert other.value.endswith("of its 41 points")


def test_a_search_that_fails_costs_no_other_number(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ArithmeticError("no summit")

    monkeypatch.setattr(peak, "_summit", broken)
    with collected() as failures:
        result = solved(PAIR, traverse(3, "unsearched"))

    (line,) = result.traverses
    assert line.peak is None
    assert len(line.b_rms_t) == 3
    assert [failure.what for failure in failures] == ["highest field along unsearched"]
