"""Permitted currents: loss alone by Bessel functions, the factor solved again, surfaces by hand, and every cell."""

import argparse
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.container import BarContainer
from scipy.constants import mu_0
from scipy.special import jv

from studies import command
from studies.answers.permitted.rows import PermittedCable, PermittedResult
from studies.answers.permitted.words import permitted_rows
from studies.compare.case_numbers import NOTHING
from studies.compare.quantities import numbers_of
from studies.report.figures import figure_set
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.cells import LOSS, Known, err, num, off, words
from tests.studies.solved_examples import of_examples

UNITLESS = ("–", "")
AREA, PERMITTED = 400e-6, 600.0
STUDY = f"""title = "Screened cables, touching, in a tray, with a harmonic"
frequency = "50 Hz"

[cables.c]
conductor = {{ material = "copper", area = "400 mm^2", temperature = "20 degC", dc_resistance = "0.0470 ohm/km" }}
insulation = "2 mm"
screen = {{ material = "copper", thickness = "0.3 mm" }}
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3", "L1", "L2", "L3"]
current = "1000 A"
harmonics = {{ 5 = "20 %" }}
permitted_current = "{PERMITTED} A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "240 mm"
inside_height = "50 mm"
thickness = "2 mm"
material = "MATERIAL"

[[bonds]]
parts = ["F1 screens", "T1"]

[accuracy]
tolerance = "5 %"
"""
WITHIN, ABOVE, UNSURE = (
    "within the permitted current",
    "above the permitted current",
    "permitted current within the error",
)


def solved(material: str, *changes: tuple[str, str]) -> Result:
    text = STUDY.replace("MATERIAL", material)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return run(loads(text))


def found_in(result: Result) -> PermittedResult:
    assert result.permitted is not None
    return result.permitted


@pytest.fixture(scope="module")
def plain() -> Result:
    return solved("aluminium-5052")


def skin_ratio(resistance: float, frequency: float) -> float:
    """R_ac/R_dc of a solid round conductor, exactly. [-]"""
    radius = np.sqrt(AREA / np.pi)
    ka = (1 - 1j) * radius * np.sqrt(np.pi * frequency * mu_0 / (resistance * AREA))
    return float((ka / 2 * jv(0, ka) / jv(1, ka)).real)


def test_the_loss_alone_is_that_of_the_conductor_with_skin_effect_and_of_a_screen_around_it(plain: Result) -> None:
    # the eddies of a coaxial 0.3 mm screen are below (t/delta)^4 of its share of the loss: 1e-5
    exact = PERMITTED**2 * 0.0470e-3 * skin_ratio(0.0470e-3, 50)
    for row in found_in(plain).cables:
        assert row.alone_loss_w_per_m == pytest.approx(exact, rel=1e-3)
        assert row.alone_loss_w_per_m == pytest.approx(exact, abs=row.alone_loss_error_w_per_m + 1e-4 * exact)
        assert row.formula_alone_loss_w_per_m == pytest.approx(exact, rel=1e-3)


def test_current_and_loss_of_a_cable_are_those_of_its_parts_at_all_frequencies(plain: Result) -> None:
    losses = {row.part: row.loss_w_per_m for row in plain.losses}
    found = found_in(plain)
    for row in found.cables:
        of_both = sum(losses[f"{row.cable}.{layer}"] for layer in ("conductor", "screen"))
        assert row.loss_w_per_m == pytest.approx(of_both, rel=1e-12)
        assert row.current_ratio == pytest.approx(row.current_rms_a / PERMITTED, rel=1e-12)
    # both cables of a phase together carry its current, that of the harmonic as well; they are nearly in step
    pairs = [
        (one.current_rms_a + two.current_rms_a) for one, two in zip(found.cables[:3], found.cables[3:], strict=True)
    ]
    for pair in pairs:
        assert 1 <= pair / (1000 * np.sqrt(1 + 0.2**2)) < 1.1


def test_at_the_factor_the_cable_that_decides_loses_as_much_as_alone_and_no_other_more(plain: Result) -> None:
    factor = found_in(plain).equal_heat_factor
    assert factor is not None
    again = found_in(solved("aluminium-5052", ("1000 A", f"{1000 * factor:.6f} A")))
    assert again.equal_heat_factor == pytest.approx(1, abs=1e-6)  # six decimals of the current
    worst = max(again.cables, key=lambda row: row.loss_w_per_m)
    assert worst.cable == found_in(plain).decided_by
    assert worst.loss_w_per_m == pytest.approx(worst.alone_loss_w_per_m, rel=1e-5)


def test_the_factor_with_saturating_steel_is_solved_and_not_scaled() -> None:
    three = (
        ('"L1", "L2", "L3", "L1", "L2", "L3"', '"L1", "L2", "L3"'),
        ('harmonics = { 5 = "20 %" }', ""),
        ("240 mm", "120 mm"),
        ("5 %", "20 %"),
    )
    # far below the factor, so that the steel differs there
    found = found_in(solved("galvanised-steel-saturating", *three, ("1000 A", "150 A")))
    assert found.solved_with_steel
    factor = found.equal_heat_factor
    assert factor is not None
    scaled = min(row.equal_heat_factor or np.inf for row in found.cables)
    none = (f'permitted_current = "{PERMITTED} A"', "")
    again = solved("galvanised-steel-saturating", *three, ("1000 A", f"{150 * factor:.4f} A"), none)
    losses = {
        row.cable: sum(own.loss_w_per_m for own in again.losses if own.part.startswith(f"{row.cable}."))
        for row in found.cables
    }
    hottest = max(losses, key=losses.__getitem__)
    assert hottest == found.decided_by
    # the factor is settled to 1e-3, the loss to twice that
    assert losses[hottest] == pytest.approx(found.cables[0].alone_loss_w_per_m, rel=4e-3)
    assert abs(scaled / factor - 1) > 5e-3  # scaling alone would have missed it


def test_the_surface_of_a_tray_is_both_faces_and_its_edges(plain: Result) -> None:
    (row,) = found_in(plain).surfaces
    outline = (0.244 + 2 * 0.052) + (0.240 + 2 * 0.050) + 2 * 0.002
    assert row.surface_m2_per_m == pytest.approx(outline, rel=0.01)  # bends are mitred
    assert row.loss_w_per_m2 == pytest.approx(row.loss_w_per_m / row.surface_m2_per_m, rel=1e-12)


@of_examples(["permitted_current"])
def test_unequal_sharing_overloads_two_cables_and_the_caution_names_them(solved: Result) -> None:
    above = [row.cable for row in found_in(solved).cables if row.current_ratio > 1]
    assert above == ["F1.4", "F1.7"]
    (caution,) = [text for text in solved.cautions if text.startswith("Cables carry more than their permitted")]
    assert re.search(r"F1\.4 \(L1\) carries 322\.\d A of 320 A, F1\.7 \(L1\) carries 326\.\d A", caution)


@of_examples(["permitted_current"])
def test_a_comparison_has_the_largest_ratio_the_factor_and_the_cables_that_decide(solved: Result) -> None:
    found = numbers_of(solved)
    ratio, factor = found["current_over_permitted"], found["equal_heat_factor"]
    assert solved.permitted is not None
    assert ratio.value == max(row.current_ratio for row in solved.permitted.cables)
    assert (ratio.place, factor.value) == ("F1.7", solved.permitted.equal_heat_factor)
    assert factor.place == solved.permitted.decided_by
    assert found.get("energy_cost_per_m", NOTHING).value is None


@of_examples(["permitted_current"])
def test_a_current_above_the_permitted_one_fails_a_run_that_asks(
    solved: Result, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = argparse.Namespace(quiet=False, fail_over_limit=True)
    assert command._said(asked, solved, tmp_path) == command.LIMIT_EXCEEDED
    assert "Above its permitted current: F1.4, F1.7." in capsys.readouterr().out
    assert command._said(argparse.Namespace(quiet=False, fail_over_limit=False), solved, tmp_path) == command.DONE
    assert solved.permitted is not None
    within = tuple(replace(row, current_ratio=0.9, current_ratio_error=0.05) for row in solved.permitted.cables)
    kept = replace(solved, permitted=replace(solved.permitted, cables=within))
    assert command._said(asked, kept, tmp_path) == command.DONE


def test_a_study_that_states_none_has_no_such_answer() -> None:
    result = solved("aluminium-5052", (f'permitted_current = "{PERMITTED} A"', ""))
    assert result.permitted is None
    assert not any("permitted" in text for text in result.cautions)


@of_examples(["permitted_current"])
def test_the_figure_has_each_ratio_as_a_bar_and_those_above_the_line_hatched(solved: Result) -> None:
    (axes,) = figure_set(solved)["permitted"]().axes
    rows = found_in(solved).cables
    bars = sorted(
        (bar for kind in axes.containers if isinstance(kind, BarContainer) for bar in kind), key=lambda bar: bar.get_y()
    )
    assert [bar.get_width() for bar in bars] == [row.current_ratio for row in rows]
    assert [text.get_text() for text in axes.get_yticklabels()] == [f"{row.cable}, {row.phase}" for row in rows]
    assert [bar.get_hatch() == "///" for bar in bars] == [row.current_ratio > 1 for row in rows]
    (line,) = [line for line in axes.lines if line.get_label() == "permitted"]
    assert list(np.asarray(line.get_xdata())) == [1, 1]


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    found = result.permitted
    if found is None:
        return
    columns = (
        words("Cable", lambda row: row.cable),
        words("Phase", lambda row: row.phase),
        num("Current", "A", lambda row: row.current_rms_a),
        *([err("A", lambda row: row.current_error_a)] if full else []),
        num("Permitted", "A", lambda row: row.permitted_current_a),
        num("Current / permitted", UNITLESS, lambda row: row.current_ratio),
        *([err(UNITLESS, lambda row: row.current_ratio_error)] if full else []),
        words("Verdict", lambda row: re.compile(rf"(! )?{_verdict(row).replace(' the permitted current', '')}$")),
    )
    yield Known("Currents beside permitted currents", found.cables, columns)
    heat = (
        words("Cable", lambda row: row.cable),
        num("Loss", LOSS, lambda row: row.loss_w_per_m),
        *([err(LOSS, lambda row: row.loss_error_w_per_m)] if full else []),
        num("Loss alone", LOSS, lambda row: row.alone_loss_w_per_m),
        *([err(LOSS, lambda row: row.alone_loss_error_w_per_m)] if full else []),
        *([num("Formula", LOSS, lambda row: row.formula_alone_loss_w_per_m)] if full else []),
        *([num("Difference", "%", _difference)] if full else []),
        num("Equal-heat factor", UNITLESS, lambda row: row.equal_heat_factor),
        *([err(UNITLESS, lambda row: row.equal_heat_factor_error)] if full else []),
    )
    yield Known("Losses beside those of the cables alone", found.cables, heat)
    if found.surfaces:
        surface = (
            words("Part", lambda row: row.part),
            num("Loss", LOSS, lambda row: row.loss_w_per_m),
            *([err(LOSS, lambda row: row.loss_error_w_per_m)] if full else []),
            num("Outline", "m", lambda row: row.surface_m2_per_m),
            num("Loss per surface", ("mW/m²", "W/m²", "kW/m²"), lambda row: row.loss_w_per_m2),
            *([err(("mW/m²", "W/m²", "kW/m²"), lambda row: row.loss_error_w_per_m2)] if full else []),
        )
        yield Known("Loss of metal per area of its surface", found.surfaces, surface)


def _difference(row: PermittedCable) -> float | None:
    return off(row.formula_alone_loss_w_per_m, row.alone_loss_w_per_m)


def _verdict(row: PermittedCable) -> str:
    assert row.equal_heat_factor is not None
    assert row.equal_heat_factor_error is not None
    if row.current_ratio > 1:
        return ABOVE
    if row.current_ratio + row.current_ratio_error > 1:
        return UNSURE
    hotter = row.equal_heat_factor - row.equal_heat_factor_error < 1
    return f"{WITHIN}, hotter than alone" if hotter else WITHIN


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """The verdict at the head of the report."""
    found = result.permitted
    if found is None:
        return
    if found.within_permitted_current:
        yield "No cable carries more than its permitted current.", ()
        return
    above = [row for row in found.cables if row.current_ratio + row.current_ratio_error > 1]
    listed = ", ".join(f"{row.cable} ({{}} times)" for row in above)
    unsure = "" if all(row.current_ratio > 1 for row in above) else ", or within its error"
    text = f"Current above the permitted one{unsure}: {listed}."
    yield text, tuple(row.current_ratio for row in above)


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.permitted
    if found is None:
        return
    text = f"Equal-heat factor on all currents: {{}}, decided by {found.decided_by}; {{*}}"
    yield text, (found.equal_heat_factor,)


@of_examples(["permitted_current"])
def test_the_stated_current_of_a_cable_alone_in_its_phase_has_no_error(solved: Result) -> None:
    assert solved.permitted is not None
    cables = tuple(replace(one, current_ratio=1.125, current_ratio_error=1e-13) for one in solved.permitted.cables)
    row = permitted_rows(replace(solved, permitted=replace(solved.permitted, cables=cables)))[0]
    assert row.value == f"1.125, {cables[0].cable}"
