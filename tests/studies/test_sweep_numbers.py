"""What cases are compared by: width and spacings, unbalance, and the other numbers of a result."""

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0
from scipy.integrate import quad_vec

from geometry.cable import CableConstruction
from studies.cross_section import PlacedCable, cross_section
from studies.formulas.inductance import positive_sequence_inductance, solid_mean_radius
from studies.formulas.infinite_plate import plate_waves
from studies.formulas.line_field import line_field
from studies.line_formulas import formula_phase_impedances, line_model
from studies.reading import loads
from studies.results import Result
from studies.run import run
from studies.sweep.compared import QUANTITIES, column, heading, numbers_of, quantity_of
from studies.sweep.measured import measure, measured_from
from studies.sweep.number import NOTHING, Number, Value
from studies.sweep.phase_state import (
    PhaseState,
    common_ratio,
    drop_unbalance,
    inequality,
    inequality_between_lines,
    negative_drop,
    phase_inequality,
    phase_inequality_between_lines,
    sequence_drops,
)
from studies.sweep.spacing import ALONE, BOTH, GROUPS, LAYER, NOT_KEPT, RULE, gaps_kept, spacing_of, width_used
from tests.studies.sweep_studies import PAIR, TRIPLE

D = 0.02
"""Overall diameter of the cables below. [m]"""


def of(value: Value) -> float:
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
    assert "50 mm², less than the rule is for" in " ".join(spacing_of(small, cross_section(small)).sentences())


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


# --- unbalance ----------------------------------------------------------------------------------------------------


def states(*impedances: complex, current: float = 100.0) -> dict[str, PhaseState]:
    turn = cmath.exp(-2j * math.pi / 3)
    return {
        f"L{k + 1}": PhaseState("F1", f"L{k + 1}", current * turn**k, impedance * current * turn**k)
        for k, impedance in enumerate(impedances)
    }


def test_equal_phases_have_no_inequality_and_no_negative_sequence():
    lines = states(1e-4 + 2e-4j, 1e-4 + 2e-4j, 1e-4 + 2e-4j)
    positive, negative = sequence_drops(lines)
    assert inequality(lines) == pytest.approx(0, abs=1e-12)
    assert abs(positive) == pytest.approx(100 * abs(1e-4 + 2e-4j), rel=1e-12)
    assert abs(negative) < 1e-12 * abs(positive)


def test_inequality_is_largest_less_smallest_over_the_mean():
    assert inequality(states(1j, 2j, 3j)) == pytest.approx(1.0, rel=1e-12)
    assert inequality(states(1j, 2j, 3j, current=0.0)) is None


def test_unbalance_is_that_of_the_symmetrical_components_by_hand():
    # drops of 2, 1, 1 V/m in positive sequence: U1 = 4/3, U2 = 1/3 (one third of the part that is not equal)
    positive, negative = sequence_drops(states(2, 1, 1, current=1.0))
    assert abs(positive) == pytest.approx(4 / 3, rel=1e-12)
    assert abs(negative) == pytest.approx(1 / 3, rel=1e-12)


def test_flat_cables_are_unequal_as_their_distances_are():
    # line currents: L = (mu0/2 pi) ln(s_eff/r'), s_eff = s sqrt 2 of the outer phases and s of the middle one; the
    # mean is that of GMD = s 2^(1/3). Proximity of 30 mm spaced 8 mm conductors at 50 Hz changes it by far below 2 %.
    result = run(loads(TRIPLE))
    radius = math.sqrt(50e-6 / math.pi) * math.exp(-0.25)
    expected = math.log(math.sqrt(2)) / math.log(0.03 * 2 ** (1 / 3) / radius)
    number = numbers_of(result)["phase_inequality.F1"]
    assert number.value == pytest.approx(expected, rel=0.02)
    assert number.formula == pytest.approx(expected, rel=1e-9)


def test_a_drop_common_to_the_phases_makes_them_unequal_and_not_the_voltages_between_them():
    equal = states(1e-4 + 2e-4j, 1e-4 + 2e-4j, 1e-4 + 2e-4j)
    common = 3e-3 * cmath.exp(0.4j)
    lifted = {line: replace(state, voltage_v_per_m=state.voltage_v_per_m + common) for line, state in equal.items()}
    # Im(common/i) = (3e-3/100) sin(0.4 + 0, 2 pi/3, -2 pi/3), over the mean 2e-4
    angles = [math.sin(0.4 + turn) for turn in (0.0, 2 * math.pi / 3, -2 * math.pi / 3)]
    assert inequality(lifted) == pytest.approx(3e-5 * (max(angles) - min(angles)) / 2e-4, rel=1e-9)
    assert inequality_between_lines(lifted) == pytest.approx(0, abs=1e-12)
    assert sequence_drops(lifted) == pytest.approx(sequence_drops(equal), abs=1e-12)


@pytest.mark.parametrize(
    "quantity", [phase_inequality, phase_inequality_between_lines, negative_drop, drop_unbalance, common_ratio]
)
def test_errors_of_the_drops_move_no_number_further_than_its_error(quantity):
    rng = np.random.default_rng(7)
    base = states(1e-4 + 2.0e-4j, 1.2e-4 + 1.7e-4j, 0.7e-4 + 2.3e-4j)
    size = 2e-6  # 1e-4 of the drops: second order is far below the first
    known = tuple(replace(state, voltage_error_v_per_m=size) for state in base.values())
    number = quantity(known)["F1"]
    moved = []
    for _ in range(300):
        turns = size * np.exp(2j * np.pi * rng.random(3))
        other = [replace(s, voltage_v_per_m=s.voltage_v_per_m + complex(d)) for s, d in zip(known, turns, strict=True)]
        moved.append(abs(quantity(tuple(other))["F1"].value - number.value))
    # a bound, and none that is far too wide
    assert 0.25 * number.error < max(moved) <= number.error * (1 + 1e-3)


PLATE = """
[[trays]]
name = "T1"
profile = "plate"
rests_at = ["0 mm", "0 mm"]
width = "600 mm"
thickness = "2 mm"
material = "mild-steel"
"""


def reactances_over_a_plate(result: Result) -> list[float]:
    """Im(u/i) of each phase of line currents over an infinite plate like the study's, by its reflection. [ohm/m]

    The reflected potential of line j at line k is mu0/(2 pi) int rho(u) e^{-u (h_j + h_k)} cos(u (x_j - x_k)) du/u.
    """
    section = result.cross_section
    model = line_model(section)
    steel = next(part.material for part in section.parts if part.kind == "tray")
    x, h = model.axes.T
    mu = abs(complex(steel.relative_permeability))

    def reflected(u: float) -> Any:
        rho = complex(plate_waves(u, 2e-3, steel.conductivity, section.frequency, mu).reflection)
        return rho * (np.exp(-u * (h[:, None] + h)) * np.cos(u * (x[:, None] - x)) / u) @ model.currents

    drops, error = quad_vec(reflected, 1e-9, 40 / float(h.min()), epsrel=1e-9, limit=2000)
    assert error < 1e-5 * np.abs(drops).max()
    own = formula_phase_impedances(section, model, 1.0)
    z = own + 1j * section.frequency * mu_0 * drops / model.currents
    return [float(value) for value in z.imag]


def test_a_trefoil_on_steel_is_more_unequal_than_flat_by_a_common_drop_alone():
    """By the finite elements and by line currents over an infinite plate, which know nothing of each other."""
    found = {}
    for name, text in (
        ("flat", TRIPLE + PLATE),
        ("trefoil", TRIPLE.replace('"flat"\nspacing = "30 mm"', '"trefoil"') + PLATE),
    ):
        result = run(loads(text.replace('"5 %"', '"0.5 %"')))
        numbers = numbers_of(result)
        plate = reactances_over_a_plate(result)
        elements = [phase.z_ohm_per_m.imag for phase in result.phases if phase.z_ohm_per_m is not None]
        # line currents leave out that current crowds within conductors 2.3 mm above steel, some per cent of X
        assert elements == pytest.approx(plate, rel=0.05)
        keys = ("phase_inequality.F1", "phase_inequality_between_lines.F1")
        found[name] = [float(numbers[key].value or math.nan) for key in keys]
        by_plate = (max(plate) - min(plate)) / np.mean(plate)
        assert found[name][0] == pytest.approx(by_plate, abs=0.08)
    assert found["trefoil"][0] > 1.2 * found["flat"][0]
    assert found["trefoil"][1] < 0.5 * found["flat"][1]


def test_without_metal_nearby_a_trefoil_has_equal_phases():
    result = run(loads(TRIPLE.replace('"flat"\nspacing = "30 mm"', '"trefoil"')))
    number = numbers_of(result)["phase_inequality.F1"]
    assert 0 <= of(number.value) <= of(number.error) < 5e-3


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
    assert open_ended == Number(0.0, 0.0, None)


def test_measured_numbers_come_back_bit_for_bit(result):
    measured = measure(result)
    assert measured_from(measured.text()) == measured
