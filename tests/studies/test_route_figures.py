"""Figures of routes and of short-circuit forces: what they show is what was computed."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.collections import PatchCollection
from matplotlib.figure import Figure
from matplotlib.text import Annotation

from studies.answers.faults.figure import ALTERNATING, FORCE_PER_LENGTH, OFFSET, draw_force_arrows
from studies.answers.faults.forces import FaultForces, fault_forces
from studies.answers.faults.steel import fault_fields
from studies.answers.route.figure import FieldsAlong, draw_route
from studies.answers.route.profile import fields_along, standing_voltages
from studies.report.figures import png, svg
from studies.section.lines import RunSection, route_of
from studies.section.turning import turned
from studies.solve.two_meshes import solve_pair
from studies.study.phases import LINES
from studies.text.numbers import with_unit
from tests.studies.test_fault_forces import THREE, TRAY, flat, section_of
from tests.studies.test_route import FLAT, SOLID, line_maps

SECTION = section_of(flat(0.05), TRAY.format(material="aluminium-5052"))


def texts(figure: Figure) -> list[str]:
    return [text.get_text() for axes in figure.axes for text in axes.texts]


@pytest.fixture(scope="module")
def forces() -> FaultForces:
    return fault_forces(SECTION, THREE, fault_fields(SECTION, solve_pair(SECTION, fineness=(0.5, 0.75))))


@pytest.mark.parametrize("kind", [ALTERNATING, OFFSET])
def test_arrows_are_to_one_scale_and_carry_their_values(forces: FaultForces, kind: str) -> None:
    figure = draw_force_arrows(SECTION, forces, kind)
    axes = figure.axes[0]
    peaks = [one.offset if kind == OFFSET else one.alternating for one in forces.cables]
    arrows = [text for text in axes.texts if isinstance(text, Annotation) and text.get_text() == ""]
    assert len(arrows) == 3
    scales = []
    for arrow, one, peak in zip(arrows, forces.cables, peaks, strict=True):
        start, tip = np.array(arrow.get_position()), np.array(arrow.xy)
        assert start == pytest.approx(np.array(one.cable.axis) * 1e3, abs=1e-9)
        scales.append((tip - start) / np.array(peak.force))
    assert np.array(scales) == pytest.approx(np.full((3, 2), scales[0][0]), rel=1e-9)
    for peak in peaks:
        assert any(text.endswith(with_unit(peak.magnitude, FORCE_PER_LENGTH)) for text in texts(figure))
    # the path of a force passes through its greatest value
    lines = [line.get_xydata() for line in axes.lines if np.size(line.get_xdata()) > 100]
    for path, arrow in zip(lines, arrows, strict=True):
        assert np.linalg.norm(np.asarray(path) - np.array(arrow.xy), axis=1).min() < 1e-6 * 50
    assert any(isinstance(one, PatchCollection) for one in axes.collections)
    assert png(figure) == png(draw_force_arrows(SECTION, forces, kind))


def test_an_unknown_kind_of_force_is_refused(forces: FaultForces) -> None:
    with pytest.raises(ValueError, match="kind"):
        draw_force_arrows(SECTION, forces, "worst")


def test_route_shows_phases_voltages_and_fields() -> None:
    maps = line_maps(FLAT, layers=("screen",))
    currents = {("F1", phase): 400 * np.exp(-2j * np.pi / 3 * k) for k, phase in enumerate(LINES)}
    run_sections = [RunSection(100.0, maps, {"F1": turned(LINES, k)}, {("F1", "screen"): -k}) for k in range(3)]
    route = route_of(run_sections, currents, SOLID)
    profile = standing_voltages(route)
    fields = np.array([field for field in fields_along(route) if field is not None])
    figure = draw_route(run_sections, "F1", [profile], FieldsAlong(("desk", "lab"), fields, (9e-6, None)))
    strip, volts, field = figure.axes
    assert len(strip.patches) == 9
    # the phases by section, then the names of the sections, which have none here
    assert [text.get_text() for text in strip.texts if text.get_text()] == [
        p for k in range(3) for p in turned(LINES, k)
    ]
    largest, where, _ = profile.largest()
    drawn = np.concatenate([np.asarray(line.get_ydata(), dtype=float) for line in volts.lines[:3]])
    assert drawn.max() == pytest.approx(largest, rel=1e-12)
    assert any(text.startswith(f"{largest:.3g}") for text in texts(figure))
    assert 0 < where < 300
    assert len([line for line in field.lines if line.get_label() in ("desk", "lab")]) == 2
    assert field.get_xlabel() == "distance along the run (m)"
    assert b"<svg" in svg(figure)
    assert len(draw_route(run_sections, "F1").axes) == 1
