"""What a study decides: phase orders, the route, charging current and fault forces, from the file to the result."""

import math
from pathlib import Path

import pytest

import studies

EXAMPLES = Path(studies.__file__).parent / "examples"


@pytest.fixture(scope="module")
def route():
    return studies.run(studies.load(EXAMPLES / "route_and_fault.toml"))


def test_the_best_order_of_twelve_cables_is_proved_and_confirmed_by_a_full_solve():
    found = studies.run(studies.load(EXAMPLES / "twelve_cables_order.toml")).order_search
    assert found is not None
    # 12 cables of three phases in groups of four; turning all phases of a balanced circuit changes nothing
    assert found.possible == found.tried == math.factorial(12) // math.factorial(4) ** 3 // 3
    assert found.proved
    assert found.best[0].value <= found.best[1].value <= found.today.value
    # linear steel and the same mesh: the full solve is the same algebra, rounding apart
    assert found.confirmed_difference < 1e-9
    assert sorted(found.best[0].phases["F1"]) == sorted(found.today.phases["F1"])


def circuit_of(result):
    assert result.route is not None
    return result.route.circuits[0]


def test_phases_turned_at_each_third_make_the_run_circulant(route):
    circuit = circuit_of(route)
    z = circuit.phase_impedance_ohm
    scale = abs(z[0][0])
    for row in range(3):
        for column in range(3):
            assert abs(z[row][column] - z[(row + 1) % 3][(column + 1) % 3]) < 1e-12 * scale
    assert circuit.z21_over_z11 < 1e-12
    assert circuit.v2_over_v1 < 1e-12


def test_the_run_is_as_long_as_its_sections_and_drops_z1_times_the_current(route):
    assert route.route.length_m == 180.0
    circuit = circuit_of(route)
    # balanced currents in a circulant run see the positive-sequence impedance alone
    assert circuit.mean_drop_v == pytest.approx(abs(circuit.z1_ohm) * 320.0, rel=1e-12)
    per_metre = route.sequence_impedance[0].z1_ohm_per_m
    assert abs(circuit.z1_ohm / 180.0 - per_metre) < 1e-9 * abs(per_metre)


def test_no_transposition_leaves_the_unbalance_and_two_take_it_away(route):
    rows = {entry.transpositions: entry for entry in circuit_of(route).transpositions}
    assert rows[0].v2_over_v1 > rows[1].v2_over_v1 > 1e-4
    assert rows[1].v2_over_v1 == pytest.approx(rows[0].v2_over_v1 / 2, rel=0.02)  # half the way cancels half of it
    assert rows[2].v2_over_v1 < 1e-12
    assert rows[5].v2_over_v1 < 1e-12


def test_charging_current_follows_from_capacitance_and_phase_voltage(route):
    for entry in route.charging:
        expected = 2 * math.pi * 50 * entry.capacitance_f_per_m * 400 / math.sqrt(3)
        # the capacitance is the charge in phase with the voltage; neighbours add a little across it
        assert 1 - 1e-9 <= entry.charging_current_a_per_m / expected < 1.01
        # a resting cable is closer to earth than a line charge at its axis: more than over the floor without dielectric
        assert entry.capacitance_f_per_m > entry.formulas_f_per_m["line charges over the floor"]
    outer = [entry.capacitance_f_per_m for entry in route.charging if entry.phase != "L2"]
    assert outer[0] == pytest.approx(outer[1], rel=2e-3)  # mirror images; gmsh's mesh is not symmetric


def test_fault_forces_stand_beside_the_standard_and_push_the_outer_cables_apart(route):
    three = [entry for entry in route.faults if "three" in entry.fault]
    kappa = 1.02 + 0.98 * math.exp(-0.9)  # IEC 60909, R/X = 0.3
    assert three[0].peak_current_a == pytest.approx(kappa * math.sqrt(2) * 22e3, rel=1e-9)
    spacing = 2 * 2 * (math.sqrt(240e-6 / math.pi) + 3.5e-3)  # one clear diameter
    middle = next(entry for entry in three if entry.phase == "L2")
    # IEC 61914 prints 0.17 of ip^2/S, ip in kA
    assert middle.standard_force_n_per_m == pytest.approx(
        170 * (three[0].peak_current_a / 1e3) ** 2 / spacing / 1e3, rel=1e-6
    )
    left, right = three[0], three[2]
    assert left.fx_n_per_m < 0 < right.fx_n_per_m
    for entry in three:  # aluminium floor and proximity move the force by some tens of per cent, not by its size
        assert 0.6 < entry.peak_force_n_per_m / entry.line_force_n_per_m < 1.6
