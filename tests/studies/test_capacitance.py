"""Capacitances of a study's cables: exact cases, hair gaps, and the formulas' ranges."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from studies.answers.charging.capacitance import (
    FINITE_ELEMENT,
    INSIDE_SCREEN,
    SHARES,
    Capacitances,
    capacitances,
    charging,
    current_deviation,
    floor_height,
    vanishing_gap,
)
from studies.answers.charging.electrodes import bodies, solve_bodies
from studies.data.permittivities import DIELECTRICS, Dielectric, Dielectrics
from studies.formulas.capacitance import coaxial_capacitance
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.study.reading import loads

HEAD = """
title = "Charging"
frequency = "50 Hz"
[cables.plain]
conductor = { material = "copper", area = "240 mm^2", temperature = "90 degC" }
insulation = "2.2 mm"
jacket = "1.9 mm"
[cables.screened]
conductor = { material = "copper", area = "240 mm^2", temperature = "90 degC" }
insulation = "6 mm"
screen = { material = "copper", thickness = "0.2 mm" }
jacket = "2.2 mm"
"""
CIRCUIT = """
[[circuits]]
name = "{name}"
cable = "{cable}"
arrangement = "positions"
positions = {positions}
phases = ["L1", "L2", "L3"]
current = "400 A"
"""
TRAY = """
[[trays]]
name = "T"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "aluminium-5052"
"""
AIR = Dielectric("air", 1.0, "definition")
LV = {"F1": Dielectrics(DIELECTRICS["XLPE"], DIELECTRICS["PVC"])}
BARE = {"F1": Dielectrics(AIR, AIR)}
OUTER = (240e-6 / np.pi) ** 0.5 + 4.1e-3  # [m]
CORE = (240e-6 / np.pi) ** 0.5  # [m]


def circuit(axes: Sequence[tuple[float, float]], cable: str = "plain", name: str = "F1") -> str:
    places = "[" + ", ".join(f'["{float(x)!r} m", "{float(y)!r} m"]' for x, y in axes) + "]"
    return CIRCUIT.format(name=name, cable=cable, positions=places)


def section_of(*pieces: str) -> CrossSection:
    return cross_section(loads(HEAD + "".join(pieces)))


RESTING = [(-0.06, OUTER), (0.0, OUTER), (0.06, OUTER)]
TREFOIL = [(-0.05, 0.5), (0.05, 0.5), (0.0, 0.5 + 0.05 * 3**0.5)]


@pytest.fixture(scope="module")
def on_tray() -> tuple[CrossSection, Capacitances]:
    section = section_of(circuit(RESTING), TRAY)
    return section, capacitances(section, LV, fineness=(0.75, 1.0))


def test_screened_cables_have_the_coaxial_capacitance_and_nothing_else() -> None:
    section = section_of(circuit([(-0.06, 0.02), (0.0, 0.02), (0.06, 0.02)], "screened"), TRAY)
    found = capacitances(section, LV)
    exact = coaxial_capacitance(2 * CORE, 2 * (CORE + 6e-3), 2.5)
    # the finite elements of the ring hold the exact formula to what their own estimate says, a few 1e-5
    assert np.all(np.abs(np.diag(found.matrix) - float(exact)) <= np.diag(found.error))
    assert np.all(np.diag(found.error) < 1e-3 * float(exact))
    assert np.all(np.diag(found.error) > 0)
    assert np.count_nonzero(found.matrix) == 3
    assert found.methods == (INSIDE_SCREEN,) * 3
    phases = charging(section, found, LV, {"F1": 11e3})
    assert current_deviation([phase.current for phase in phases]) < 1e-12
    for phase in phases:
        assert phase.capacitance == pytest.approx(float(exact), rel=1e-3)
        assert abs(phase.capacitance - float(exact)) > 1e-9 * float(exact)  # a solve of its own, not the formula
        # w C U/sqrt3 of the same capacitance, rounding only
        assert abs(phase.current) == pytest.approx(2 * np.pi * 50 * phase.capacitance * 11e3 / 3**0.5, rel=1e-12)
        assert phase.formulas == {"coaxial": pytest.approx(float(exact))}


def test_bare_wires_far_apart_have_the_gmd_capacitance() -> None:
    section = section_of(circuit([(-0.5, 0.5), (0.5, 0.5), (0.0, 0.5 + 0.5 * 3**0.5)]))
    found = capacitances(section, BARE)
    phases = charging(section, found, BARE, {"F1": 400.0})
    for phase in phases:
        # permittivity 1 makes the jacket air; at 114 radii the charges move aside by (r/D)^2, 1e-4
        assert phase.capacitance == pytest.approx(phase.formulas["GMD, bare in air"], rel=3e-4)
        assert phase.capacitance == pytest.approx(phase.formulas["line charges in air"], rel=3e-4)
        assert phase.error < 1e-3 * abs(phase.current)
        # a circuit without metal: the currents lead the voltages by 90 degrees in an equilateral layout
        assert (phase.current / 1j).imag == pytest.approx(
            abs(phase.current) * np.sin({"L1": 0, "L2": -2 * np.pi / 3, "L3": 2 * np.pi / 3}[phase.phase]),
            abs=1e-3 * abs(phase.current),
        )


def test_insulated_cables_apart_are_line_charges_in_series_with_their_insulation() -> None:
    section = section_of(circuit([(-0.25, 0.5), (0.25, 0.5), (0.0, 0.5 + 0.25 * 3**0.5)]))
    phases = charging(section, capacitances(section, LV), LV, {"F1": 400.0})
    for phase in phases:
        # 39 outer radii apart: of the order of (R/D)^2 = 7e-4
        assert phase.capacitance == pytest.approx(phase.formulas["line charges in air"], rel=2e-3)


def test_maxwell_matrix_of_cables_on_a_tray(on_tray: tuple[CrossSection, Capacitances]) -> None:
    section, found = on_tray
    c = found.matrix
    assert np.abs(c - c.T).max() < 1e-12 * c.max()
    assert np.all(c[~np.eye(3, dtype=bool)] < 0)
    assert np.all(c.sum(axis=1) > 0)  # each cable has a capacitance to the tray
    assert c[0, 0] == pytest.approx(c[2, 2], rel=1e-3)  # mirror symmetry, the mesh of the air is not quite symmetric
    assert found.methods == (FINITE_ELEMENT,) * 3
    assert set(found.shrunk) == {"F1.1", "F1.2", "F1.3"}
    assert floor_height(section, section.cables) == pytest.approx(0.0, abs=1e-9)
    phases = charging(section, found, LV, {"F1": 400.0})
    # the middle cable is screened by its neighbours, which are at other potentials: it takes the most
    middle = [abs(phase.current) for phase in phases]
    assert middle[1] > max(middle[0], middle[2])
    # line charges know nothing of a cable that rests on the floor
    for phase in phases:
        assert phase.capacitance > 1.3 * phase.formulas["line charges over the floor"]
        assert phase.capacitance > 3 * phase.formulas["line charges in air"]


def test_extrapolated_gaps_hold_against_narrower_ones(on_tray: tuple[CrossSection, Capacitances]) -> None:
    section, found = on_tray
    # gaps of a sixteenth and an eighth of the narrowest, and a straight line through them: another way to the limit
    narrow, narrower = (solve_bodies(bodies(section, LV, SHARES[0] / n), 1.0).capacitance for n in (8, 16))
    best = 2 * narrower - narrow
    assert np.all(np.abs(found.matrix - best) < found.error + 1e-4 * best.max())
    # the estimate is no more than what was asked of an ordinary study, a tenth of 0.5 %
    assert found.error.max() < 2e-3 * best.max()
    # what an ordinary gap does without the extrapolation is far more than the error that is left
    plain = solve_bodies(bodies(section, LV, SHARES[1]), 1.0).capacitance
    assert np.abs(plain - best).max() > 20 * np.abs(found.matrix - best).max()


def test_limit_of_a_vanishing_gap_is_that_of_a_round_contact() -> None:
    # int dx/(d + g + x^2/R) = pi sqrt(R/(d + g)), and a part that does not feel the gap
    def exact(gap: float) -> float:
        return float(np.pi * np.sqrt(10.0 / (1.0 + gap)) + 3.0)

    limit, left = vanishing_gap(SHARES, np.array([exact(share) for share in SHARES]))
    assert limit == pytest.approx(exact(0.0), rel=1e-12)  # straight in x, so that nothing is left but rounding
    assert left < 1e-12
    # a gap between planes over all of the surface, 1/(d + g), is the other extreme; it is no straight line in x
    planes = np.array([1 / (1 + share) for share in SHARES])
    limit, left = vanishing_gap(SHARES, planes)
    assert abs(limit - 1) <= left
    assert left < 0.01


def test_error_from_two_meshes_covers_a_finer_one(on_tray: tuple[CrossSection, Capacitances]) -> None:
    section, found = on_tray
    same = bodies(section, LV, SHARES[1])
    coarse, fine = (solve_bodies(same, fineness).capacitance for fineness in (1.0, 2.0))
    assert np.abs(coarse - fine).max() < 2 * found.mesh_error.max()
    assert found.mesh_error.max() < 1e-3 * found.matrix.max()


def test_jacket_is_a_layer_of_its_own() -> None:
    section = section_of(circuit(TREFOIL))
    same = {"F1": Dielectrics(DIELECTRICS["XLPE"], Dielectric("like XLPE", 2.5, "test"))}
    single = bodies(section, same, SHARES[1])
    assert not single.joints
    near = {"F1": Dielectrics(DIELECTRICS["XLPE"], Dielectric("nearly XLPE", 2.5 * (1 + 1e-9), "test"))}
    split = bodies(section, near, SHARES[1])
    assert len(split.joints) == 3
    # two layers of one permittivity are one layer: only the meshes differ
    one, two = (solve_bodies(solids, 1.0).capacitance for solids in (single, split))
    assert two == pytest.approx(one, rel=1e-3, abs=1e-4 * one.max())


def test_a_screened_circuit_beside_is_metal_at_earth() -> None:
    apart = section_of(circuit(TREFOIL))
    beside = section_of(circuit(TREFOIL), circuit([(0.12, 0.5), (0.16, 0.5), (0.2, 0.5)], "screened", "F2"))
    materials = {**LV, "F2": LV["F1"]}
    alone, together = capacitances(apart, LV), capacitances(beside, materials)
    assert np.all(together.matrix[:3, 3:] == 0)
    # earthed metal nearby adds to the capacitance to earth of the nearest cable, and takes from that between cables
    assert together.matrix[1, 1] > alone.matrix[1, 1] * 1.02
    assert -together.matrix[0, 1] < -alone.matrix[0, 1]
    phases = charging(beside, together, materials, {"F1": 400.0})
    assert [phase.circuit for phase in phases] == ["F1"] * 3


def test_impossible_requests_are_refused() -> None:
    section = section_of(circuit(TREFOIL))
    with pytest.raises(ValueError, match="no permittivities"):
        capacitances(section, {})
    found = Capacitances(section.cables, (FINITE_ELEMENT,) * 3, np.eye(3), np.zeros((3, 3)), np.zeros((3, 3)), ())
    with pytest.raises(ValueError, match="no circuits F9"):
        charging(section, found, LV, {"F9": 400.0})
    with pytest.raises(ValueError, match="share"):
        bodies(section, LV, 0.0)
    with pytest.raises(ValueError, match="1 or above"):
        Dielectric("vacuum and less", 0.5, "none")
