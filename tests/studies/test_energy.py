"""Energy of a year: loads added by hand, steel solved at each load, bounds of a load factor, and every cell."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from studies.answers.energy.compute import energy_result, estimated_loss_factor
from studies.answers.energy.rows import EnergyResult
from studies.answers.energy.words import energy_table, load_words
from studies.compare.case_numbers import energy_cost_of
from studies.report.figures import figure_set
from studies.report.summary import verdict_lines
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.text.table import full_grid
from tests.studies.cells import LOSS, Known, err, num, words
from tests.studies.coarse_meshes import coarse_meshes
from tests.studies.solved_examples import of_examples

KILOWATT_HOUR = 3.6e6
STUDY = """title = "Three cables over a steel plate"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "150 mm^2", temperature = "70 degC" }
insulation = "1.6 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "100 mm"
inside_height = "30 mm"
thickness = "2 mm"
material = "MATERIAL"

[energy]
ASKED

[accuracy]
tolerance = "20 %"
"""


def energy(material: str, asked: str, current: str = "400 A") -> tuple[Result, EnergyResult]:
    result = run(loads(STUDY.replace("MATERIAL", material).replace("ASKED", asked).replace("400 A", current)))
    assert result.energy is not None
    return result, result.energy


def of(found: EnergyResult, kind: str) -> float:
    """kWh per metre."""
    return next(row.energy_j_per_m for row in found.rows if row.kind == kind) / KILOWATT_HOUR


def test_a_duration_curve_of_linear_metal_is_the_mean_square_of_its_loads() -> None:
    asked = 'hours = [1000, 4000]\nloads = [1, 0.5]\nlength = "80 m"\nprice_per_kwh = 0.25'
    result, found = energy("aluminium-5052", asked)
    total = sum(row.loss_w_per_m for row in result.losses)
    by_hand = total * (1000 + 4000 / 4) / 1000  # W h to kWh; 3760 h without load
    assert of(found, "all") == pytest.approx(by_hand, rel=1e-9)
    assert found.load_factor == pytest.approx((1000 + 2000) / 8760)
    assert found.loss_factor == pytest.approx((1000 + 1000) / 8760)  # not the square of the mean, not the mean
    assert found.rows[-1].cost == pytest.approx(by_hand * 80 * 0.25, rel=1e-9)
    assert found.rows[-1].least_energy_j_per_m is None
    assert sum(row.energy_j_per_m for row in found.rows[:-1]) == pytest.approx(found.rows[-1].energy_j_per_m)


def test_saturating_steel_is_added_at_each_load_as_it_then_is() -> None:
    steel = "galvanised-steel-saturating"
    losses = []
    with coarse_meshes():
        _, found = energy(steel, "hours = [2000, 6760]\nloads = [1, 0.2]")
        for current in ("400 A", "80 A"):
            result, _ = energy(steel, 'loss_factor = "50 %"', current)
            losses.append(sum(row.loss_w_per_m for row in result.losses if row.kind == "tray"))
    by_hand = (2000 * losses[0] + 6760 * losses[1]) / 1000
    assert of(found, "tray") == pytest.approx(by_hand, rel=2e-3)  # the same mesh and curve, solved to a tolerance
    squared = losses[0] * (2000 + 6760 * 0.2**2) / 1000
    assert abs(squared / by_hand - 1) > 0.01  # the square of the current would have missed it


def test_a_load_factor_leaves_open_what_lies_between_its_bounds() -> None:
    _, found = energy("aluminium-5052", 'load_factor = "60 %"')
    assert found.loss_factor == pytest.approx(0.3 * 0.6 + 0.7 * 0.36)
    total, full = found.rows[-1], found.rows[-1].loss_w_per_m * 8760 / 1000
    assert total.least_energy_j_per_m == pytest.approx(0.36 * full * KILOWATT_HOUR)
    assert total.most_energy_j_per_m == pytest.approx(0.6 * full * KILOWATT_HOUR)
    assert total.cost is None
    assert found.length_m is None


@pytest.fixture(scope="module")
def run_of_two_sections() -> Result:
    route = '[[route]]\nname = "one"\nlength = "20 m"\n[[route]]\nname = "two"\nlength = "60 m"\n'
    route += '[route.set]\n"cables.c.conductor.area" = "120 mm^2"\n'
    text = STUDY.replace("MATERIAL", "aluminium-5052").replace("ASKED", 'load_factor = "60 %"\nprice_per_kwh = 0.25')
    return run(loads(text.replace("[energy]", f"{route}[energy]")))


def test_a_run_takes_the_energy_of_each_of_its_sections(run_of_two_sections: Result) -> None:
    found = run_of_two_sections.energy
    text = STUDY.replace("MATERIAL", "aluminium-5052").replace("150 mm^2", "120 mm^2")
    other = run(loads(text.replace("[energy]\nASKED", "")))
    assert found is not None
    own = sum(row.loss_w_per_m for row in run_of_two_sections.losses)
    watts = 20 * own + 60 * sum(row.loss_w_per_m for row in other.losses)
    assert abs(watts / (80 * own) - 1) > 0.01  # the study's own section alone would have missed it
    total = found.rows[-1]
    assert total.energy_j == pytest.approx(watts * found.loss_factor * 8760 * 3600, rel=1e-6)
    assert total.cost == pytest.approx(watts * found.loss_factor * 8.760 * 0.25, rel=1e-6)
    assert [row.energy_j for row in found.rows[:-1]] == [None, None]  # of a kind alone it is not known
    assert f"the whole run loses {watts / 80:.3g} W/m on average at full load" in load_words(found)


def test_a_run_that_could_not_be_followed_has_no_energy_as_a_whole(run_of_two_sections: Result) -> None:
    one = run_of_two_sections
    found = energy_result(one.study, one.solutions, one.losses, None, lambda message: None)
    assert found is not None
    assert (found.rows[-1].energy_j, found.rows[-1].cost) == (None, None)
    assert found.rows[-1].energy_j_per_m > 0


def test_least_and_most_are_read_in_their_columns(run_of_two_sections: Result) -> None:
    found = run_of_two_sections.energy
    assert found is not None
    grid = full_grid(energy_table(run_of_two_sections))
    headings = [column.heading for column in grid.columns]
    for heading, name in (("Least", "least_energy_j_per_m"), ("Most", "most_energy_j_per_m")):
        cells = [float(str(row[headings.index(heading)])) for row in grid.rows]
        assert cells == pytest.approx([getattr(row, name) / KILOWATT_HOUR for row in found.rows], rel=5e-3)


def test_no_load_between_zero_and_its_peak_has_a_mean_square_beyond_the_bounds() -> None:
    draw = np.random.default_rng(3)
    for _ in range(200):
        load = draw.beta(float(draw.uniform(0.2, 5)), float(draw.uniform(0.2, 5)), 500)
        load[0] = 1.0
        mean = float(load.mean())
        assert mean**2 <= float((load**2).mean()) <= mean
        assert mean**2 <= estimated_loss_factor(mean) <= mean


@of_examples(["energy_of_a_year"])
def test_the_steel_tray_of_the_example_costs_little_beside_the_conductors(solved: Result) -> None:
    assert solved.energy is not None
    assert solved.energy.solved_with_steel
    assert of(solved.energy, "tray") < 0.02 * of(solved.energy, "conductor")
    assert of(solved.energy, "all") == pytest.approx(151, rel=0.02)
    assert solved.energy.rows[-1].cost == pytest.approx(1450, rel=0.02)
    compared = energy_cost_of(solved)
    assert compared.value == pytest.approx(solved.energy.rows[-1].cost_per_m, rel=1e-12)
    assert compared.error == pytest.approx(0.12 / 3.6e6 * solved.energy.rows[-1].energy_error_j_per_m, rel=1e-9)


def test_the_figure_has_each_energy_as_a_bar_with_a_line_from_least_to_most(run_of_two_sections: Result) -> None:
    found = run_of_two_sections.energy
    assert found is not None
    (axes,) = figure_set(run_of_two_sections)["energy"]().axes
    bars = [bar.get_width() for kind in axes.containers for bar in kind]
    assert bars == pytest.approx([row.energy_j_per_m / KILOWATT_HOUR for row in found.rows])
    assert [text.get_text() for text in axes.get_yticklabels()] == ["conductor parts", "tray parts", "all"]
    written = [text.get_text() for text in axes.texts]
    assert [float(text.split()[0]) for text in written] == pytest.approx(bars, rel=5e-3)  # three digits
    for line, row in zip(axes.lines, found.rows, strict=True):
        ends = [row.least_energy_j_per_m, row.most_energy_j_per_m]
        assert list(np.asarray(line.get_xdata()) * KILOWATT_HOUR) == pytest.approx(ends)
    for text, line in zip(written, axes.lines, strict=True):
        low, high = text.split("(")[1].rstrip(")").split(" to ")
        assert [float(low), float(high)] == pytest.approx(list(np.asarray(line.get_xdata())), rel=5e-3)


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    found = result.energy
    if found is None:
        return
    currency = f", {found.currency}" if found.currency else ""
    left_open = any(row.least_energy_j_per_m is not None for row in found.rows)
    priced = any(row.cost_per_m is not None for row in found.rows)
    columns = (
        words("Parts", lambda row: "all" if row.kind == "all" else f"{row.kind} parts"),
        num("Loss at full load", LOSS, lambda row: row.loss_w_per_m),
        num("Energy", "kWh/m", lambda row: row.energy_j_per_m),
        *([err("kWh/m", lambda row: row.energy_error_j_per_m)] if full else []),
        *([num("Least", "kWh/m", lambda row: row.least_energy_j_per_m)] if left_open else []),
        *([num("Most", "kWh/m", lambda row: row.most_energy_j_per_m)] if left_open else []),
        *([num("Whole run", "kWh", lambda row: row.energy_j)] if found.length_m is not None else []),
        *([num(f"Cost per metre{currency}", ("–", ""), lambda row: row.cost_per_m)] if priced and full else []),
        *([num(f"Cost of the run{currency}", ("–", ""), lambda row: row.cost)] if found.length_m and priced else []),
    )
    yield Known("Energy of the losses over a year", found.rows, columns)


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """What the year's losses take and cost."""
    found = result.energy
    if found is None:
        return
    total = found.rows[-1]
    text, numbers = "The losses take {} kWh a year per metre of run", [total.energy_j_per_m / 3.6e6]
    if found.length_m is not None and total.energy_j is not None:
        text, numbers = "The losses take {} kWh a year along {m}", [total.energy_j / 3.6e6, found.length_m]
    cost = total.cost_per_m if total.cost is None else total.cost
    if cost is not None:
        text, numbers = f"{text}, at a cost of {{}} {found.currency or ''}".rstrip(), [*numbers, cost]
    yield f"{text}.", tuple(numbers)


@of_examples(["energy_of_a_year"])
def test_the_first_sentence_gives_energy_and_cost_of_the_run(solved: Result) -> None:
    (sentence,) = verdict_lines(solved)
    assert sentence.startswith("The losses take 12\u2009100 kWh a year along 80\u202fm, at a cost of 14")


def sentences(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    found = result.energy
    if found is not None and found.stated == "hours":
        text = "Energy of the losses: load duration curve, mean load {}, loss factor (mean square of the load) {}.{*}"
        yield text, (found.load_factor, found.loss_factor)
