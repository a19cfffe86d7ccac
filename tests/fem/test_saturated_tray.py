"""A tray over time: the phasor solve in the linear limit, and the default rule in the saturated one."""

import numpy as np
import pytest

from fem.curve_data import CURVES
from fem.field import FieldProbe
from fem.magnetisation import Steel
from fem.nonlinear import solve_saturating
from tests.fem.linear_curve import LinearCurve
from tests.fem.saturated_tray import FREQUENCY, materials, three_phase, tray, tray_loss
from tests.fem.time_domain import Section, steady_cycle

POINT = np.array([[1.5, 0.5]])  # [m]


def run(curve, current, fineness, steps, half_cycles, order):
    """Relative differences of loss, outside field and largest peak: effective over true, less 1."""
    found = solve_saturating(tray(fineness), materials(), FREQUENCY, three_phase(current), {"tray": Steel(curve)})
    nodal = found.fields.potential(found.drive.voltages)
    section = Section(found.fields, {"tray": curve}, found.drive.currents)
    true = steady_cycle(section, nodal, found.drive, steps, half_cycles, order)
    probe = FieldProbe(found.fields)
    fields = [np.linalg.norm(probe.flux_density(potential, POINT)) for potential in (nodal, true.fundamental)]
    assert true.mismatch < 2e-3  # the half cycles repeat
    return (
        tray_loss(found).joule / true.losses[-1] - 1,
        fields[0] / fields[1] - 1,
        found.triangle_peaks.max() / true.peaks.max() - 1,
    )


@pytest.mark.parametrize(("order", "steps"), [(2, (8, 16)), (3, (8, 16))])
def test_time_steps_tend_to_the_phasor_solve_in_the_linear_limit(order, steps):
    errors = np.array([run(LinearCurve(500.0), 400.0, 0.5, n, 2, order) for n in steps])
    loss, field, peak = np.abs(errors[-1])
    assert np.log2(abs(errors[0, 0] / errors[1, 0])) == pytest.approx(order, abs=0.6)  # stiff: see the plate
    assert loss < 0.01
    assert field < 1e-3
    assert peak < 0.02  # the peak is looked for at 16 instants of a half cycle: 1 - cos(pi/32) = 0.5 %


@pytest.mark.slow
def test_the_default_rule_in_a_saturated_tray():
    """Change detector: percent as measured at 1600 A with 24 steps, see fem.effective."""
    found = run(CURVES["benchmark-steel-curve"].curve, 1600.0, 0.6, 20, 3, 2)
    assert 100 * found[0] == pytest.approx(-2.5, abs=1.0)  # mesh and steps of this short run: 0.5 each
    assert 100 * found[1] == pytest.approx(-1.8, abs=0.5)
    assert abs(found[2]) < 0.05
