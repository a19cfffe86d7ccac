"""Shielding factors: exact solution of a tube, metal like air, studies without the metal, and every cell."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.special import iv, ivp, kv, kvp

from studies.answers.shielding.compute import ShieldingResult, shielding_groups, without_metal
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.cells import FLUX, Known, err, num, off, words
from tests.studies.solved_examples import of_examples

UNITLESS = ("–", "")
"""On a page and in a terminal."""
REACH, INNER, WALL, MEASURED = 5e-3, 50e-3, 1.5e-3, 0.2
"""Cables from the axis, inner radius and wall of the tube, the measured place from the axis. [m]"""
PAIR = f"""title = "Go and return in a tube"
frequency = "50 Hz"

[cables.c]                              # so thin and so far apart that each is a line current
conductor = {{ material = "copper", area = "2.5 mm^2", temperature = "20 degC" }}
insulation = "0.5 mm"

[materials.wall]
conductivity = "CONDUCTIVITY"
relative_permeability = PERMEABILITY

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["{-REACH} m", "0 m"], ["{REACH} m", "0 m"]]
phases = ["L1", "N"]
current = "10 A"

[[trays]]
name = "C1"
profile = "conduit"
rests_at = ["0 m", "{-INNER} m"]
inside_diameter = "{2 * INNER} m"
thickness = "{WALL} m"
material = "wall"

[[receptors]]
name = "probe"
at = ["{MEASURED} m", "0 m"]

[shielding]

[accuracy]
tolerance = "2 %"
"""
TRAY = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "200 mm"
inside_height = "40 mm"
thickness = "3 mm"
material = "aluminium-5052"
"""
COVER = 'cover = { gap = "10 mm" }\n'
PLATE = """
[[metalwork]]
name = "plate"
shape = "path"
path = [["0.3 m", "-0.1 m"], ["0.3 m", "0.2 m"]]
thickness = "4 mm"
material = "galvanised-steel-saturating"
"""
ASKED = """
[shielding]
"""


def study(metal: str = "", bonds: str = '["F1 screens"]', asked: str = "") -> str:
    return f"""title = "Screened cables, a harmonic, saturating steel"
frequency = "50 Hz"

[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "1.7 mm"
screen = {{ material = "copper", thickness = "0.3 mm" }}
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "50 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"
harmonics = {{ 5 = "20 %" }}
{metal}
[[bonds]]
parts = {bonds}

[[receptors]]
name = "desk"
at = ["0.7 m", "0.1 m"]

[[traverses]]
name = "line"
from = ["-0.6 m", "0.4 m"]
to = ["0.6 m", "0.4 m"]
points = 7
{asked}
[accuracy]
tolerance = "20 %"
"""


BONDED = '["F1 screens", "T1"]'
DELETED = {
    ("T1", "plate"): study(),
    ("T1",): study(PLATE),
    ("plate",): study(TRAY + COVER, BONDED),
    ("T1.cover",): study(TRAY + PLATE, BONDED),
}
"""The study file with the metal deleted by hand."""


@pytest.fixture(scope="module")
def whole() -> Result:
    return run(loads(study(TRAY + PLATE, BONDED, '\n[shielding]\nof = ["T1"]\n')))


def page_tables(result: Result) -> Iterator[Known]:
    if result.shielding:
        yield _table(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    if result.shielding:
        yield _table(result, full=False)


def _table(result: Result, full: bool) -> Known:
    along = any(row.distance_m is not None for row in result.shielding)
    by_formula = any(row.formula_shielding_factor is not None for row in result.shielding)
    columns = (
        words("Metal", lambda row: row.metal),
        words("Place", lambda row: row.place),
        *([num("Along", "m", lambda row: row.distance_m)] if along else []),
        *([num("Without", FLUX, lambda row: row.b_without_rms_t)] if full else []),
        *([err(FLUX, lambda row: row.b_without_rms_error_t)] if full else []),
        num("With", FLUX, lambda row: row.b_rms_t),
        *([err(FLUX, lambda row: row.b_rms_error_t)] if full else []),
        num("Factor", UNITLESS, lambda row: row.shielding_factor),
        *([err(UNITLESS, lambda row: row.shielding_factor_error)] if full else []),
        *([num("Formula", UNITLESS, lambda row: row.formula_shielding_factor)] if by_formula else []),
        *([num("Difference", "%", _difference)] if by_formula and full else []),
        words("Effect", _effect),
    )
    return Known("Shielding factors", result.shielding, columns)


def _difference(row: ShieldingResult) -> float | None:
    return off(row.formula_shielding_factor, row.shielding_factor)


def _effect(row: ShieldingResult) -> str:
    assert row.shielding_factor is not None
    assert row.shielding_factor_error is not None
    change, error = row.shielding_factor - 1, row.shielding_factor_error
    return "no change" if abs(change) <= error else "weakens" if change > 0 else "raises"


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    if not result.shielding:
        return
    if not any(_effect(row) == "weakens" for row in result.shielding):
        yield "Shielding: no tray or metalwork weakens the field by more than the error of its factor.", ()
    raised = [row for row in result.shielding if _effect(row) == "raises"]
    if raised:
        listed = "; ".join(f"{row.metal} {_where(row)}, factor {{}} ± {{*}}" for row in raised)
        yield f"Metal that raises the field: {listed}.", tuple(row.shielding_factor for row in raised)


def _where(row: ShieldingResult) -> str:
    return f"{'at' if row.distance_m is None else 'on the traverse'} “{row.place}”"


def transmission(order: int, conductivity: float, permeability: float) -> complex:
    """Harmonic r^-n of a source on the axis, outside the tube over outside without it.

    From A and H_t = -dA/dr/mu continuous at both faces, with A = r^-n + c r^n inside, I_n and K_n of kr in the wall and
    e r^-n outside, radii in units of the inner one; derived here.
    """
    outer = (INNER + WALL) / INNER
    k = INNER * np.sqrt(2j * np.pi * 50 * mu_0 * permeability * conductivity)
    n, slope = order, k / permeability
    matrix = np.array(
        [
            [1, -iv(n, k), -kv(n, k), 0],
            [n, -slope * ivp(n, k), -slope * kvp(n, k), 0],
            [0, iv(n, k * outer), kv(n, k * outer), -(outer**-n)],
            [0, slope * ivp(n, k * outer), slope * kvp(n, k * outer), n * outer ** (-n - 1)],
        ]
    )
    return complex(np.linalg.solve(matrix, np.array([-1, n, 0, 0], dtype=np.complex128))[3])


def exact_factor(conductivity: float, permeability: float) -> float:
    """On the line through both cables, where all harmonics of the field have one direction."""
    orders = np.arange(1, 12, 2)
    terms = (REACH / MEASURED) ** orders
    passed = [transmission(int(n), conductivity, permeability) for n in orders]
    return float(terms.sum() / abs(np.sum(terms * passed)))


@pytest.mark.parametrize(("conductivity", "permeability"), [(37e6, 1.0), (6e6, 200.0)], ids=["aluminium", "steel"])
def test_a_tube_around_go_and_return_shields_as_the_exact_solution(conductivity: float, permeability: float) -> None:
    text = PAIR.replace("CONDUCTIVITY", f"{conductivity} S/m").replace("PERMEABILITY", f"{permeability}")
    (row,) = run(loads(text)).shielding
    exact = exact_factor(conductivity, permeability)
    assert exact > 1.1
    assert row.shielding_factor is not None
    assert row.shielding_factor_error is not None
    # its own error estimate, and what lines miss of wires: their field turns by (r/2d)^2 (r/skin depth)^2 [D]
    assert abs(row.shielding_factor - exact) <= row.shielding_factor_error + 1e-3 * exact
    assert row.shielding_factor_error < 2 * 0.02 * exact  # both fields to 2 %
    # thin wall: 0.5 t/a to 1.03 t/a too high; the third harmonic is (d/r)^2 of the first
    assert row.formula_shielding_factor is not None
    assert -((REACH / MEASURED) ** 2) < row.formula_shielding_factor / exact - 1 < 1.1 * WALL / INNER


def test_metal_like_air_has_a_factor_of_one_within_its_error() -> None:
    # w mu0 sigma a t/2 of the wall is 1.5e-8: it carries nothing
    text = PAIR.replace("CONDUCTIVITY", "1 S/m").replace("PERMEABILITY", "1")
    result = run(loads(text))
    (row,) = result.shielding
    assert row.shielding_factor == pytest.approx(1, abs=row.shielding_factor_error or 0.0)
    assert 0 < (row.shielding_factor_error or 0.0) < 0.04
    assert row.formula_shielding_factor is not None
    assert 0 <= row.formula_shielding_factor - 1 < 1.1 * WALL / INNER  # that of a thin wall


@pytest.mark.parametrize("cover", [COVER, 'cover = "closed"\n'], ids=["loose cover", "closed cover"])
@pytest.mark.parametrize("metal", DELETED, ids=" and ".join)
def test_a_cross_section_without_metal_is_that_of_the_file_without_it(metal: tuple[str, ...], cover: str) -> None:
    stated = loads(study(TRAY + cover + PLATE, BONDED))
    assert cross_section(without_metal(stated, metal)) == cross_section(loads(DELETED[metal].replace(COVER, cover)))


def test_both_fields_are_those_of_the_files_with_and_without_the_tray(whole: Result) -> None:
    bare = run(loads(DELETED[("T1",)]))
    desk, line = whole.shielding
    assert desk.b_without_rms_t == pytest.approx(bare.receptors[0].b_rms_t, rel=1e-9)
    assert desk.b_without_rms_error_t == pytest.approx(bare.receptors[0].b_rms_error_t, rel=1e-6)
    assert (desk.b_rms_t, desk.b_rms_error_t) == (whole.receptors[0].b_rms_t, whole.receptors[0].b_rms_error_t)
    assert desk.shielding_factor == pytest.approx(desk.b_without_rms_t / desk.b_rms_t, rel=1e-12)
    factors = bare.traverses[0].b_rms_t / whole.traverses[0].b_rms_t
    assert line.along_shielding_factor == pytest.approx(factors.tolist(), rel=1e-9)
    spread = bare.traverses[0].b_rms_error_t / bare.traverses[0].b_rms_t
    spread = spread + whole.traverses[0].b_rms_error_t / whole.traverses[0].b_rms_t  # relative errors add
    assert line.along_shielding_factor_error == pytest.approx((factors * spread).tolist(), rel=1e-6)


def test_a_traverse_is_shown_at_its_least_factor(whole: Result) -> None:
    row = whole.shielding[1]
    least = int(np.argmin(row.along_shielding_factor))
    assert row.shielding_factor == min(row.along_shielding_factor)
    assert row.distance_m == row.along_distance_m[least]
    assert row.distance_m == pytest.approx(row.x_m + 0.6)


def test_metal_goes_together_and_alone() -> None:
    assert shielding_groups(loads(study(TRAY + COVER + PLATE, asked=ASKED))) == {
        "trays and metalwork": ("T1", "plate"),
        "T1": ("T1",),
        "plate": ("plate",),
        "T1.cover": ("T1.cover",),
    }


def test_metal_that_is_named_is_all_that_is_asked() -> None:
    named = loads(study(TRAY + COVER + PLATE, asked='\n[shielding]\nof = ["T1.cover", "plate"]\n'))
    assert shielding_groups(named) == {
        "T1.cover + plate": ("T1.cover", "plate"),
        "T1.cover": ("T1.cover",),
        "plate": ("plate",),
    }


def test_a_cover_in_contact_goes_alone() -> None:
    closed = loads(study(f'{TRAY}cover = "closed"\n', asked=ASKED))
    assert shielding_groups(closed) == {"T1": ("T1",), "T1.cover": ("T1.cover",)}


@pytest.mark.parametrize(
    ("named", "wrong"),
    [('["T2"]', "is no tray, cover or metalwork of the study"), ('["T1", "T1"]', "is there already")],
)
def test_metal_that_is_not_there_or_twice_is_refused(named: str, wrong: str) -> None:
    with pytest.raises(StudyError) as refused:
        loads(study(TRAY, asked=f"\n[shielding]\nof = {named}\n"))
    assert wrong in str(refused.value)


def test_metal_that_fails_costs_only_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    from studies.answers.shielding import compute

    own = compute.without_metal

    def failing(study: Any, pieces: Any) -> Any:
        if pieces == ("C1",):
            raise ZeroDivisionError("broken on purpose")
        return own(study, pieces)

    monkeypatch.setattr(compute, "without_metal", failing)
    second = PLATE.replace("galvanised-steel-saturating", "aluminium-5052")
    text = PAIR.replace("CONDUCTIVITY", "1 MS/m").replace("PERMEABILITY", "1").replace('"2 %"', '"20 %"')
    result = run(loads(text.replace("[shielding]", f"{second}\n[shielding]")))
    assert [row.metal for row in result.shielding] == ["trays and metalwork", "plate"]
    assert [failure.what for failure in result.failures] == ["shielding factor of C1"]


@of_examples(["shielding_of_tray_and_plate"])
def test_without_all_metal_the_field_of_the_example_is_that_of_line_currents(solved: Result) -> None:
    rows = [row for row in solved.shielding if row.metal == "trays and metalwork" and row.distance_m is None]
    assert len(rows) == 2
    for row, receptor in zip(rows, solved.receptors, strict=True):
        # bare cables in air: proximity moves the current by less than a per cent of the spacing
        assert row.b_without_rms_t == pytest.approx(receptor.line_formula_b_rms_t, rel=0.01)
    assert _effect(rows[0]) == "weakens"
    assert _effect(rows[1]) == "raises"  # the plate's edge gathers the field that its face keeps out
    assert set(solved.figures()) >= {"shielding_bench_at_0_7_m"}
