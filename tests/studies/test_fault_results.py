"""Forces of stated faults from the file to the result: worst pairs, cleats, parallel cables, what is said of them."""

from __future__ import annotations

import json

import numpy as np
import pytest

from studies.answers.faults.words import direction
from studies.formulas.forces import alternating_line_force, mean_line_force
from studies.formulas.inductance import solid_mean_radius
from studies.formulas.line_impedance import phase_impedance_matrix
from studies.output.numbers import results_document, results_text
from studies.output.tables import tables
from studies.report.contents import write_report
from studies.report.figures import figure_set
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.text.numbers import brief, with_error
from studies.text.problems import StudyError
from studies.text.units import NEWTON, NEWTON_PER_METRE

STUDY = """
title = "Fault"
frequency = "50 Hz"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "90 degC" }}
insulation = "2.2 mm"
jacket = "1.9 mm"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = {positions}
phases = {phases}
current = "400 A"
[[faults]]
peak_current = "40 kA"
{more}
[accuracy]
tolerance = "5 %"
"""

pytestmark = pytest.mark.usefixtures("coarse_mesh")
RADIUS = float(np.sqrt(240e-6 / np.pi))  # [m]
PEAK = 40e3  # [A]
FLAT = [(-0.1, 0.02), (0.0, 0.02), (0.1, 0.02)]


def text_of(axes: list[tuple[float, float]], phases: list[str], more: str = "") -> str:
    places = "[" + ", ".join(f'["{x!r} m", "{y!r} m"]' for x, y in axes) + "]"
    return STUDY.format(positions=places, phases=str(phases).replace("'", '"'), more=more)


def solved(axes: list[tuple[float, float]], phases: list[str], more: str = "") -> Result:
    return run(loads(text_of(axes, phases, more)))


@pytest.fixture(scope="module")
def flat() -> Result:
    return solved(FLAT, ["L1", "L2", "L3"], 'cleat_spacing = "0.75 m"')


def test_all_pairs_are_evaluated_and_the_nearest_is_the_worst(flat: Result) -> None:
    forces = {pair.faulted_phases: pair.greatest_force_n_per_m for pair in flat.fault_pairs}
    assert set(forces) == {"L1-L2", "L2-L3", "L1-L3"}
    unit = 0.75 * 2e-7 * PEAK**2  # mu0 ip^2/(2 pi), ip of two phases sqrt3/2 of the stated one's [N]
    # law of Ampere: spacing 0.1 m and 0.2 m; 11 radii apart, the proximity effect is of the order of (a/D)^2 = 8e-3
    assert forces["L1-L2"] == pytest.approx(unit / 0.1, rel=0.01)
    assert forces["L2-L3"] == pytest.approx(unit / 0.1, rel=0.01)
    assert forces["L1-L3"] == pytest.approx(unit / 0.2, rel=0.01)
    assert [pair.worst for pair in flat.fault_pairs] == [True, False, False]
    assert flat.fault_pairs[0].faulted_phases != "L1-L3"
    two = [entry for entry in flat.faults if "two" in entry.fault]
    assert {entry.faulted_phases for entry in two} == {flat.fault_pairs[0].faulted_phases}
    assert max(entry.peak_force_n_per_m for entry in two) == flat.fault_pairs[0].greatest_force_n_per_m


def test_two_phases_carry_their_own_peak(flat: Result) -> None:
    # IEC 60909-0: c Un/(2 Z1) over c Un/(sqrt3 Z1), the same kappa [D]
    assert [pair.peak_current_a for pair in flat.fault_pairs] == pytest.approx([PEAK * np.sqrt(3) / 2] * 3, rel=1e-12)
    assert {entry.peak_current_a for entry in flat.faults if "three" in entry.fault} == {PEAK}
    only = solved(FLAT[:2], ["L2", "L3"], 'cleat_spacing = "0.75 m"')
    assert [pair.peak_current_a for pair in only.fault_pairs] == [PEAK]  # nothing but this fault can be meant
    assert only.fault_pairs[0].greatest_force_n_per_m == pytest.approx(2e-7 * PEAK**2 / 0.1, rel=0.01)
    assert only.fault_design[0].why == "the only fault of two phases"


def test_one_row_says_which_force_cleats_are_designed_for(flat: Result) -> None:
    """The same in terminal, page, table and file; hand form: the middle cable of three, 0.866 mu0 ip^2/(2 pi S)."""
    (row,) = flat.fault_design
    assert (row.circuit, row.fault, row.phase) == ("F1", "F1, three-phase", "L2")
    # R/X of 0.3: the offset has gone far enough for the crest to be 2.5 % below that of sinusoids of ip
    hand = np.sqrt(3) / 2 * 2e-7 * PEAK**2 / 0.1
    assert row.force_n_per_m == pytest.approx(hand, rel=0.04)
    assert row.force_n_per_m == max(entry.peak_force_n_per_m for entry in flat.faults)
    assert row.force_n_per_m > flat.fault_pairs[0].greatest_force_n_per_m
    assert row.force_per_cleat_n is not None
    assert row.force_per_cleat_error_n is not None
    assert row.force_per_cleat_n == pytest.approx(0.75 * row.force_n_per_m, rel=1e-12)
    assert row.force_per_cleat_error_n == pytest.approx(0.75 * row.force_error_n_per_m, rel=1e-12)
    assert row.why == "the three-phase fault exceeds the worst two-phase one"
    terminal = str(flat)
    lines = terminal[terminal.index("Force to design cleats for") :].splitlines()
    line = next(line for line in lines if line.startswith("F1, three-phase"))
    assert brief(row.force_n_per_m, NEWTON_PER_METRE) in line
    assert brief(row.force_per_cleat_n, NEWTON) in line
    page = write_report(flat, {}, {})
    table = page[page.rindex("Force to design cleats for") :][:2500]
    assert with_error(row.force_per_cleat_n, row.force_per_cleat_error_n, NEWTON)[0] in table
    assert tables(flat)["fault_design.csv"].splitlines()[1].startswith("F1,")
    assert json.loads(results_text(flat))["fault_design"][0]["force_n_per_m"] == row.force_n_per_m


def test_worst_pair_follows_the_order_of_the_phases() -> None:
    found = solved(FLAT, ["L1", "L3", "L2"])
    # L1 and L2 are now the outer cables: the mildest pair
    assert found.fault_pairs[-1].faulted_phases == "L1-L2"
    assert found.fault_pairs[0].greatest_force_n_per_m == pytest.approx(
        2 * found.fault_pairs[-1].greatest_force_n_per_m, rel=0.02
    )


def test_force_per_cleat_is_the_force_times_the_spacing(flat: Result) -> None:
    for entry in flat.faults:
        assert entry.cleat_spacing_m == 0.75
        assert entry.force_per_cleat_n == pytest.approx(0.75 * entry.peak_force_n_per_m, rel=1e-12)
        angle = np.radians(entry.direction_deg)
        assert entry.fx_n_per_m == pytest.approx(entry.peak_force_n_per_m * np.cos(angle), abs=1e-9 * PEAK)
        assert entry.fy_n_per_m == pytest.approx(entry.peak_force_n_per_m * np.sin(angle), abs=1e-9 * PEAK)
    assert all(entry.force_per_cleat_n is None for entry in solved(FLAT, ["L1", "L2", "L3"]).faults)
    with pytest.raises(StudyError, match="cleat_spacing"):
        loads(text_of(FLAT, ["L1", "L2", "L3"], 'cleat_spacing = "0 m"'))


def test_parallel_cables_share_the_fault_by_their_impedances() -> None:
    axes = [(0.3 * k, 0.02) for k in range(6)]
    phases = ["L1", "L2", "L3", "L1", "L2", "L3"]
    found = [entry for entry in solved(axes, phases).faults if "three" in entry.fault]
    # independent: line currents with the impedance matrix of (mu0/2 pi) ln(1/D), the phases' cables in parallel
    resistance = 0.0754e-3 / 0.781  # IEC 60228 at 20 degC, to 90 degC [C]; at 0.3 m the reactances are three times it
    matrix = phase_impedance_matrix(axes, np.full(6, solid_mean_radius(RADIUS)), np.full(6, resistance), 50.0, 1000.0)
    member = np.array([[phase == line for line in ("L1", "L2", "L3")] for phase in phases], dtype=float)
    admittance = np.linalg.inv(matrix)
    given = PEAK / np.sqrt(2) * np.exp(-2j * np.pi / 3 * np.arange(3))
    currents = admittance @ member @ np.linalg.solve(member.T @ admittance @ member, given)
    shares = np.abs(currents) * np.sqrt(2)
    # far from equal sharing, so that an equal share would fail
    assert np.ptp(shares) > 0.1 * PEAK / 2
    for entry, share in zip(found, shares, strict=True):
        # skin and proximity effect at 34 radii: below a per cent
        assert entry.cable_peak_current_a == pytest.approx(share, rel=0.01)
    mean, double = mean_line_force(axes, currents), alternating_line_force(axes, currents)
    turn = np.exp(2j * np.linspace(0, np.pi, 2000))
    peaks = np.abs(mean[:, 0] + np.real(turn[:, None] * double[:, 0])).max(axis=0)
    for entry, peak in zip(found, peaks, strict=True):
        # two shares multiply
        assert entry.alternating_peak_force_n_per_m == pytest.approx(peak, rel=0.02)


def test_difference_to_the_standard_is_told_with_its_reason(flat: Result) -> None:
    for entry in flat.faults:
        assert entry.standard_force_n_per_m is not None
        expected = entry.standard_force_n_per_m / entry.alternating_peak_force_n_per_m - 1
        assert entry.standard_difference == pytest.approx(expected, rel=1e-12)
        assert entry.standard_difference_reason == ""  # printed factors and a little proximity: below 5 %
    tray = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "2 mm"
material = "{}"
"""
    close = [(-0.03, 0.013), (0.0, 0.013), (0.03, 0.013)]
    for material, word in (("aluminium-6063", "eddy currents"), ("mild-steel", "steel")):
        rows = solved(close, ["L1", "L2", "L3"], tray.replace("{}", material)).faults
        large = [entry for entry in rows if abs(entry.standard_difference or 0) > 0.05]
        assert large
        for entry in large:
            assert word in entry.standard_difference_reason
            assert "T1" in entry.standard_difference_reason
            assert "1.7 diameters apart" in entry.standard_difference_reason


def test_a_circuit_of_two_phases_has_one_fault_and_one_of_a_single_phase_none() -> None:
    found = solved(FLAT[:2], ["L2", "L3"])
    assert [(entry.faulted_phases, entry.fault) for entry in found.faults] == [("L2-L3", "F1, two-phase")] * 2
    with pytest.raises(StudyError, match="not two of L1, L2 and L3"):
        loads(text_of(FLAT[:2], ["L1", "N"]))


def test_terminal_report_and_file_say_which_fault_where_and_how_much(flat: Result) -> None:
    text = str(flat)
    worst = flat.fault_pairs[0].faulted_phases
    assert "F1, three-phase" in text
    assert f"F1, two-phase, {worst.replace('-', '–')}" in text
    assert "cleat" in text
    page = write_report(flat, {}, {})
    assert "Three-phase fault of F1, 40.0" in page
    assert f"Worst two-phase fault, {worst.replace('-', '–')}, of F1" in page
    assert "crest is the peak current in every phase" in page
    document = results_document(flat)
    pairs = document["fault_pairs"]
    assert isinstance(pairs, list)
    assert len(pairs) == 3


@pytest.mark.parametrize(
    ("degrees", "arrow"), [(0, "→"), (50, "↗"), (90, "↑"), (180, "←"), (-180, "←"), (-45, "↘"), (-90, "↓"), (-130, "↙")]
)
def test_arrows_point_where_the_force_does(degrees: float, arrow: str) -> None:
    assert direction(degrees).startswith(arrow)


def test_labels_of_forces_cover_neither_cables_nor_sheets() -> None:
    tray = '[[trays]]\nname = "T1"\nprofile = "channel"\nrests_at = ["0 mm", "0 mm"]\ninside_width = "300 mm"\n'
    tray += 'inside_height = "60 mm"\nthickness = "4 mm"\nmaterial = "aluminium-6063"\n'
    resting = [(-0.05, 0.013), (0.0, 0.013), (0.05, 0.013)]
    result = solved(resting, ["L1", "L2", "L3"], tray)
    for stem, draw in figure_set(result).items():
        if not stem.startswith("fault_forces"):
            continue
        figure = draw()
        axes = figure.axes[0]
        labels = [text for text in axes.texts if "N/m" in text.get_text() and text.get_text().startswith("L")]
        assert len(labels) >= 2
        floor = axes.transData.transform([(-154.0, -4.0), (154.0, 0.0)])  # [mm]
        for label in labels:
            box = label.get_window_extent()
            assert box.y0 >= floor[1, 1] or box.y1 <= floor[0, 1]
            for x, y in resting:
                low, high = axes.transData.transform([(1e3 * x - 9, 1e3 * y - 9), (1e3 * x + 9, 1e3 * y + 9)])
                apart = box.x0 >= high[0] or box.x1 <= low[0] or box.y0 >= high[1] or box.y1 <= low[1]
                assert apart
