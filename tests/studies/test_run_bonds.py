"""Parallel cables, screens and bonds in a run, against line currents."""

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.formulas.line_impedance import parallel_currents, phase_impedance_matrix
from studies.result import Result
from tests.studies.test_run import OMEGA, RADIUS, TRAY, axes_of, circuit, flat, line_values, receptor, solved

# --- parallel cables ----------------------------------------------------------------------------------------------


def test_parallel_cables_share_a_voltage_and_sum_to_the_current_of_their_phase():
    result = solved(circuit(flat(30), phases="L1 L1 L2 L2 L3 L3"), TRAY)
    for phase in result.phases:
        own = [part for part in result.parts if part.phase == phase.phase]
        assert len(own) == 2
        assert own[0].voltage_v_per_m == own[1].voltage_v_per_m == phase.voltage_v_per_m
        assert sum(part.current_a for part in own) == pytest.approx(phase.current_a, rel=1e-9)  # algebra, rounding
        assert sum(part.share_of_phase or 0.0 for part in own) >= 2 - 1e-9  # magnitudes of phasors that sum to it
    assert max(part.share_of_phase for part in result.parts if part.share_of_phase) > 1.05  # and they are unequal


def test_parallel_cables_share_as_the_line_impedances_say_at_wide_spacing():
    phases = "L1 L2 L3 L3 L1 L2"
    result = solved(circuit(flat(200), phases=phases))
    matrix = phase_impedance_matrix(axes_of(result), **line_values(result))
    labels = [("L1", "L2", "L3").index(label) for label in phases.split()]
    exact = parallel_currents(matrix, labels, [phase.current_a for phase in result.phases])
    found = np.array([part.current_a for part in result.parts])
    # the proximity effect changes impedances by 0.3 (a/s)^2 = 0.06 % at most, as above; sharing hangs on their
    # differences, which are a few times smaller than the impedances
    assert found == pytest.approx(exact, abs=0.002 * 400)
    assert np.abs(exact / 200).max() > 1.02  # sharing is unequal, so that equal shares would not pass


# --- screens and bonds --------------------------------------------------------------------------------------------

BOND = '\n[[bonds]]\nparts = ["F1 screens"]\n'
BOND_WITH_TRAY = '\n[[bonds]]\nparts = ["F1 screens", "T1"]\n'


def screens(result: Result):
    return [part for part in result.parts if part.kind == "screen"]


def test_open_screens_carry_nothing_and_have_the_standing_voltage_of_the_line_formula():
    result = solved(circuit(flat(112), cable="screened"))
    mean_radius = RADIUS + 1.8e-3
    axes = axes_of(result)
    currents = np.array([part.current_a for part in result.parts if part.kind == "conductor"])
    for k, screen in enumerate(screens(result)):
        assert screen.current_a == 0
        assert screen.r_ac_ohm_per_m is None
        distance = np.linalg.norm(axes - axes[k], axis=1)
        distance[k] = mean_radius
        # flux of all lines linked with a tube of that radius, IEC 60287-1-1's X = 2 w 1e-7 ln(2 s/d) term by term
        exact = -1j * OMEGA * mu_0 / (2 * np.pi) * np.log(distance) @ currents
        # the displaced current of the neighbour, of order (a/s)^2 = 0.6 % of its share
        assert screen.voltage_v_per_m == pytest.approx(exact, abs=0.006 * abs(exact))


@pytest.mark.parametrize("tray", [False, True])
def test_bonded_screens_carry_currents_that_sum_to_zero_and_share_a_voltage(tray):
    blocks = (TRAY, BOND_WITH_TRAY) if tray else (BOND,)
    result = solved(circuit(flat(56), cable="screened"), *blocks)
    bonded = [part for part in result.parts if part.kind != "conductor"]
    assert len(bonded) == 4 if tray else 3
    assert abs(sum(part.current_a for part in bonded)) < 1e-9 * 400  # algebra, rounding
    assert len({part.voltage_v_per_m for part in bonded}) == 1
    assert min(abs(part.current_a) for part in screens(result)) > 20  # and they do carry currents
    for part in screens(result):
        assert part.r_ac_ohm_per_m >= part.r_dc_ohm_per_m  # eddy currents on top of the net current only add loss


def test_bonded_screens_carry_the_currents_of_lines_at_wide_spacing():
    result = solved(circuit(flat(224), cable="screened"), BOND)
    values = line_values(result)
    axes = np.repeat(axes_of(result), 2, axis=0)
    screen = screens(result)[0]
    mean_radius = RADIUS + 1.8e-3
    radii = np.tile([values["mean_radii"], mean_radius], 3)
    ohms = np.tile([values["resistances"], screen.r_dc_ohm_per_m], 3)
    # a conductor and the screen around it have no distance: give that of the screen's mean radius
    spread = np.linalg.norm(axes[:, None] - axes, axis=2)
    spread[spread == 0] = mean_radius
    spread[np.diag_indices(6)] = radii
    matrix = np.diag(ohms) - 1j * OMEGA * mu_0 / (2 * np.pi) * np.log(spread)
    given = [phase.current_a for phase in result.phases]
    exact = parallel_currents(matrix, [0, 3, 1, 3, 2, 3], [*given, 0.0])
    found = np.array([part.current_a for part in result.parts])
    # a screen of 0.2 mm is thin against its radius (its own mean radius is off by t/3 = 0.07 mm of 10.5 mm, 0.7 % of
    # what is 1/ln(s/r) = 1/3 of its reactance); proximity is (a/s)^2 = 0.15 %
    assert found == pytest.approx(exact, abs=0.005 * 400)
    assert np.abs(exact[1::2]).min() > 40  # ten per cent of the phase current: far above the tolerance


def test_bonding_the_screens_lowers_the_field_and_costs_loss():
    open_ = solved(circuit(flat(56), cable="screened"), receptor(1.5, 0.5))
    bonded = solved(circuit(flat(56), cable="screened"), BOND, receptor(1.5, 0.5))
    a, b = open_.receptors[0], bonded.receptors[0]
    # a thin screen of 1.4 mohm/m carries little of the 60 uohm/m that drive it: a few per mille, beyond the errors
    assert b.b_rms_t + b.b_rms_error_t < a.b_rms_t - a.b_rms_error_t
    assert bonded.loss_total("screen") > 3 * open_.loss_total("screen")
