"""The closed-form formulas beside the results, against their own definitions written out."""

import numpy as np
import pytest
from scipy.constants import mu_0

from studies.closed_forms.lines import (
    SKIN_AND_PROXIMITY,
    SKIN_ONLY,
    formula_field,
    formula_phase_impedances,
    formula_sequence_inductance,
    formula_sequence_resistance,
    line_model,
    phase_index,
)
from studies.section.cross_section import cross_section
from studies.study.reading import loads

OMEGA = 2 * np.pi * 50.0
RADIUS = np.sqrt(240e-6 / np.pi)
GMR = RADIUS * np.exp(-0.25)
HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.plain]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"
"""


def circuit(name="F1", x=0.0, spacing=56.0, phases="L1 L2 L3", current='"400 A"', arrangement="flat"):
    labels = ", ".join(f'"{label}"' for label in phases.split())
    stated = f'spacing = "{spacing} mm"\n' if spacing else ""
    return f"""
[[circuits]]
name = "{name}"
cable = "plain"
arrangement = "{arrangement}"
{stated}rests_at = ["{x} mm", "0 mm"]
phases = [{labels}]
current = {current}
"""


def modelled(*blocks):
    section = cross_section(loads(HEAD + "".join(blocks)))
    return section, line_model(section)


def test_currents_are_shared_equally_in_the_order_of_the_cables():
    _, model = modelled(circuit(spacing=30, phases="L1 L2 L3 N L3 L2 L1"))
    a = np.exp(2j * np.pi / 3)
    assert model.currents == pytest.approx(200 * np.array([1, a**2, a, 0, a, a**2, 1]), abs=1e-9)
    assert model.phase_of.tolist() == [0, 1, 2, 3, 2, 1, 0]
    assert model.axes[:, 0] == pytest.approx(0.03 * np.arange(-3, 4))


def test_the_field_of_the_lines_is_that_of_a_balanced_row():
    _, model = modelled(circuit())
    height = model.axes[0, 1]
    points = np.array([[1.5, height], [0.0, height + 0.7]])
    found = np.linalg.norm(formula_field(model, points), axis=1)
    r = np.array([1.5, 0.7])
    outer = np.array([(1.5 - 0.056) * (1.5 + 0.056), 0.7**2 + 0.056**2])
    # B = (mu0 I s/2 pi) sqrt(3 r^2 + s^2)/(r r1 r2), exact for line currents [D]; rounding
    assert found == pytest.approx(mu_0 * 400 * 0.056 / (2 * np.pi) * np.sqrt(3 * r**2 + 0.056**2) / (r * outer))


def test_the_field_on_an_axis_is_infinite_and_spoils_no_other_point():
    _, model = modelled(circuit())
    points = np.vstack([model.axes, [[1.0, 1.0]]])
    found = formula_field(model, points)
    assert np.all(np.isinf(found[:3]))
    assert found[3] == pytest.approx(formula_field(model, points[3:])[0], rel=1e-12)


def test_flat_phases_have_their_own_distances():
    section, model = modelled(circuit())
    z = formula_phase_impedances(section, model, 1000.0)
    r = model.resistances
    s, k = 0.056, OMEGA * mu_0 / (2 * np.pi)
    # u/i from ln(1/r') and the distances s, s, 2 s; the real parts exchange (sqrt(3)/2) ln 2 [D]
    outer = k * np.log(s * np.sqrt(2) / GMR)
    assert z.imag == pytest.approx([outer, k * np.log(s / GMR), outer], rel=1e-9)
    assert z.real - r == pytest.approx([k * np.sqrt(3) / 2 * np.log(2), 0, -k * np.sqrt(3) / 2 * np.log(2)], abs=1e-15)
    assert formula_phase_impedances(section, model, 10.0) == pytest.approx(z, rel=1e-9)  # balanced: no matter where


def test_a_phase_without_current_has_no_impedance():
    section, model = modelled(circuit(phases="L1 L2 L3 N"))
    z = formula_phase_impedances(section, model, 1000.0)
    assert np.isnan(z[3])
    assert np.all(np.isfinite(z[:3]))


def test_go_and_return_have_the_impedance_of_a_two_wire_line():
    section, model = modelled(circuit(phases="L1 N", spacing=100))
    z = formula_phase_impedances(section, model, 1000.0)
    # half the loop: (mu0/2 pi) ln(D/r') each
    assert z.imag == pytest.approx([OMEGA * mu_0 / (2 * np.pi) * np.log(0.1 / GMR)] * 2, rel=1e-9)
    assert formula_sequence_inductance(section, model, "F1") is None


def test_the_averaged_inductance_is_that_of_gmd_over_gmr():
    section, model = modelled(circuit(), circuit("F2", x=500, spacing=0, arrangement="trefoil"))
    flat, trefoil = (formula_sequence_inductance(section, model, name) for name in ("F1", "F2"))
    assert flat == pytest.approx(2e-7 * np.log(0.056 * 2 ** (1 / 3) / GMR), rel=1e-6)  # mu0 is 4 pi 1e-7 to 1e-10
    assert trefoil == pytest.approx(2e-7 * np.log(2 * (RADIUS + 3.5e-3) / GMR), rel=1e-6)
    assert formula_sequence_inductance(section, model, "F3") is None


def test_the_averaged_inductance_of_bundles_has_the_means_between_and_in_them():
    section, model = modelled(circuit(phases="L1 L2 L3 L1 L2 L3", spacing=30))
    x = model.axes[:, 0]
    pairs = [(0, 3), (1, 4), (2, 5)]
    between = [
        np.prod([abs(x[i] - x[j]) for i in pairs[a] for j in pairs[b]]) ** (1 / 4) for a, b in ((0, 1), (1, 2), (2, 0))
    ]
    gmd, gmr = np.prod(between) ** (1 / 3), np.sqrt(GMR * 0.09)
    assert formula_sequence_inductance(section, model, "F1") == pytest.approx(2e-7 * np.log(gmd / gmr), rel=1e-6)
    assert formula_sequence_resistance(section, model, "F1") == pytest.approx(model.resistances[0] / 2, rel=1e-12)


def test_three_cables_get_the_proximity_factor_and_others_skin_effect_alone():
    _, model = modelled(circuit(), circuit("F2", x=800, phases="L1 L2 L3 N"), circuit("F3", x=1600, phases="L1 L2"))
    assert model.methods == (SKIN_AND_PROXIMITY,) * 3 + (SKIN_ONLY,) * 6
    dc = 0.0754e-3 * (1 + 0.00393 * 50)  # IEC 60228:2004 class 2 at 70 degC [C]
    x = 8 * np.pi * 50 * 1e-7 / dc  # IEC 60287-1-1: xs^2 [C]
    skin = x**2 / (192 + 0.8 * x**2)
    f, ratio = x**2 / (192 + 0.8 * x**2), 2 * RADIUS / 0.056
    proximity = f * ratio**2 * (0.312 * ratio**2 + 1.18 / (f + 0.27))
    assert model.resistances[:3] == pytest.approx([dc * (1 + skin + proximity)] * 3, rel=1e-9)
    assert model.resistances[3:] == pytest.approx([dc * (1 + skin)] * 6, rel=1e-9)


def test_phases_are_found_by_circuit_and_label():
    section, _ = modelled(circuit(), circuit("F2", x=500, phases="N L1 L2 L3"))
    assert phase_index(section, "F1", "L3") == 2
    assert phase_index(section, "F2", "L3") == 6
    assert phase_index(section, "F2", "PE") is None
    assert phase_index(section, "F3", "L1") is None
