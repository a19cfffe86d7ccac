"""Short-circuit forces: action and reaction, line currents, the standard's factors, and the offset."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from fem.force import current_forces
from fem.force_pairs import pair_forces
from fem.ties import drive
from studies.answers.faults.currents import ShortCircuit, fault_of
from studies.answers.faults.forces import FaultForces, fault_forces
from studies.answers.faults.steel import fault_fields
from studies.answers.faults.waves import AlternatingForces, OffsetForces, mixed_forces
from studies.formulas.forces import FLAT_MIDDLE_FACTOR_EXACT, FLAT_OUTER_FACTOR_EXACT, TREFOIL_FACTOR_EXACT, peak_factor
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.solve.two_meshes import solve_pair
from studies.study.phases import LINES
from studies.study.reading import loads
from tests.studies.fault_in_time import alternating_forces, currents_in_time, forces_in_time

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
{more}
"""
TRAY = """
[[trays]]
name = "T"
profile = "channel"
rests_at = ["0 mm", "-13 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "{material}"
"""
PEAK = 40e3  # [A]
UNIT = 2e-7 * PEAK**2  # mu0 ip^2/(2 pi) [N]


def section_of(axes: Sequence[tuple[float, float]], more: str = "", phases: Sequence[str] = LINES) -> CrossSection:
    places = "[" + ", ".join(f'["{float(x)!r} m", "{float(y)!r} m"]' for x, y in axes) + "]"
    labels = str(list(phases)).replace("'", '"')
    return cross_section(loads(STUDY.format(positions=places, phases=labels, more=more)))


def flat(spacing: float) -> list[tuple[float, float]]:
    return [(-spacing, 0.0), (0.0, 0.0), (spacing, 0.0)]


def trefoil(spacing: float) -> list[tuple[float, float]]:
    return [(-spacing / 2, 0.0), (spacing / 2, 0.0), (0.0, spacing * 0.75**0.5)]


def forces_of(section: CrossSection, fault: ShortCircuit, fineness: tuple[float, float] = (0.75, 1.0)) -> FaultForces:
    return fault_forces(section, fault, fault_fields(section, solve_pair(section, fineness=fineness)))


FINE = (2.0, 3.0)
"""Far from the others a conductor's own field is many times theirs, and the mesh must let it cancel: 8e-5 is left."""


THREE = ShortCircuit("F1", LINES, PEAK, 0.1)
TWO = ShortCircuit("F1", ("L1", "L2"), PEAK, 0.1)


@pytest.fixture(scope="module")
def wide() -> FaultForces:
    return forces_of(section_of(flat(0.3)), THREE, FINE)


@pytest.fixture(scope="module")
def close() -> FaultForces:
    return forces_of(section_of(trefoil(0.03)), THREE)


def test_flat_formation_has_the_standards_factors(wide: FaultForces) -> None:
    exact = [FLAT_OUTER_FACTOR_EXACT, FLAT_MIDDLE_FACTOR_EXACT, FLAT_OUTER_FACTOR_EXACT]
    for one, factor in zip(wide.cables, exact, strict=True):
        # at 34 radii proximity changes the force by the order of (a/D)^2 = 1e-3; 1e-4 of the mesh at most
        assert one.alternating.magnitude == pytest.approx(factor * UNIT / 0.3, rel=1e-3)
        assert one.alternating.magnitude == pytest.approx(one.line_force, rel=1e-3)
        # the coarser of the two meshes misses 1e-3, and the estimate is twice the change
        assert one.alternating_error < 4e-3 * one.alternating.magnitude
    assert [one.standard for one in wide.cables] == ["flat, outer", "flat, middle", "flat, outer"]
    # the printed factors 0.16 and 0.17 are 1 % and 1.9 % below the exact ones [D]
    assert wide.cables[0].standard_force == pytest.approx(0.16 * 40**2 / 0.3, rel=1e-6)
    assert wide.cables[1].standard_force == pytest.approx(0.17 * 40**2 / 0.3, rel=1e-6)
    # an outer cable is pushed away from the middle one
    assert wide.cables[0].alternating.force[0] < 0 < wide.cables[2].alternating.force[0]


def test_outer_force_swings_between_the_derived_extremes(wide: FaultForces) -> None:
    # time form of an outer conductor [D]: +0.0116 towards the middle and -0.1616 away, of ip^2/S in kA and m
    force = wide.alternating.at(np.linspace(0, np.pi, 721))[:, 0, 0]
    scaled = force * 0.3 / 40**2
    assert scaled.max() == pytest.approx(0.0116, abs=5e-5 + 2e-4)  # half the last digit, and the proximity effect
    assert scaled.min() == pytest.approx(-0.1616, abs=5e-5 + 2e-4)


def test_trefoil_has_the_standards_factor_within_the_proximity_effect(close: FaultForces) -> None:
    for one in close.cables:
        assert one.standard == "trefoil"
        # axes 3.4 radii apart: the currents shift, by a per cent or so of the force
        assert one.alternating.magnitude == pytest.approx(TREFOIL_FACTOR_EXACT * UNIT / 0.03, rel=0.03)
        assert one.standard_force == pytest.approx(0.17 * 40**2 / 0.03, rel=1e-6)
    # symmetry: three equal forces
    magnitudes = [one.alternating.magnitude for one in close.cables]
    assert np.ptp(magnitudes) < 2e-3 * magnitudes[0]


@pytest.mark.slow
def test_errors_cover_what_finer_meshes_take_off() -> None:
    section = section_of(flat(0.3))
    coarse, fine = (forces_of(section, TWO, fineness) for fineness in ((1.0, 1.5), FINE))
    for rough, good in zip(coarse.cables, fine.cables, strict=True):
        assert abs(rough.alternating.magnitude - good.alternating.magnitude) < rough.alternating_error
        assert abs(rough.offset.magnitude - good.offset.magnitude) < rough.offset_error


def test_two_conductors_push_apart_as_the_law_of_ampere_says() -> None:
    found = forces_of(section_of(flat(0.3)), TWO, FINE)
    assert [one.cable.phase for one in found.cables] == ["L1", "L2"]
    for one, sign in zip(found.cables, (-1, 1), strict=True):
        assert one.standard == "two conductors"
        assert one.standard_force == pytest.approx(0.2 * 40**2 / 0.3, rel=1e-6)
        assert one.alternating.force[0] * sign == pytest.approx(UNIT / 0.3, rel=1e-3)
        # the peak is one current's with its return: with the offset too the largest current is ip
        assert one.offset.magnitude == pytest.approx(one.alternating.magnitude, rel=1e-3)


@pytest.mark.parametrize("material", ["", "aluminium-5052"])
def test_action_and_reaction_cancel(material: str, close: FaultForces) -> None:
    found = forces_of(section_of(flat(0.05), TRAY.format(material=material)), THREE) if material else close
    # cables and tray together feel no force: what is left is the error of the mesh, 1e-4 seen
    assert found.balance is not None
    assert found.balance < 1e-3


def test_steel_draws_the_cables_and_leaves_no_balance() -> None:
    steel = forces_of(section_of(flat(0.05), TRAY.format(material="mild-steel")), THREE)
    aluminium = forces_of(section_of(flat(0.05), TRAY.format(material="aluminium-5052")), THREE)
    assert steel.balance is None
    # means: steel below pulls each cable down, eddy currents in aluminium push them up together
    assert all(one.mean[1] < 0 for one in steel.cables)
    assert sum(one.mean[1] for one in aluminium.cables) > 0
    assert any("more than steel can" in caution for caution in steel.cautions)
    assert not any("more than steel can" in caution for caution in aluminium.cautions)


def test_offset_forces_of_line_currents_are_those_of_the_currents_in_time(wide: FaultForces) -> None:
    times = np.linspace(0.0, 0.03, 61)
    for inception in (0.0, 0.7, 2.0):
        i = currents_in_time(THREE, 50.0, times, float(inception))
        assert i[0] == pytest.approx(np.zeros(3), abs=1e-9 * PEAK)
        middle = 2e-7 * i[:, 1] * (i[:, 2] - i[:, 0]) / 0.3  # pulled to either side
        outer = 2e-7 * i[:, 0] * (i[:, 1] + i[:, 2] / 2) / 0.3
        forces = wide.offset.at(2 * np.pi * 50 * times, inception)
        scale = UNIT / 0.3
        assert forces[:, 1, 0] == pytest.approx(middle, abs=2e-3 * scale)
        assert forces[:, 0, 0] == pytest.approx(outer, abs=2e-3 * scale)
        assert np.abs(forces[:, :, 1]).max() < 1e-3 * scale


def test_no_current_exceeds_the_stated_peak() -> None:
    times = np.linspace(0.0, 0.03, 601)
    peaks = [np.abs(currents_in_time(THREE, 50.0, times, psi)).max() for psi in np.linspace(0, np.pi, 181)]
    assert max(peaks) == pytest.approx(PEAK, rel=1e-4)  # steps of 1 degree
    assert max(peaks) <= PEAK * (1 + 1e-4)


def test_without_resistance_the_offset_stays_and_doubles_the_crest() -> None:
    fault = fault_of("F1", 10e3, 0.0)
    assert fault.largest_factor() == pytest.approx(2.0, rel=1e-4)  # one step of a degree beside the crest
    assert fault.peak_current == pytest.approx(2 * np.sqrt(2) * 10e3, rel=1e-12)  # kappa of IEC 60909 is 2 as well
    late = currents_in_time(fault, 50.0, np.array([1.01, 100.01]), 0.0)
    assert late[1] == pytest.approx(late[0], abs=1e-6 * fault.peak_current)


@pytest.mark.parametrize("ratio", [0.05, 0.1, 0.2, 0.3, 0.5, 1.0])
def test_factor_of_the_standard_is_near_the_exact_one(ratio: float) -> None:
    fault, standard_factor = fault_of("F1", 10e3, ratio), float(peak_factor(ratio))
    # kappa of IEC 60909 is rounded up a little; it stays within 2 % of the exact maximum
    assert standard_factor == pytest.approx(fault.largest_factor(), rel=0.02)
    assert standard_factor > fault.largest_factor() * 0.99
    assert fault.peak_current == pytest.approx(standard_factor * np.sqrt(2) * 10e3, rel=1e-12)


@pytest.mark.parametrize("material", ["aluminium-5052", "mild-steel"])
def test_sum_of_two_fields_holds_against_time_steps_from_rest(material: str) -> None:
    section = section_of(flat(0.05), TRAY.format(material=material))
    pair = solve_pair(section, fineness=(0.5, 0.75))
    found = fault_forces(section, THREE, fault_fields(section, pair))
    fields, step = pair.now, 0.02 / 200
    times = np.linspace(step, 0.02, 200)
    for k, one in enumerate(found.cables):
        inception = one.offset.inception
        given = np.zeros((len(times), len(fields.part_names)))
        parts = [fields.part_names.index(f"F1.{n}.conductor") for n in (1, 2, 3)]
        given[:, parts] = currents_in_time(THREE, 50.0, times, inception)
        exact = np.linalg.norm(forces_in_time(fields, given, step)[:, parts[k]], axis=1).max()
        # eddy currents that begin at rest and those of the decay are left out: up to 1.5 % seen, always too low
        assert one.offset.magnitude == pytest.approx(exact, rel=0.025)


def test_pair_forces_of_one_solution_are_its_current_forces() -> None:
    section = section_of(flat(0.05), TRAY.format(material="aluminium-5052"))
    fields = solve_pair(section, fineness=(0.5, 0.75)).now
    voltages = drive(fields.admittance, fields.part_names, section.ties).voltages
    own, once = pair_forces(fields, voltages, fields, voltages), current_forces(fields, voltages)
    largest = np.abs(once.mean).max()
    assert own.conjugate.real == pytest.approx(once.mean, rel=1e-12, abs=1e-12 * largest)  # rounding
    assert own.plain == pytest.approx(once.double, rel=1e-12, abs=1e-12 * largest)
    # bilinear: twice the first and three times the second
    many = pair_forces(fields, 2 * voltages, fields, 3 * voltages)
    assert many.plain == pytest.approx(6 * own.plain, rel=1e-12, abs=1e-11 * largest)
    # an offset that is the alternating solution's own begins at no force
    bodies = np.eye(len(fields.part_names))
    both = mixed_forces((fields, voltages), (fields, voltages)).of_offset(bodies, 0.1)
    assert np.abs(both.at(np.array([0.0]), 0.9)).max() < 1e-9 * largest
    late = both.at(np.array([400.0]), 0.9)[0]  # the offset has died away
    steady = alternating_forces(fields, voltages, bodies).at(np.array([400.9]))[0]
    assert late == pytest.approx(steady, abs=1e-9 * largest)
    other = solve_pair(section, fineness=(0.6, 0.9)).now
    with pytest.raises(ValueError, match="one mesh"):
        pair_forces(fields, voltages, other, voltages)


def test_parallel_cables_and_odd_formations_have_no_value_of_the_standard() -> None:
    six = section_of([(0.05 * k, 0.0) for k in range(6)], phases=("L1", "L2", "L3", "L1", "L2", "L3"))
    found = forces_of(six, THREE)
    assert len(found.cables) == 6
    assert all(one.standard_force is None and "parallel" in one.standard for one in found.cables)
    odd = forces_of(section_of([(0.0, 0.0), (0.05, 0.0), (0.2, 0.0)]), THREE)
    assert all(one.standard_force is None for one in odd.cables)
    assert all(one.line_force > 0 for one in odd.cables)


def test_impossible_faults_are_refused() -> None:
    with pytest.raises(ValueError, match="all three or two"):
        ShortCircuit("F1", ("L1",), PEAK, 0.1)
    with pytest.raises(ValueError, match="all three or two"):
        ShortCircuit("F1", ("L1", "N"), PEAK, 0.1)
    with pytest.raises(ValueError, match="peak_current"):
        ShortCircuit("F1", LINES, -1.0, 0.1)
    with pytest.raises(ValueError, match="resistance_over_reactance"):
        ShortCircuit("F1", LINES, PEAK, -0.1)
    with pytest.raises(ValueError, match="there is no F9 L1"):
        forces_of(section_of(flat(0.1)), ShortCircuit("F9", LINES, PEAK, 0.1))


def test_peaks_are_the_largest_of_all_times() -> None:
    rng = np.random.default_rng(1)
    mean, double = rng.normal(size=(4, 2)), rng.normal(size=(4, 2)) + 1j * rng.normal(size=(4, 2))
    waves = AlternatingForces(mean, double)
    fine = np.linalg.norm(waves.at(np.linspace(0, np.pi, 100001)), axis=2).max(axis=0)
    assert [peak.magnitude for peak in waves.peaks()] == pytest.approx(fine, rel=2e-4)  # half-degree steps
    none = np.zeros((4, 2), dtype=np.complex128)
    offset = OffsetForces(mean, double, none, none, np.zeros((4, 2)), none, 0.1)
    # climbed crests miss 1e-6 of each; the reference's own steps 1e-9
    assert [peak.magnitude for peak in offset.peaks()] == pytest.approx(fine, rel=2e-6)


def test_crests_with_offset_are_those_of_a_dense_search(close: FaultForces) -> None:
    angles = np.linspace(0.0, 3 * np.pi, 1081)  # half-degree steps
    sizes = [np.linalg.norm(close.offset.at(angles, psi), axis=2).max(axis=0) for psi in np.pi * np.arange(360) / 360]
    for k, (peak, dense) in enumerate(zip(close.offset.peaks(), np.max(sizes, axis=0), strict=True)):
        # steps of half a degree hide (w dt)^2 = 8e-5 of a crest of twice the frequency at most, and never add to it
        assert dense <= peak.magnitude * (1 + 1e-9)
        assert peak.magnitude == pytest.approx(dense, rel=8e-5)
        at_peak = close.offset.at(np.array([peak.angle]), peak.inception)[0, k]
        assert at_peak == pytest.approx(np.array(peak.force), rel=1e-9)
