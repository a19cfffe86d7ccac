"""Inductance and impedance of parallel conductors: textbook examples and one formula against another."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.constants import mu_0

from studies.formulas.inductance import (
    STRAND_FACTORS,
    bundle_mean_radius,
    equivalent_spacing,
    mean_distance,
    positive_sequence_inductance,
    solid_mean_radius,
    strand_inductance,
    strand_mean_radius,
    two_wire_inductance,
    two_wire_proximity_factor,
    two_wire_skin_inductance,
)
from studies.formulas.line_impedance import line_impedances, line_voltages, parallel_currents, phase_impedance_matrix

FOOT = 0.3048
A = np.exp(2j * np.pi / 3)
BALANCED = np.array([1, A**2, A])
ROUNDING = 1e-11


def strand_positions(strands: int) -> tuple[NDArray[np.float64], float]:
    """Axes of wires of radius 1 in a hexagonal lay (or three in a triangle), and the radius around them."""
    if strands == 3:
        angle = 2 * np.pi * np.arange(3) / 3
        return 2 / np.sqrt(3) * np.stack((np.cos(angle), np.sin(angle)), axis=1), 1 + 2 / np.sqrt(3)
    layers = next(n for n in range(9) if 1 + 3 * n * (n + 1) == strands)
    # concentric rings of 6 n wires on circles of radius 2 n, as ropes are laid
    rings = [np.zeros((1, 2))]
    for n in range(1, layers + 1):
        angle = 2 * np.pi * np.arange(6 * n) / (6 * n)
        rings.append(2 * n * np.stack((np.cos(angle), np.sin(angle)), axis=1))
    return np.vstack(rings), 2.0 * layers + 1


def test_stevenson_example_3_4() -> None:
    # Stevenson, Elements of Power System Analysis, Ex. 3.4: inputs [C], printed result [M], further digits [D]
    spacing = equivalent_spacing(20 * FOOT, 20 * FOOT, 38 * FOOT)
    inductance = positive_sequence_inductance(spacing, 0.0373 * FOOT)
    assert spacing / FOOT == pytest.approx(24.8, abs=0.05)
    assert spacing / FOOT == pytest.approx(24.771, abs=0.0005)
    assert inductance == pytest.approx(13.00e-7, abs=0.005e-7)
    assert inductance == pytest.approx(12.9969e-7, abs=0.00005e-7)
    reactance = 2 * np.pi * 60 * inductance * 1609
    assert reactance == pytest.approx(0.788, abs=0.0005)
    assert reactance == pytest.approx(0.78836, abs=0.000005)
    inside = 2 * np.pi * 60 * 1609 * positive_sequence_inductance(FOOT, 0.0373 * FOOT)
    # Xa + Xd, the split at one foot; printed to three digits [M]
    assert inside == pytest.approx(0.399, abs=0.0005)
    assert reactance - inside == pytest.approx(0.389, abs=0.0006)  # difference of two rounded numbers


def test_stevenson_example_3_5_bundle() -> None:
    # Stevenson, Ex. 3.5: inputs [C], results recomputed [D]
    bundle = bundle_mean_radius([[0.0, 0.0], [0.45, 0.0]], 0.0466 * FOOT)
    spacing = equivalent_spacing(8, 8, 16)
    reactance = 2 * np.pi * 60 * positive_sequence_inductance(spacing, bundle)
    assert bundle == pytest.approx(0.080, abs=0.0005)
    assert spacing == pytest.approx(10.08, abs=0.005)
    assert reactance * 1000 == pytest.approx(0.365, abs=0.0005)
    assert reactance * 1000 == pytest.approx(0.36469, abs=0.000005)
    # 160 km on 345 kV and 100 MVA
    assert reactance * 160e3 / (345e3**2 / 100e6) == pytest.approx(0.049, abs=0.0005)


def test_kothari_nagrath_example_2_7_bundle() -> None:
    # Kothari and Nagrath, Modern Power System Analysis, Ex. 2.7 [C]
    phases = [np.array([[x, 0], [x + 0.4, 0]]) for x in (0, 7, 14)]
    ab, bc, ca = (mean_distance(phases[k], phases[(k + 1) % 3]) for k in range(3))
    bundle = bundle_mean_radius(phases[0], solid_mean_radius(0.01725))
    assert ab == pytest.approx(6.994, abs=0.0005)
    assert bc == pytest.approx(6.994, abs=0.0005)
    assert ca == pytest.approx(13.997, abs=0.0005)
    assert equivalent_spacing(ab, bc, ca) == pytest.approx(8.814, abs=0.0005)
    assert bundle == pytest.approx(0.073, abs=0.0005)
    for spacing in (equivalent_spacing(ab, bc, ca), equivalent_spacing(7, 7, 14)):
        assert 2 * np.pi * 50 * positive_sequence_inductance(spacing, bundle) * 1000 == pytest.approx(0.301, abs=0.0005)
    assert equivalent_spacing(7, 7, 14) == pytest.approx(8.81945, abs=0.000005)


def test_two_wire_example() -> None:
    # public notes, D 2 m, diameter 1.2 cm: 24.23e-7 H/m [C] (cut off, not rounded), 2.42366 mH/km [D]
    loop = two_wire_inductance(2.0, solid_mean_radius(0.006))
    assert loop == pytest.approx(24.23e-7, abs=0.01e-7)
    assert loop == pytest.approx(2.42366e-6, abs=0.000005e-6)


def test_unequal_three_phase_example() -> None:
    # public notes, diameter 1.24 cm, 2, 2.5 and 4.5 m: inputs [C], results [D]
    spacing = equivalent_spacing(2, 2.5, 4.5)
    assert spacing == pytest.approx(2.8231, abs=0.00005)
    assert positive_sequence_inductance(spacing, solid_mean_radius(0.0062)) == pytest.approx(1.274e-6, abs=0.0005e-6)


def test_low_voltage_reactance_convention_corresponds_to_its_spacing() -> None:
    # 0.08 ohm/km at 50 Hz, IEC 60364-5-52 Annex G [M]; s/r' = 3.572 [D]
    assert 100 * np.pi * positive_sequence_inductance(3.572, 1.0) == pytest.approx(0.08e-3, rel=0.5e-3 / 3.572)


def test_bundle_radii_of_regular_bundles() -> None:
    # public notes [C]: sqrt(r'd), (r'd^2)^(1/3), 1.091 (r'd^3)^(1/4); exact factor 2^(1/8)
    r, d = 0.01, 0.4
    square = np.array([[0, 0], [d, 0], [d, d], [0, d]])
    triangle = np.array([[0, 0], [d, 0], [d / 2, d * np.sqrt(0.75)]])
    assert bundle_mean_radius([[0, 0]], r) == pytest.approx(r, rel=ROUNDING)
    assert bundle_mean_radius(square[:2], r) == pytest.approx(np.sqrt(r * d), rel=ROUNDING)
    assert bundle_mean_radius(triangle, r) == pytest.approx(np.cbrt(r * d**2), rel=ROUNDING)
    assert bundle_mean_radius(square, r) == pytest.approx(2**0.125 * (r * d**3) ** 0.25, rel=ROUNDING)
    assert bundle_mean_radius(square, r) / (r * d**3) ** 0.25 == pytest.approx(1.0905, abs=0.00005)


@pytest.mark.parametrize("strands", sorted(STRAND_FACTORS))
def test_published_strand_factors_agree_with_the_mean_distances_of_the_wires(strands: int) -> None:
    # published factors [C] have three digits (0.07 %); 7 wires (0.724 for 0.7256) and 169 (0.779 for 0.7764) are
    # further off than that, which 0.4 % covers
    axes, radius = strand_positions(strands)
    exact = bundle_mean_radius(axes, solid_mean_radius(1.0)) / radius
    assert strand_mean_radius(1.0, strands) == pytest.approx(exact, rel=4e-3)
    known = {1: 0.7788, 3: 0.6778, 7: 0.7256}  # [D]
    if strands in known:
        assert exact == pytest.approx(known[strands], abs=0.00005)


@pytest.mark.parametrize(
    ("strands", "constant"), [(1, 0.0500), (3, 0.0778), (7, 0.0642), (19, 0.0554), (37, 0.0528), (61, 0.0514)]
)
def test_constant_of_the_cable_form(strands: int, constant: float) -> None:
    # common tables [M]; 0.0005 since a factor of three digits leaves 0.2*0.0005/0.7 and the tables use exact ones
    assert strand_inductance(strands) * 1e6 == pytest.approx(constant, abs=0.0005)


def test_cable_form_is_the_mean_radius_form_in_other_words() -> None:
    # cable makers' form K + (mu0/2 pi) ln(2 s/d) [C]
    diameter, spacing = 0.0185, 0.056
    for strands in STRAND_FACTORS:
        by_radius = positive_sequence_inductance(spacing, strand_mean_radius(diameter / 2, strands))
        by_diameter = strand_inductance(strands) + mu_0 / (2 * np.pi) * np.log(2 * spacing / diameter)
        assert by_diameter == pytest.approx(by_radius, rel=ROUNDING)


def test_equivalent_spacing_of_flat_formation() -> None:
    assert equivalent_spacing(0.056, 0.056, 0.112) / 0.056 == pytest.approx(1.26, abs=0.005)  # [C]


def test_unknown_strand_count_is_refused() -> None:
    with pytest.raises(ValueError, match="strands must be one of"):
        strand_mean_radius(0.01, 12)


def test_full_skin_effect_tends_to_the_external_inductance_far_apart() -> None:
    ratio = np.array([10.0, 20.0, 40.0])  # D/2a
    exact = two_wire_skin_inductance(2 * ratio, 1.0)
    gap = 4e-7 * np.log(2 * ratio) - exact
    # arccosh x = ln 2x - 1/(4 x^2) - ...; the bound is the next term
    assert gap * (ratio**2) / 4e-7 == pytest.approx([0.25] * 3, rel=0.005)


def test_proximity_factor_is_the_change_of_inductance_with_receding_surfaces() -> None:
    # incremental inductance rule: the resistance is in proportion to -dL/da, for two lone wires to mu0/(pi a)
    radius, step = 0.01, 1e-6
    for distance in (0.021, 0.03, 0.1):
        slope = (
            two_wire_skin_inductance(distance, radius - step) - two_wire_skin_inductance(distance, radius + step)
        ) / (2 * step)
        alone = 4e-7 / radius
        # central difference: (step/gap)^2 = 1e-6 at the closest
        assert two_wire_proximity_factor(distance, radius) == pytest.approx(slope / alone, rel=1e-5)


def test_line_formula_averaged_over_transposition_is_the_mean_distance_form() -> None:
    axes = np.array([[0, 0], [0.2, 0.05], [0.55, -0.1]])
    radius, ohms, f = 0.008, 1e-4, 50.0
    sections = [line_impedances(np.roll(axes, k, axis=0), BALANCED, radius, ohms, f) for k in range(3)]
    mean = np.mean(sections, axis=0)
    d12, d23, d31 = (np.linalg.norm(axes[k] - axes[(k + 1) % 3]) for k in range(3))
    reactance = 2 * np.pi * f * positive_sequence_inductance(equivalent_spacing(d12, d23, d31), radius)
    assert mean == pytest.approx(np.full(3, ohms + 1j * reactance), rel=ROUNDING)
    # the mean of the three phases of one section is the same, without transposition
    assert np.mean(sections[0]) == pytest.approx(ohms + 1j * reactance, rel=ROUNDING)
    # and the phases themselves do differ
    assert np.ptp(sections[0].imag) > 0.05 * reactance


def test_trefoil_gives_each_phase_the_mean_distance_form() -> None:
    axes = 0.05 * np.array([[0, 0], [1, 0], [0.5, np.sqrt(0.75)]])
    expected = 1e-4 + 100j * np.pi * positive_sequence_inductance(0.05, 0.008)
    assert line_impedances(axes, BALANCED, 0.008, 1e-4, 50) == pytest.approx(np.full(3, expected), rel=ROUNDING)


def test_flat_outer_phases_exchange_power() -> None:
    # [D]: real parts +-(w mu0/2 pi)(sqrt(3)/2) ln 2 for L1, L2, L3 at -s, 0, s
    axes = np.array([[-0.05, 0], [0, 0], [0.05, 0]])
    z = line_impedances(axes, BALANCED, 0.008, 1e-4, 50)
    step = 100 * np.pi * 2e-7 * np.sqrt(3) / 2 * np.log(2)
    assert z.real - 1e-4 == pytest.approx([step, 0, -step], rel=1e-9, abs=1e-15)
    # outer reactance: w (mu0/2 pi) [ln(s/r') + ln(2)/2]; middle ln(s/r')
    assert z.imag / (100 * np.pi * 2e-7) == pytest.approx(
        np.log(0.05 / 0.008) + np.array([0.5, 0, 0.5]) * np.log(2), rel=1e-9
    )


def test_two_conductors_give_the_loop_inductance() -> None:
    z = line_impedances([[0, 0], [2, 0]], [1, -1], 0.0047, 0.0, 50)
    assert np.sum(z.imag) == pytest.approx(100 * np.pi * two_wire_inductance(2.0, 0.0047), rel=ROUNDING)


def test_voltages_do_not_depend_on_the_reference_distance_when_balanced() -> None:
    rng = np.random.default_rng(5)
    axes = rng.uniform(-0.3, 0.3, (5, 2))
    currents = rng.normal(size=5) + 1j * rng.normal(size=5)
    currents -= np.mean(currents)
    voltages = line_voltages(axes, currents, 0.009, 2e-4, 50)
    for reference in (0.1, 1.0, 1e4):
        matrix = phase_impedance_matrix(axes, 0.009, 2e-4, 50, reference)
        assert matrix == pytest.approx(matrix.T, rel=ROUNDING)
        assert matrix @ currents == pytest.approx(voltages, rel=1e-9)
    # what the phases take in is what the resistances turn into heat
    assert np.sum(voltages * currents.conj()).real == pytest.approx(2e-4 * np.sum(np.abs(currents) ** 2), rel=1e-9)


def test_line_voltages_refuse_a_net_current() -> None:
    axes = np.array([[0, 0], [0.1, 0], [0.2, 0]])
    with pytest.raises(ValueError, match="currents must sum to zero"):
        line_voltages(axes, [1, 1, -1.9], 0.01, 0.0, 50)


def test_line_impedances_refuse_a_conductor_without_current() -> None:
    axes = np.array([[0, 0], [0.1, 0], [0.2, 0]])
    with pytest.raises(ValueError, match="number 2 is zero"):
        line_impedances(axes, [1, -1, 0], 0.01, 0.0, 50)
    assert np.isfinite(line_voltages(axes, [1, -1, 0], 0.01, 0.0, 50)[2])


def test_symmetric_bundles_share_equally_and_give_the_bundle_inductance() -> None:
    # three phases at the corners of a large triangle, each of three conductors turned with it: exact symmetry
    corners = 0.4 * np.exp(2j * np.pi * np.arange(3) / 3)
    local = 0.03 * np.exp(2j * np.pi * np.arange(3) / 3)
    where = np.array([c * (1 + offset / 0.4) for c in corners for offset in local])
    axes = np.stack((where.real, where.imag), axis=1)
    phases = np.repeat(np.arange(3), 3)
    matrix = phase_impedance_matrix(axes, 0.008, 1e-4, 50)
    shared = parallel_currents(matrix, phases, BALANCED)
    voltages = matrix @ shared
    for k in range(3):
        assert np.sum(shared[phases == k]) == pytest.approx(BALANCED[k], rel=ROUNDING)
        assert np.ptp(voltages[phases == k].real) + np.ptp(voltages[phases == k].imag) < 1e-15
    forced = BALANCED[phases] / 3
    spacing = mean_distance(axes[:3], axes[3:6])
    bundle = bundle_mean_radius(axes[:3], 0.008)
    mean_voltage = np.mean((matrix @ forced)[:3])
    expected = 1e-4 / 3 + 100j * np.pi * positive_sequence_inductance(spacing, bundle)
    assert mean_voltage == pytest.approx(expected, rel=1e-9)
    # equal sharing costs a little more than the sharing that the positions allow: least loss plus stored energy
    other = parallel_currents(phase_impedance_matrix(axes, 0.008, 1e-4, 50, 77.0), phases, BALANCED)
    assert other == pytest.approx(shared, rel=1e-9)


def test_two_parallel_conductors_share_by_their_loop() -> None:
    # phase 0 has conductors at 0.1 and 0.2 m from the return: closed form of two branches with mutual inductance
    axes, f, ohms, radius = np.array([[0.1, 0], [0.2, 0], [0, 0]]), 50.0, 1e-4, 0.008
    shared = parallel_currents(phase_impedance_matrix(axes, radius, ohms, f), [0, 0, 1], [1, -1])
    k = 2j * np.pi * f * 2e-7
    loop = 2 * ohms + 2 * k * np.log(0.1 / radius)
    drive = k * np.log(0.2 / 0.1)  # what the return induces in the loop of the two
    assert shared[0] == pytest.approx(0.5 + drive / loop, rel=1e-9)


def test_a_bundle_with_two_cables_in_one_place_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^axes: two of the positions are the same$"):
        bundle_mean_radius([[0.0, 0.0], [0.3, 0.0], [0.0, 0.0]], 0.01)
