"""Currents of any frequency on one cable: what flows at each, the common mode, and the field and loss of all."""

import math

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.formulas.resistance import skin_factor
from studies.result import Result
from studies.section.cross_section import cross_section
from studies.section.spectrum import components
from studies.study.reading import loads
from tests.studies.solved_examples import EXAMPLES, of_examples
from tests.studies.sound_study import GOOD

EXAMPLE = "drive_output"
TURN = np.exp(2j * np.pi / 3)


def currents_at(text: str, frequency: float) -> dict[tuple[str, str], complex]:
    return next(own.currents for own in components(loads(text)) if math.isclose(own.frequency, frequency))


def test_each_frequency_has_its_own_currents() -> None:
    text = (EXAMPLES / f"{EXAMPLE}.toml").read_text(encoding="utf-8")
    assert [own.frequency for own in components(loads(text))] == pytest.approx([40, 3920, 4000, 4040])
    balanced = currents_at(text, 4000)
    assert [balanced["drive", phase] for phase in ("L1", "L2", "L3", "PE")] == pytest.approx(
        [4, 4 * TURN**2, 4 * TURN, 0]
    )
    common = currents_at(text, 4040)
    assert [common["drive", phase] for phase in ("L1", "L2", "L3", "PE")] == pytest.approx([0.3, 0.3, 0.3, -0.9])


def test_a_common_mode_without_a_protective_conductor_returns_outside_the_circuit() -> None:
    further = 'current = "400 A"\nfurther_currents = [{ frequency = "150 Hz", current = "3 A", mode = "common" }]'
    text = GOOD.replace('current = "400 A"', further)
    assert currents_at(text, 150) == {("F1", phase): pytest.approx(1) for phase in ("L1", "L2", "L3")}
    assert cross_section(loads(text)).net_current() == pytest.approx(0)  # at the fundamental


def test_a_further_current_at_a_harmonic_of_another_circuit_adds_to_it() -> None:
    text = (EXAMPLES / "two_frequencies.toml").read_text(encoding="utf-8")
    text = text.replace(
        'current = "350 A"', 'current = "350 A"\nfurther_currents = [{ frequency = "400 Hz", current = "5 A" }]'
    )
    both = currents_at(text, 400)
    assert abs(both["F1", "L1"]) == pytest.approx(5)
    assert abs(both["F2", "L1"]) == pytest.approx(200)


@of_examples([EXAMPLE])
def test_field_and_loss_of_the_example_are_those_of_its_currents(solved: Result) -> None:
    receptor = solved.receptors[0]
    net_and_return = next(part for part in receptor.spectrum if part.frequency_hz == pytest.approx(4040))
    axes = np.array([cable.axis for cable in solved.cross_section.cables])
    away = np.array([receptor.x_m, receptor.y_m]) - axes
    # lines: mu0/(2 pi) sum i/(x + jy), 0.3 A in each phase and -0.9 A in PE. Opposite currents draw together: two
    # perfect conductors of radius r at the distance s act as lines at sqrt(s^2 - 4 r^2), 0.88 s here [D]
    field = mu_0 / (2 * np.pi) * abs(np.sum(np.array([0.3, 0.3, 0.3, -0.9]) / (away[:, 0] + 1j * away[:, 1])))
    assert 0.88 * field < net_and_return.b_rms_t < field
    assert receptor.b_rms_t == pytest.approx(math.sqrt(sum(part.b_rms_t**2 for part in receptor.spectrum)))
    # 4 kHz and its side band lose more than the skin effect of one conductor alone, as its neighbours are near
    part = next(own for own in solved.parts if own.part == "drive.1.conductor")
    alone = sum(
        i**2 * part.r_dc_ohm_per_m * (1 + float(skin_factor(part.r_dc_ohm_per_m, f, 1.0)))
        for f, i in ((40, 70), (3920, 2), (4000, 4), (4040, 0.3))
    )
    loss = next(own for own in solved.losses if own.part == "drive.1.conductor")
    assert alone < loss.loss_w_per_m < 1.05 * alone
