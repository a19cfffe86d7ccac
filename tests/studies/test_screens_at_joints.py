"""Screens joined at every joint of a run: each section is a solidly bonded run of its own."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from fem.ties import Tie
from studies.answers.route.maps import formula_maps, phase_currents_of
from studies.compare.measured_run import measured_case
from studies.compare.plan import plan_of
from studies.formulas.screens import (
    circulating_factor,
    flat_circulating_factor,
    flat_mutual_reactance,
    screen_reactance,
)
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.section.lines import RunSection, route_of
from studies.section.parts import CrossSection
from studies.section.places import FOLLOWED
from studies.section.run_parts import JointTie, line_state
from studies.section.turning import cyclic_orders
from studies.study.phases import LINES
from studies.study.reading import loads, loads_data
from studies.text.problems import StudyError
from tests.studies.sweep_studies import with_variants
from tests.studies.test_sweep_transposition import TRANSPOSED
from tests.studies.test_transposed_runs import SCREENED, written

JOINED = 'parts = ["F1 screens"]\nkind = "every joint"'
LENGTHS = ("60 m", "40 m", "20 m")
SCREENS = tuple(f"F1 {phase} screen" for phase in LINES)
ROUNDING = 1e-9


def joined(study: str) -> str:
    """The study with its screens joined at every joint."""
    return study.replace('parts = ["F1 screens"]', JOINED)


@cache
def solved_run() -> Result:
    """A run of three orders and unequal lengths."""
    return run(loads(joined(written(SCREENED, LENGTHS))))


@cache
def alone(order: tuple[str, ...]) -> Result:
    """One of its sections alone, bonded at its ends."""
    return run(loads(SCREENED.replace('["L1", "L2", "L3"]', str(list(order)).replace("'", '"'))))


def test_each_section_loses_what_it_loses_alone() -> None:
    route = solved_run().route
    assert route is not None
    assert len(route.sections) == 3
    for section in route.sections:
        expected = sum(loss.loss_w_per_m for loss in alone(section.phases["F1"]).losses)
        assert section.loss_w_per_m == pytest.approx(expected, rel=ROUNDING)


def test_the_current_of_a_screen_is_the_largest_of_all_sections_beside_its_section() -> None:
    route = solved_run().route
    assert route is not None
    screens = [line for line in route.lines if line.layer == "screen"]
    assert len(screens) == 3
    for line in screens:
        of_section = {
            section.section: next(
                part.current_rms_a
                for part in alone(section.phases["F1"]).parts
                if part.phase == line.phase and part.kind == "screen"
            )
            for section in route.sections
        }
        assert abs(line.current_a) == pytest.approx(max(of_section.values()), rel=ROUNDING)
        assert of_section[line.current_section] == pytest.approx(max(of_section.values()), rel=ROUNDING)


def test_a_transposed_variant_is_the_same_run() -> None:
    by_hand = run(loads(joined(written(SCREENED)))).route
    variant = measured_case(loads_data(plan_of(with_variants(TRANSPOSED, study=joined(SCREENED))).cases[1].data, "x"))
    assert by_hand is not None
    assert variant.number("total_loss_w_per_m").value == pytest.approx(by_hand.loss_w / 120, rel=ROUNDING)


def test_terminal_and_report_say_how_the_screens_are_joined() -> None:
    said = " ".join(str(solved_run()).split())
    assert "F1 screens are joined at the ends of the run and at every joint." in said
    assert "ends of the run only" not in said


# --- three equal sections of a transposed run beside IEC 60287-1-1 ------------------------------------------------


def screen_loss(section: CrossSection, bond: type[Tie]) -> float:
    """Mean loss of three screens as thin tubes over three equal sections of a transposed run. [W/m]"""
    maps = formula_maps(section, 1000.0, layers=FOLLOWED)
    sections = [RunSection(40.0, maps, {"F1": order}) for order in cyclic_orders(LINES)]
    route = route_of(sections, phase_currents_of(section), [bond(SCREENS)])
    currents = line_state(route).currents[:, [route.lines.index(name) for name in SCREENS]]
    return float(np.sum(np.abs(currents) ** 2) / 3 * section.part("F1.1.screen").dc_resistance)


def standard_losses(section: CrossSection) -> tuple[float, float]:
    """By the factors of IEC 60287-1-1 for flat formation: without and with transposition. [W/m]"""
    diameter = 2 * (section.cables[0].layers.conductor_radius + 5.5e-3 + 0.25e-3)
    ohms, frequency = section.part("F1.1.screen").dc_resistance, section.frequency
    reactance, mutual = screen_reactance(0.07, diameter, frequency), flat_mutual_reactance(frequency)
    factors = [flat_circulating_factor(at, ohms, 1.0, reactance, mutual) for at in ("centre", "leading", "lagging")]
    transposed = circulating_factor(ohms, 1.0, screen_reactance(np.cbrt(2) * 0.07, diameter, frequency))
    return 400.0**2 * float(sum(factors)), 3 * 400.0**2 * float(transposed)


@pytest.mark.parametrize("frequency", [50, 400])
def test_joined_at_every_joint_screens_lose_what_the_standard_gives_without_transposition(frequency: int) -> None:
    section = cross_section(loads(SCREENED.replace("50 Hz", f"{frequency} Hz")))
    without, transposed = standard_losses(section)
    assert screen_loss(section, JointTie) == pytest.approx(without, rel=1e-6)  # mu0 as the standard prints it
    assert screen_loss(section, Tie) == pytest.approx(transposed, rel=1e-6)


@pytest.mark.parametrize(("frequency", "more"), [(50, True), (400, False)])
def test_more_joints_cost_more_if_the_reactance_is_small_beside_the_resistance(frequency: int, more: bool) -> None:
    """Thin tubes lose g(X) = R X^2/(R^2 + X^2) in each of the modes P and Q of a flat group, half of the current each.

    Joined at every joint the loss is the mean of g(P) and g(Q); joined at the ends it is g of their mean, for the run
    has the mean reactance. g is convex below R/sqrt(3), so that joints cost more, and concave above, so that they cost
    less (Jensen).
    """
    section = cross_section(loads(SCREENED.replace("50 Hz", f"{frequency} Hz")))
    diameter = 2 * (section.cables[0].layers.conductor_radius + 5.5e-3 + 0.25e-3)
    reactance, mutual = screen_reactance(0.07, diameter, frequency), flat_mutual_reactance(frequency)
    bend = section.part("F1.1.screen").dc_resistance / np.sqrt(3)
    modes = np.array([reactance + mutual, reactance - mutual / 3])
    assert np.all(modes < bend) if more else np.all(modes > bend)
    assert (screen_loss(section, JointTie) > 1.005 * screen_loss(section, Tie)) == more
    assert (screen_loss(section, JointTie) < 0.995 * screen_loss(section, Tie)) == (not more)


def test_a_neutral_is_not_joined_at_joints() -> None:
    study = joined(SCREENED).replace('["L1", "L2", "L3"]', '["L1", "L2", "L3", "N"]')
    with pytest.raises(StudyError, match=r"joins F1\.4\.conductor, a neutral, at every joint"):
        loads(study.replace('["F1 screens"]', '["F1 screens", "F1.4.conductor"]'))
