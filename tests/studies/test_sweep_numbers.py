"""What cases are compared by: width and spacings, unbalance, and the other numbers of a result."""

import cmath
import math

import numpy as np
import pytest

from geometry.cable import CableConstruction
from studies.compare.case_numbers import NOTHING, CaseNumber, CaseValue
from studies.compare.measured import measure, measured_from
from studies.compare.quantities import QUANTITIES, column, heading, numbers_of, quantity_of
from studies.formulas.inductance import positive_sequence_inductance, solid_mean_radius
from studies.formulas.line_field import line_field
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.section.parts import PlacedCable
from studies.section.spacing import ALONE, BOTH, GROUPS, LAYER, NOT_KEPT, RULE, gaps_kept, spacing_of, width_used
from studies.study.reading import loads
from tests.studies.sweep_studies import PAIR, TRIPLE

D = 0.02
"""Overall diameter of the cables below. [m]"""


def of(value: CaseValue) -> float:
    """A number that must be there."""
    assert value is not None
    return float(value)


def laid(*axes: tuple[float, float], circuit: str = "F1") -> list[PlacedCable]:
    layers = CableConstruction(conductor_radius=0.006, insulation_thickness=0.004)
    return [PlacedCable(circuit, k, "L1", axis, layers) for k, axis in enumerate(axes, 1)]


def trefoil(x: float) -> tuple[tuple[float, float], ...]:
    return (x - D / 2, D / 2), (x + D / 2, D / 2), (x, D / 2 + D * math.sqrt(3) / 2)


# --- width and spacings -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cables", "kept"),
    [
        (laid((0, D / 2)), ALONE),
        (laid((0, D / 2), (2 * D, D / 2)), LAYER),  # one clear diameter
        (laid((0, D / 2), (1.99 * D, D / 2)), NOT_KEPT),
        (laid((0, D / 2), (3 * D, D / 2), (4.9 * D, D / 2)), NOT_KEPT),
        (laid((0, D / 2), (0, 3 * D)), NOT_KEPT),  # two layers, however far apart
        (laid((0, D / 2), (2 * D, 2 * D)), NOT_KEPT),  # a step is no layer
        (laid(*trefoil(0)), ALONE),
        (laid(*trefoil(0), *trefoil(D + D + 2.15 * D)), GROUPS),
        (laid(*trefoil(0), *trefoil(D + D + 2.14 * D)), NOT_KEPT),
        (laid(*trefoil(0), (D + D / 2 + 2.15 * D, D / 2)), GROUPS),  # a single cable beside a trefoil
        (laid(*trefoil(0), (3.65 * D, D / 2), (5.65 * D, D / 2)), BOTH),
        (laid(*trefoil(0), (D + D / 2 + D, D / 2)), NOT_KEPT),
        ([*laid((0, D / 2), (D, D / 2)), *laid((D / 2, D / 2 + D * math.sqrt(3) / 2), circuit="F2")], NOT_KEPT),
    ],
)
def test_the_clear_gaps_of_common_practice_are_recognised(cables, kept):
    assert gaps_kept(cables, ()) == kept


@pytest.mark.parametrize(
    ("metal", "word", "met", "closed_by"),
    [
        ("", "1 diam.", True, ()),
        ('cover = "closed"', "closed", False, ("T1",)),
        ('cover = { gap = "5 mm" }', "closed", False, ("T1",)),  # a loose cover is one too
        ("duct", "closed", False, ("T1",)),
    ],
)
def test_the_rule_for_clear_gaps_lapses_under_a_cover_and_in_closed_metal(metal, word, met, closed_by):
    text = tray_study("").replace('spacing = "30 mm"', 'clear_gap = "1 diameter"')
    study = loads(text.replace('"channel"', '"duct"') if metal == "duct" else f"{text}{metal}\n")
    found = spacing_of(study, cross_section(study))
    assert (found.word, found.rule_met, found.closed_by) == (word, met, closed_by)
    told = " ".join(found.sentences())
    assert told.startswith("Clear gaps kept: one cable diameter in a single layer. ")
    assert ("(T1): the rule lapses" in told) is not met
    assert RULE in told


def test_the_rule_is_told_with_its_conditions_and_says_nothing_of_what_a_cable_may_carry():
    for words in ("open trays without a cover", "1/0 AWG", "free-air table (310.17)", "another, lower one (310.20)"):
        assert words in RULE
    assert "full" not in RULE
    assert "rating" not in RULE
    small = loads(PAIR.replace('spacing = "30 mm"', 'clear_gap = "1 diameter"').replace('"95 mm^2"', '"50 mm^2"'))
    assert "50 mm², too small for the rule" in " ".join(spacing_of(small, cross_section(small)).sentences())


def test_the_width_is_from_outside_to_outside():
    assert width_used(laid((0, 0.01), (0.05, 0.01)), ()) == pytest.approx(0.05 + D, rel=1e-12)


def tray_study(turned: str) -> str:
    tray = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "80 mm"
thickness = "2 mm"
material = "mild-steel"
"""
    return PAIR + tray + (f'turned = "{turned}"\n' if turned else "")


def test_the_width_is_along_the_floor_of_a_turned_tray():
    # the axes 120 mm apart one above the other beside a tray that stands on its side, floor to the right
    text = tray_study("90 deg").replace(
        'arrangement = "flat"\nspacing = "30 mm"\nrests_at = ["0 mm", "0 mm"]',
        'arrangement = "positions"\npositions = [["-20 mm", "-60 mm"], ["-20 mm", "60 mm"]]',
    )
    study = loads(text)
    cables = cross_section(study).cables
    diameter = cables[0].layers.diameter
    assert width_used(cables, study.trays) == pytest.approx(0.12 + diameter, rel=1e-12)
    assert width_used(cables, ()) == pytest.approx(diameter, rel=1e-12)
    assert gaps_kept(cables, study.trays) == LAYER
    assert gaps_kept(cables, ()) == NOT_KEPT  # without the tray one lies above the other


def test_each_tray_is_a_row_of_its_own():
    lower, upper = tray_study(""), tray_study("")
    second = upper[upper.index("[[trays]]") :].replace('"T1"', '"T2"').replace('"0 mm", "0 mm"', '"0 mm", "300 mm"')
    above = PAIR[PAIR.index("[[circuits]]") : PAIR.index("[[receptors]]")]
    above = (
        above.replace('"F1"', '"F2"').replace('["0 mm", "0 mm"]', '["0 mm", "300 mm"]').replace('"30 mm"', '"90 mm"')
    )
    study = loads(lower + second + above)
    cables = cross_section(study).cables
    assert width_used(cables, study.trays) == pytest.approx(0.09 + cables[0].layers.diameter, rel=1e-12)
    assert gaps_kept(cables, study.trays) == LAYER
    assert gaps_kept(cables, ()) == NOT_KEPT


# --- the table of quantities --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def result():
    return run(loads(TRIPLE))


def test_every_quantity_has_a_meaning_and_a_column_that_leads_back_to_it(result):
    numbers = numbers_of(result)
    own = [quantity.key for quantity in QUANTITIES if quantity.each != "zone"]  # this study has no zone
    assert [quantity_of(name).key for name in numbers] == own
    for quantity in QUANTITIES:
        assert quantity.meaning.endswith(".")
        assert quantity_of(column(quantity, "x")) is quantity
        assert heading(column(quantity, "x")).startswith(quantity.heading)


def test_the_numbers_are_those_of_the_result(result):
    numbers = numbers_of(result)
    (receptor,) = result.receptors
    (sequence,) = result.sequence_impedance
    assert numbers["worst_field_over_limit"].value == receptor.b_rms_t / 0.5e-6
    assert numbers["worst_field_over_limit"].error == receptor.b_rms_error_t / 0.5e-6
    assert numbers["worst_field_over_limit"].place == "instrument"
    assert numbers["highest_b_rms_t"].value == numbers["b_rms_t.instrument"].value == receptor.b_rms_t
    assert numbers["b_rms_t.instrument"].error == receptor.b_rms_error_t
    assert numbers["total_loss_w_per_m"].value == sum(loss.loss_w_per_m for loss in result.losses)
    assert numbers["total_loss_w_per_m"].error == sum(loss.loss_error_w_per_m for loss in result.losses)
    assert numbers["conductor_loss_w_per_m"].value == result.loss_total("conductor")
    assert numbers["tray_loss_w_per_m"].value == numbers["screen_loss_w_per_m"].value == 0
    assert numbers["x1_ohm_per_m.F1"].value == sequence.z1_ohm_per_m.imag
    assert numbers["x1_ohm_per_m.F1"].error == sequence.z1_error_ohm_per_m
    assert numbers["unknowns"].value == result.accuracy.levels[-1].unknowns
    assert numbers["largest_share"] == NOTHING


def test_formulas_stand_beside_the_numbers_that_have_one(result):
    numbers = numbers_of(result)
    radius = float(result.cross_section.cables[0].layers.conductor_radius)
    axes = [cable.axis for cable in result.cross_section.cables]
    turn = cmath.exp(-2j * math.pi / 3)
    field = line_field(np.array([[1.0, 0.5]]), np.array(axes), np.array([100, 100 * turn, 100 * turn**2]))
    by_lines = float(np.linalg.norm(np.abs(field)))
    assert numbers["b_rms_t.instrument"].formula == pytest.approx(by_lines, rel=1e-12)
    assert numbers["worst_field_over_limit"].formula == pytest.approx(by_lines / 0.5e-6, rel=1e-12)
    gmd = 0.03 * 2 ** (1 / 3)
    x1 = 2 * math.pi * 50 * float(positive_sequence_inductance(gmd, solid_mean_radius(radius)))
    assert numbers["x1_ohm_per_m.F1"].formula == pytest.approx(x1, rel=1e-12)
    formulas = sum(loss.formula_loss_w_per_m or math.nan for loss in result.losses)
    assert numbers["conductor_loss_w_per_m"].formula == pytest.approx(formulas, rel=1e-12)
    assert numbers["total_loss_w_per_m"].formula == pytest.approx(formulas, rel=1e-12)  # conductors are all there is
    for name in ("width_m", "spacing_rules_met", "worst_error", "tray_loss_w_per_m"):
        assert numbers[name].formula is None
    for name, number in numbers.items():
        assert (number.formula is None) or quantity_of(name).formula


def test_a_tray_with_an_open_floor_has_the_formula_of_a_plate_and_one_with_a_cover_has_none():
    channel = """
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "80 mm"
thickness = "2 mm"
material = "mild-steel"
"""
    open_floor = numbers_of(run(loads(TRIPLE + channel)))["tray_loss_w_per_m"]
    covered = numbers_of(run(loads(TRIPLE + channel + 'cover = "closed"\n')))
    assert open_floor.formula is not None
    # an infinite plate has no walls: within a third where the floor is ten cables wide
    assert open_floor.value == pytest.approx(open_floor.formula, rel=0.33)
    assert covered["tray_loss_w_per_m"].formula is None
    assert covered["total_loss_w_per_m"].formula is None


ZONE = """
[[zones]]
name = "bench"
window = [["0.2 m", "0.2 m"], ["0.6 m", "0.6 m"]]
limit = "2 uT"

[[receptors]]
name = "shelf"
at = ["0.5 m", "0 m"]
"""


def test_zones_count_in_the_worst_field_over_its_limit_and_in_the_highest_field():
    result = run(loads(TRIPLE + ZONE))
    numbers = numbers_of(result)
    (zone,) = result.zones
    worst, highest = numbers["worst_field_over_limit"], numbers["highest_b_rms_t"]
    assert worst.place == highest.place == "zone bench"
    assert worst.value == zone.b_max_rms_t / 2e-6 > result.receptors[0].b_rms_t / 0.5e-6
    assert worst.error == pytest.approx(zone.b_max_rms_error_t / 2e-6, rel=1e-9)
    assert highest.value == numbers["b_max_rms_t.bench"].value == zone.b_max_rms_t
    # in air the lines are the whole field; proximity at ten diameters is far below 1 %
    assert highest.value == pytest.approx(highest.formula, rel=0.01)
    # a receptor with a tighter limit decides in the place of a stronger field in a zone
    tight = run(loads((TRIPLE + ZONE).replace('limit = "0.5 uT"', 'limit = "0.01 uT"')))
    assert numbers_of(tight)["worst_field_over_limit"].place == "instrument"
    assert numbers_of(tight)["highest_b_rms_t"].place == "zone bench"


def test_against_a_reference_level_the_exposure_index_counts():
    text = TRIPLE.replace('limit = "0.5 uT"', 'limit = "ICNIRP 2010 public"')
    harmonic = text.replace('current = "100 A"', 'current = "100 A"\nharmonics = { 5 = "20 %" }')
    for study, formula in ((text, True), (harmonic, False)):
        (receptor,) = (result := run(loads(study))).receptors
        number = numbers_of(result)["worst_field_over_limit"]
        assert number.value == receptor.exposure_index
        assert number.error == receptor.exposure_error
        assert (number.formula is not None) is formula


def test_parallel_cables_and_bonded_screens_have_their_numbers():
    text = PAIR.replace('["L1", "L2"]', '["L1", "L1", "L2", "L2"]').replace(
        'insulation = "1.4 mm"',
        'insulation = "1.4 mm"\nscreen = { material = "copper", thickness = "0.3 mm" }\njacket = "1 mm"',
    )
    result = run(loads(text + '\n[[bonds]]\nparts = ["F1 screens"]\n'))
    numbers = numbers_of(result)
    shares = {part.part: part.share_of_phase or 0.0 for part in result.parts if part.kind == "conductor"}
    most = max(shares, key=lambda part: shares[part])
    share = numbers["largest_share"]
    assert share.value == shares[most] > 1
    assert share.place.startswith(most.removesuffix(".conductor"))
    assert share.formula == pytest.approx(share.value, rel=0.05)  # screens and proximity move it by some per cent
    # eddy currents in a 0.3 mm screen at 50 Hz are far below the circulating current of bonded screens
    circulating, screens = numbers["circulating_loss_w_per_m"], numbers["screen_loss_w_per_m"]
    assert 0.9 < of(circulating.value) / of(screens.value) <= 1
    assert 0 < of(circulating.error) < 0.1 * of(circulating.value)


def test_bonded_screens_of_three_cables_stand_beside_the_circulating_loss_factor():
    text = TRIPLE.replace(
        'insulation = "1.4 mm"',
        'insulation = "1.4 mm"\nscreen = { material = "copper", thickness = "0.3 mm" }\njacket = "1 mm"',
    )
    numbers = numbers_of(run(loads(text + '\n[[bonds]]\nparts = ["F1 screens"]\n')))
    circulating = numbers["circulating_loss_w_per_m"]
    # IEC 60287-1-1 takes screens as thin and far: 2 % at three diameters
    assert circulating.value == pytest.approx(circulating.formula, rel=0.02)
    open_ended = numbers_of(run(loads(text)))["circulating_loss_w_per_m"]
    assert open_ended == CaseNumber(0.0, 0.0, None)


def test_measured_numbers_come_back_bit_for_bit(result):
    measured = measure(result)
    assert measured_from(measured.text()) == measured
