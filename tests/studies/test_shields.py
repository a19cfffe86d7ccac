"""Shields: the file with the chosen plate pasted, a wide plate against the integral, what is beaten, every cell."""

import cmath
import math
from collections.abc import Iterator

import pytest
from scipy.constants import mu_0
from scipy.integrate import quad

from studies.answers.shields.rows import ShieldResult
from studies.answers.shields.words import shield_table, standing_of
from studies.data.materials import MATERIALS
from studies.formulas.infinite_plate import plate_loss
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.cells import FLUX, LOSS, Known, err, num, words
from tests.studies.solved_examples import EXAMPLES, of_examples

EXAMPLE = "least_shield"
TEXT = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8")
WITHOUT = TEXT[: TEXT.index("[shield_search]")] + TEXT[TEXT.index("[accuracy]") :]


def page_tables(result: Result) -> Iterator[Known]:
    if result.shields:
        yield _table(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    if result.shields:
        yield _table(result, full=False)


def _table(result: Result, full: bool) -> Known:
    columns = (
        words("Metal", lambda row: row.metal),
        num("Width", "mm", lambda row: row.width_m),
        num("Thickness", "mm", lambda row: row.thickness_m),
        num("At x", "m", lambda row: row.x_m),
        num("At y", "m", lambda row: row.y_m),
        words("Standing", _standing),
        num("Mass", "kg/m", lambda row: row.mass_kg_per_m),
        *([words("Place", lambda row: row.receptor)] if full else []),
        num("Field", FLUX, lambda row: row.b_rms_t),
        *([err(FLUX, lambda row: row.b_rms_error_t)] if full else []),
        *([num("Field over limit", ("–", ""), lambda row: row.field_over_limit)] if full else []),
        num("Factor", ("–", ""), lambda row: row.shielding_factor),
        num("Losses", LOSS, lambda row: row.loss_w_per_m),
        *([err(LOSS, lambda row: row.loss_error_w_per_m)] if full else []),
        *([num("Of the shield", LOSS, lambda row: row.shield_loss_w_per_m)] if full else []),
    )
    return Known("Shields", result.shields, columns)


def _standing(row: ShieldResult) -> str:
    if row.chosen:
        return "chosen"
    return "above a limit" if not row.within_limits else "another is better in all" if row.beaten else "not beaten"


@of_examples([EXAMPLE])
def test_the_file_with_the_chosen_shield_pasted_has_its_numbers_and_meets_the_limit(solved: Result) -> None:
    assert len(solved.shields) == 8
    (chosen,) = [row for row in solved.shields if row.chosen]
    found = run(loads(WITHOUT.replace("[accuracy]", f"{chosen.line}\n\n[accuracy]")))
    assert found.receptors[0].b_rms_t == pytest.approx(chosen.b_rms_t, rel=1e-9)
    assert found.receptors[0].within_limit is True
    assert sum(loss.loss_w_per_m for loss in found.losses) == pytest.approx(chosen.loss_w_per_m, rel=1e-9)
    assert chosen.shielding_factor == pytest.approx(solved.receptors[0].b_rms_t / chosen.b_rms_t)
    assert solved.receptors[0].within_limit is False


@of_examples([EXAMPLE])
def test_the_chosen_shield_is_the_lightest_that_meets_the_limit_and_none_beats_others(
    solved: Result,
) -> None:
    (chosen,) = [row for row in solved.shields if row.chosen]
    assert chosen.mass_kg_per_m == min(row.mass_kg_per_m for row in solved.shields if row.within_limits)
    assert chosen.mass_kg_per_m == pytest.approx(7850 * chosen.width_m * chosen.thickness_m)
    for row in solved.shields:
        better = [
            other
            for other in solved.shields
            if (other.mass_kg_per_m, other.loss_w_per_m, other.field_over_limit)
            != (row.mass_kg_per_m, row.loss_w_per_m, row.field_over_limit)
            and other.mass_kg_per_m <= row.mass_kg_per_m
            and other.loss_w_per_m <= row.loss_w_per_m
            and other.field_over_limit <= row.field_over_limit
        ]
        assert row.beaten is bool(better)
        assert standing_of(row) == _standing(row)


PAIR = """title = "Go and return over a wide plate"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "2.5 mm^2", temperature = "20 degC" }
insulation = "0.5 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-30 mm", "0 m"], ["30 mm", "0 m"]]
phases = ["L1", "N"]
current = "100 A"

[[receptors]]
name = "below"
at = ["0 m", "-0.3 m"]
limit = "1 mT"

[shield_search]
metals = ["aluminium-6061", "mild-steel"]
relative_densities = [2.7, 7.85]
thicknesses = ["4 mm"]
widths = ["1.2 m", "2.4 m"]
middles = [["0 m", "-0.1 m"], ["0 m", "0 m"]]
least = "loss"

[accuracy]
tolerance = "5 %"
"""


@pytest.fixture(scope="module")
def pair() -> Result:
    return run(loads(PAIR))


def endless(metal: str) -> float:
    """Shielding factor of the plate of `PAIR` without edges. [-]

    Waves exp(-u y) cos(ux) of A fall on it; A and H at its faces are tied by cosh and sinh of g t, g^2 = u^2 + jw mu
    sigma, and those beyond it are T = 2/(2 cosh gt + (u/p + p/u) sinh gt), p = g/mu_r, of the incident ones. [D]
    """
    material, t, half, above, below = MATERIALS[metal], 4e-3, 0.03, 0.098, 0.198

    def spectrum(u: float) -> complex:
        g = cmath.sqrt(u * u + 2j * math.pi * 50 * mu_0 * material.relative_permeability * material.conductivity)
        p = g / material.relative_permeability
        passed = 2 / (2 * cmath.cosh(g * t) + (u / p + p / u) * cmath.sinh(g * t))
        return passed * math.exp(-u * (above + below)) * math.sin(u * half)

    with_it = quad(spectrum, 1e-6, 150, complex_func=True, limit=200)[0]
    return float(half / (0.3**2 + half**2) / abs(with_it))


@pytest.mark.parametrize("metal", ["aluminium-6061", "mild-steel"])
def test_wide_plates_shield_as_the_integral_of_an_endless_plate_says(pair: Result, metal: str) -> None:
    narrow, wide = sorted((row for row in pair.shields if row.metal == metal), key=lambda row: row.width_m)
    exact = endless(metal)
    assert wide.infinite_plate_factor == pytest.approx(exact, rel=1e-6)  # quad on the real axis to u h = 44
    # what passes round the edges falls with the square of the width in the end, more slowly at first: half the change
    left = abs(wide.shielding_factor - narrow.shielding_factor) / 2
    assert narrow.shielding_factor < wide.shielding_factor
    assert abs(wide.shielding_factor - exact) < left + exact * wide.b_rms_error_t / wide.b_rms_t
    assert left < 0.05 * exact
    assert wide.infinite_plate_outside == ()
    assert "edges" in narrow.infinite_plate_outside[0]


def test_the_formula_stands_beside_plates_that_are_wide_enough_alone(pair: Result) -> None:
    page = shield_table(pair).full
    at = [head.heading for head in page.columns].index("Formula")
    factors, differences = zip(*((row[at], row[at + 1]) for row in page.rows), strict=True)
    for row, factor, difference in zip(pair.shields, factors, differences, strict=True):
        assert (row.infinite_plate_outside == ()) is (row.width_m == 2.4)
        if row.width_m < 2:
            assert (factor, difference) == ("–", "–")
        else:
            assert row.infinite_plate_factor is not None
            assert float(str(factor)) == pytest.approx(row.infinite_plate_factor, rel=1e-3)
            higher = 100 * (row.infinite_plate_factor / row.shielding_factor - 1)
            assert float(str(difference)) == pytest.approx(higher, abs=0.06)


def test_a_wide_plate_loses_as_the_integral_says_and_one_that_touches_a_cable_is_left_out(pair: Result) -> None:
    wide = next(row for row in pair.shields if row.width_m == 2.4 and row.metal == "aluminium-6061")
    # of the wide plate's loss, all but (0.1/1.2)^2 of it or so is within its width: under 1 %; 2 % for the mesh
    height, sigma = 0.1 - 2e-3, MATERIALS["aluminium-6061"].conductivity
    exact = plate_loss([(-0.03, height), (0.03, height)], [100, -100], 4e-3, sigma, 50.0, 1.0).loss
    assert wide.shield_loss_w_per_m == pytest.approx(float(exact), rel=0.03)
    assert {row.y_m for row in pair.shields} == {-0.1}
    assert [row.chosen for row in pair.shields] == [True, False, False, False]  # all meet the limit: the least loss
    assert pair.shields[0].loss_w_per_m == min(row.loss_w_per_m for row in pair.shields)


def test_a_zone_is_met_like_a_receptor() -> None:
    zone = 'name = "room"\nwindow = [["-0.2 m", "-0.4 m"], ["0.2 m", "-0.3 m"]]\nlimit = "1 nT"\n'
    text = PAIR.replace("[shield_search]", f"[[zones]]\n{zone}\n[shield_search]").replace(', "mild-steel"]', "]")
    text = text.replace(", 7.85]", "]").replace('"1.2 m", "2.4 m"', '"0.6 m"').replace(', ["0 m", "0 m"]]', "]")
    result = run(loads(text))
    (row,) = result.shields
    assert (row.receptor, row.within_limits, row.chosen) == ("room", False, False)
    assert row.field_over_limit == pytest.approx(row.b_rms_t / 1e-9)
    assert row.shielding_factor == pytest.approx(result.zones[0].b_max_rms_t / row.b_rms_t)
    assert row.infinite_plate_factor is None
