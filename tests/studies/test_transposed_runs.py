"""A transposed run by the key of a variant is that by sections written by hand."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from studies.compare.case_key import case_key
from studies.compare.measured import Measured
from studies.compare.measured_run import measured_case
from studies.compare.plan import plan_of
from studies.formulas.screens import circulating_factor, screen_reactance
from studies.output.numbers import software_versions
from studies.result import Result
from studies.runner import run, run_sections
from studies.section.cross_section import cross_section
from studies.study.reading import loads, loads_data
from tests.studies.sweep_studies import with_variants
from tests.studies.test_sweep_transposition import TRANSPOSED

pytestmark = pytest.mark.usefixtures("coarse_mesh")

SCREENED = """title = "Two cables a phase, flat, screens bonded"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "90 degC" }
insulation = "5.5 mm"
screen = { material = "copper", thickness = "0.5 mm" }
jacket = "2.2 mm"

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "70 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[bonds]]
parts = ["F1 screens"]

[[receptors]]
name = "desk"
at = ["1 m", "0.5 m"]

[accuracy]
tolerance = "5 %"
"""


PARALLEL = SCREENED.replace('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L3", "L2"]')


BY_HAND = {
    SCREENED: ('["L3", "L1", "L2"]', '["L2", "L3", "L1"]'),
    PARALLEL: ('["L3", "L1", "L2", "L3", "L2", "L1"]', '["L2", "L3", "L1", "L2", "L1", "L3"]'),
}
"""The phases in the second and the third section: L1 moves to the place of L2, L2 to that of L3, L3 to that of L1."""


ROUNDING = 1e-9
"""The two ways add up the same numbers in another order, on the same mesh."""


def written(study: str, lengths: tuple[str, str, str] = ("40 m", "40 m", "40 m")) -> str:
    """The study with its run as three sections."""
    second, third = BY_HAND[study]
    phases = ("", f"phases = {{ F1 = {second} }}", f"phases = {{ F1 = {third} }}")
    return study + "".join(
        f'\n[[route]]\nlength = "{length}"\n{own}\n' for length, own in zip(lengths, phases, strict=True)
    )


@cache
def solved_variant(study: str) -> Measured:
    """The numbers of the study as a transposed variant."""
    case = plan_of(with_variants(TRANSPOSED, study=study)).cases[1]
    return measured_case(loads_data(case.data, "study"))


@pytest.fixture(scope="module", params=[SCREENED, PARALLEL], ids=["one cable", "two cables"])
def both(request: pytest.FixtureRequest) -> tuple[Result, Measured]:
    """A run written by hand, and the same as a transposed variant."""
    return run(loads(written(request.param))), solved_variant(request.param)


def test_the_losses_are_those_of_the_run_written_by_hand(both: tuple[Result, Measured]) -> None:
    """By hand they are the power that enters, of the variant the integral over the parts: power in is what is lost."""
    by_hand, variant = both
    assert by_hand.route is not None
    assert variant.number("total_loss_w_per_m").value == pytest.approx(by_hand.route.loss_w / 120, rel=ROUNDING)


def test_the_screens_carry_the_currents_of_the_run_written_by_hand(both: tuple[Result, Measured]) -> None:
    by_hand, variant = both
    assert by_hand.route is not None
    screen = next(part for part in by_hand.parts if part.kind == "screen")
    currents = [abs(line.current_a) for line in by_hand.route.lines if line.layer == "screen"]
    assert min(currents) > 1
    expected = sum(current**2 * screen.r_dc_ohm_per_m for current in currents)
    assert variant.number("circulating_loss_w_per_m").value == pytest.approx(expected, rel=ROUNDING)


def test_the_drops_and_the_impedance_are_those_of_the_run_written_by_hand(both: tuple[Result, Measured]) -> None:
    by_hand, variant = both
    assert by_hand.route is not None
    (circuit,) = by_hand.route.circuits
    assert [phase.phase for phase in variant.phases] == ["L1", "L2", "L3"]
    for phase, drop in zip(variant.phases, circuit.drop_v, strict=True):
        assert phase.voltage_v_per_m == pytest.approx(drop / 120, rel=ROUNDING)
    reactance = variant.number("x1_ohm_per_m.F1").value
    assert reactance == pytest.approx(circuit.z1_ohm.imag / 120, rel=ROUNDING)
    assert variant.number("u2_over_u1.F1").value == pytest.approx(circuit.z21_over_z11, abs=1e-9)


def test_the_field_and_the_sharing_are_those_of_the_run_written_by_hand(both: tuple[Result, Measured]) -> None:
    by_hand, variant = both
    assert by_hand.route is not None
    highest = max(entry.b_rms_t for entry in by_hand.route.fields)
    assert variant.number("b_rms_t.desk").value == pytest.approx(highest, rel=ROUNDING)
    shares = [line.of_equal_share for line in by_hand.route.lines if line.of_equal_share is not None]
    assert variant.number("largest_share").value == (pytest.approx(max(shares), rel=ROUNDING) if shares else None)


def test_the_closed_form_of_the_sharing_is_that_of_the_run_written_by_hand(both: tuple[Result, Measured]) -> None:
    by_hand, variant = both
    assert by_hand.route is not None
    parallel = [line for line in by_hand.route.lines if line.of_equal_share is not None]
    found = variant.number("largest_share")
    if found.value is None:
        assert parallel == []
        return
    assert found.formula == pytest.approx(max(abs(line.formula_current_a or 0j) / 200 for line in parallel), rel=1e-9)
    assert found.formula == pytest.approx(found.value, rel=0.01)  # thin tubes, IEC 60287-1-1 resistances


def test_both_ways_say_how_the_run_is_joined(both: tuple[Result, Measured]) -> None:
    by_hand, _ = both
    said = " ".join(str(by_hand).split())
    assert "F1 screens are joined at the ends of the run only." in said
    assert "at each joint L1 moves to the place of L2, L2 to that of L3 and L3 to that of L1" in said


def test_a_comparison_reads_a_study_of_such_sections_as_the_run_that_it_is() -> None:
    """Losses and drops of unequal sections count by their lengths."""
    lengths = ("60 m", "40 m", "20 m")
    study = loads(written(SCREENED, lengths))
    (case,) = plan_of(written(SCREENED, lengths)).cases
    assert (case.sections, case.key) == (3, case_key(study, software_versions()))
    measured, by_hand = measured_case(study), run(study)
    assert by_hand.route is not None
    drops = by_hand.route.circuits[0].drop_v
    assert abs(drops[0]) != pytest.approx(abs(drops[1]), rel=0.01)
    for phase, drop in zip(measured.phases, drops, strict=True):
        assert phase.voltage_v_per_m == pytest.approx(drop / 120, rel=ROUNDING)
    assert measured.number("total_loss_w_per_m").value == pytest.approx(by_hand.route.loss_w / 120, rel=ROUNDING)


def test_the_closed_form_of_screens_in_a_transposed_run_is_that_of_the_standard() -> None:
    found = solved_variant(SCREENED).number("circulating_loss_w_per_m")
    section = cross_section(loads(SCREENED))
    cable, screen = section.cables[0], section.part("F1.1.screen")
    diameter = 2 * (cable.layers.conductor_radius + 5.5e-3 + 0.25e-3)
    reactance = screen_reactance(np.cbrt(2) * 0.07, diameter, 50.0)  # IEC 60287-1-1, flat with transposition [M]
    factor = float(circulating_factor(screen.dc_resistance, 1.0, reactance))  # over a conductor of 1 ohm/m
    assert found.formula == pytest.approx(3 * 400**2 * factor, rel=1e-6)  # mu0 as the standard prints it
    assert found.value == pytest.approx(found.formula, rel=0.02)  # a thin tube, and no eddy currents


def test_the_sections_have_the_labels_of_the_phases_that_run_there() -> None:
    study = loads(written(SCREENED))
    sections = run_sections(study)
    labels = [[part.phase for part in section.parts if part.kind == "conductor"] for section in sections]
    assert labels == [["L1", "L2", "L3"], ["L3", "L1", "L2"], ["L2", "L3", "L1"]]
    currents = [{p.phase: p.current_a for p in section.parts if p.kind == "screen"} for section in sections]
    for one, other in pairwise(currents):  # the screen of a phase runs through with it
        assert one == pytest.approx(other, rel=ROUNDING)
    assert np.abs(list(currents[0].values())) == pytest.approx(abs(currents[0]["L1"]), rel=0.01)
    placed = [tuple(cable.phase for cable in section.cross_section.cables) for section in sections]
    assert placed == [tuple(own) for own in labels]
