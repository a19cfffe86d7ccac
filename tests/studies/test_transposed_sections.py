"""Sections of a transposed run: their errors, harmonics, a return through the earth, and saturating steel."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from studies.answers.route.transposed_run import section_solutions
from studies.answers.solutions import solved
from studies.compare.measured_run import measured_case
from studies.runner import run, run_sections
from studies.section.cross_section import cross_section
from studies.section.run_bonds import STEEL_OF_ONE_ORDER, joining_words
from studies.section.turning import cyclic_orders
from studies.study.phases import LINES
from studies.study.reading import loads
from tests.studies.test_transposed_runs import SCREENED, written

ROUNDING = 1e-9
PLAIN = SCREENED.replace('screen = { material = "copper", thickness = "0.5 mm" }\n', "").replace(
    '[[bonds]]\nparts = ["F1 screens"]\n', ""
)


def test_the_worst_error_is_the_larger_of_those_of_the_section_and_of_the_study() -> None:
    study = loads(written(SCREENED))
    (solution,), _ = solved(study, cross_section(study), lambda message: None, None, None)

    def errors(known: float) -> list[float]:
        accuracy = replace(solution.accuracy, worst_error=known, met=True)
        (sections,) = zip(*section_solutions(study, (replace(solution, accuracy=accuracy),)), strict=True)
        assert [one.accuracy.met for one in sections] == [known <= 0.05] * 3
        return [one.accuracy.worst_error for one in sections]

    own = errors(0.0)
    rows = [section.losses for section in run_sections(study)]
    for found, losses in zip(own, rows, strict=True):
        least = max(loss.loss_error_w_per_m / loss.loss_w_per_m for loss in losses)  # over its own loss, not the total
        assert 0.5 * least < found < 2 * least
    assert errors(0.4) == [0.4] * 3


def test_harmonics_of_a_transposed_run_add_up_section_by_section() -> None:
    """Without screens and parallel cables no current depends on the other sections: each is a study of its own."""
    study = PLAIN.replace('current = "400 A"', 'current = "400 A"\nharmonics = { 5 = "20 %", 7 = "10 %" }')
    alone = [
        run(loads(study.replace('["L1", "L2", "L3"]', str(list(o)).replace("'", '"')))) for o in cyclic_orders(LINES)
    ]
    found = measured_case(loads(study + written(SCREENED)[len(SCREENED) :]))
    losses = [sum(loss.loss_w_per_m for loss in one.losses) for one in alone]
    fundamental = sum(loss.loss_w_per_m for loss in run(loads(PLAIN)).losses)
    assert found.number("total_loss_w_per_m").value == pytest.approx(np.mean(losses), rel=ROUNDING)
    assert np.mean(losses) > 1.04 * fundamental  # 5 % of I^2 at least, and a larger resistance
    fields = [one.receptors[0].b_rms_t for one in alone]
    assert found.number("b_rms_t.desk").value == pytest.approx(max(fields), rel=ROUNDING)


def test_a_return_through_the_earth_is_that_of_the_run_written_by_hand() -> None:
    earthed = (
        SCREENED.replace(
            '["F1 screens"]', '["F1 screens"]\nearth = true\nimpedance = ["0.2 ohm/km", "0 ohm/km"]'
        ).replace('current = "400 A"', 'current = { L1 = "400 A", L2 = "400 A", L3 = "300 A" }')
        + '\n[earth]\nresistivity = "100 ohm*m"\nsurface = "-1 m"\n'
    )
    study = loads(earthed + written(SCREENED)[len(SCREENED) :])
    by_hand = run(study)
    assert by_hand.route is not None
    screens = [line.current_a for line in by_hand.route.lines if line.layer == "screen"]
    assert abs(sum(screens)) > 1  # some of the unbalance returns in the screens, the rest in the earth
    ohms = next(part.r_dc_ohm_per_m for part in by_hand.parts if part.kind == "screen")
    expected = sum(abs(current) ** 2 for current in screens) * ohms
    found = measured_case(study)
    assert found.number("circulating_loss_w_per_m").value == pytest.approx(expected, rel=ROUNDING)
    for phase, drop in zip(found.phases, by_hand.route.circuits[0].drop_v, strict=True):
        assert phase.voltage_v_per_m == pytest.approx(drop / 120, rel=ROUNDING)


def test_saturating_steel_of_one_order_is_a_caution_where_the_joints_are_told() -> None:
    tray = '\n[[trays]]\nname = "T1"\nprofile = "plate"\nrests_at = ["0 mm", "-20 mm"]\nwidth = "400 mm"\n'
    saturating = f'{tray}thickness = "2 mm"\nmaterial = "galvanised-steel-saturating"\n'
    said = [
        joining_words(cross_section(study), study)
        for study in map(loads, (written(SCREENED) + saturating, SCREENED + saturating, written(SCREENED)))
    ]
    assert [STEEL_OF_ONE_ORDER in words for words in said] == [True, False, False]
