"""Maps in a wide window: no crowd at the cables, no empty corners, a label for each limit; and the limit distances."""

import dataclasses
import re

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.contour import QuadContourSet
from matplotlib.image import AxesImage
from matplotlib.text import Text

from fem.field import FieldProbe
from fem.polarisation import resultant
from studies.answers.fields.close_figure import draw_field_close
from studies.answers.fields.formula_map_figure import draw_formula_map
from studies.answers.fields.map_figure import LABELLED, SEEN, draw_field_map
from studies.answers.limits.figure import draw_limit_distances
from studies.drawing.cross_section import draw_cross_section
from studies.drawing.solids import inside_solids
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from tests.studies.feeder import TRAY, TREFOIL, accuracy
from tests.studies.figure_studies import label_boxes

pytestmark = pytest.mark.usefixtures("fine_map")

HEAD = (
    TREFOIL
    + """
[[receptors]]
name = "bench"
at = ["2 m", "0.4 m"]
limit = "200 uT"
"""
    + accuracy("5 %")
)
MAP = """
[map]
window = [["-6 m", "-5 m"], ["6 m", "5 m"]]
"""
CONDUIT = """
[[trays]]
name = "K1"
profile = "conduit"
rests_at = ["0 mm", "0 mm"]
inside_diameter = "120 mm"
thickness = "2 mm"
material = "mild-steel"
"""


@pytest.fixture(scope="module")
def wide():
    return run(loads(HEAD + TRAY + MAP))


@pytest.fixture(scope="module")
def alone():
    return run(loads(HEAD))


def texts(figure):
    return [text.get_text() for text in figure.axes[0].texts if text.get_text()]


def test_contours_too_small_to_be_lines_are_left_out_and_short_ones_not_labelled(wide):
    figure = draw_formula_map(wide)
    axes = figure.axes[0]
    lines = [child for child in axes.get_children() if isinstance(child, LineCollection)]
    levels = [level for level in (-20, -10, -5, -1, 1, 5, 10, 20) if len(lines) == 8 or abs(level) != 10]
    assert len(lines) == len(levels)
    shown = texts(figure)
    for level, line in zip(levels, lines, strict=True):
        pieces = [axes.transData.transform(piece) for piece in line.get_segments()]
        sizes = [np.hypot(*np.ptp(piece, axis=0)) / figure.dpi for piece in pieces]
        assert min(sizes, default=SEEN) >= SEEN
        label = f"{'+' if level > 0 else '−'}{abs(level):g} %"
        assert label not in shown or max(sizes) >= LABELLED
    assert sum(" %" in text and "bench" not in text for text in shown) < 3  # six stood on each other before


@pytest.mark.parametrize("share", [0.5, 0.7, 0.8])
def test_contours_have_their_values_and_no_label_lies_across_a_limit(share, wide):
    receptor = wide.receptors[0]
    beside = dataclasses.replace(receptor, limit_t=share * receptor.b_rms_t, within_limit=False)
    figure = draw_field_map(dataclasses.replace(wide, receptors=(beside,)))
    axes = figure.axes[0]
    limits = [piece for child in axes.get_children() if isinstance(child, QuadContourSet) for piece in child.allsegs[0]]
    points = axes.transData.transform(np.concatenate(limits))
    numbers = [text for text, _ in label_boxes(figure) if re.fullmatch(r"[125]0*|0\.0*[125]", text)]
    assert len(numbers) >= 2
    assert all(text.get_bbox_patch() is not None for text in axes.texts if text.get_text())  # thin lines end there
    for text, box in label_boxes(figure):
        if "\n" in text:  # of a receptor
            inside = (points > [box.x0, box.y0]) & (points < [box.x1, box.y1])
            assert not inside.all(axis=1).any(), text


def test_each_receptor_has_its_own_difference_of_the_formula(wide):
    receptor = wide.receptors[0]
    difference = 100 * (receptor.line_formula_b_rms_t / receptor.b_rms_t - 1)
    label = next(text for text in texts(draw_formula_map(wide)) if text.startswith("bench"))
    # two digits at the least
    assert float(label.split("\n")[1].removesuffix(" %").replace("−", "-")) == pytest.approx(difference, rel=0.05)


def test_no_contour_of_the_formula_runs_through_a_solid(wide):
    window = wide.map
    points = np.stack(np.meshgrid(window.x_m, window.y_m), axis=-1).reshape(-1, 2)
    inside = inside_solids(wide.cross_section, points)
    axis = np.array(wide.cross_section.cables[0].axis)
    assert not np.any(inside[np.linalg.norm(points, axis=1) > 0.2])
    assert inside_solids(
        wide.cross_section, np.array([axis, [0.0, -0.00075], [0.0, 0.09], [0.15075, 0.05]])
    ).tolist() == [
        True,
        True,
        False,
        True,
    ]


def test_a_contour_as_small_as_its_cables_still_has_its_label(wide):
    shown = texts(draw_field_map(wide))
    assert "200 µT bench".replace(" ", "\u202f", 1) in shown


def test_the_scale_of_a_map_is_in_the_unit_of_the_places_asked_about(wide):
    assert draw_field_map(wide).axes[1].get_ylabel() == "flux density, rms (µT)"


def test_the_close_up_has_no_empty_corner_where_the_round_mesh_ends(alone):
    figure = draw_field_close(alone)
    axes = figure.axes[0]
    image = next(child for child in axes.get_children() if isinstance(child, AxesImage))
    values: np.ndarray = np.ma.filled(np.ma.asarray(image.get_array()), np.nan)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    mesh = alone.fields.mesh
    corner = np.array([x0 + (x1 - x0) / 600, y1 - (y1 - y0) / 600]) / 1e3
    assert np.linalg.norm(corner - mesh.circle_centre) > mesh.circle_radius  # else this test says nothing
    nodal = alone.fields.potential(alone.drive.voltages)
    expected = resultant(FieldProbe(alone.fields).flux_density(nodal, corner[None]))[0]
    assert values[-1, 0] == pytest.approx(expected, rel=1e-9)
    assert np.isnan(values[150, 150])  # the middle is drawn from the elements


def test_a_wide_map_has_the_accuracy_of_receptors(wide):
    points = np.stack(np.meshgrid(wide.map.x_m, wide.map.y_m), axis=-1).reshape(-1, 2)
    mesh = wide.fields.mesh
    within = np.flatnonzero(np.linalg.norm(points - mesh.circle_centre, axis=1) < mesh.circle_radius)
    assert len(within) > 10
    probe, nodal = FieldProbe(wide.fields), wide.fields.potential(wide.drive.voltages)
    expected = resultant(probe.flux_density(nodal, points[within]))
    assert wide.map.b_rms_t.ravel()[within] == pytest.approx(expected, rel=1e-12)
    assert np.abs(resultant(probe.flux_density_raw(nodal, points[within])) / expected - 1).max() > 1e-3  # slopes step


def test_a_far_form_that_is_not_drawn_is_not_in_the_legend(wide):
    without = dataclasses.replace(
        wide,
        limit_distances=tuple(dataclasses.replace(row, far_form_from_centre_m=None) for row in wide.limit_distances),
    )
    labels = [[text.get_text() for text in draw_limit_distances(r).legends[0].texts] for r in (wide, without)]
    assert len(labels[0]) == 2
    assert labels[1] == labels[0][:1]


def test_titles_of_limit_distances_stay_on_the_page(wide):
    rows = wide.limit_distances
    names = tuple(dataclasses.replace(row, of=("magnetic resonance scanner of the laboratory",)) for row in rows)
    others = tuple(dataclasses.replace(row, limit_t=1e-4) for row in names)
    figure = draw_limit_distances(dataclasses.replace(wide, limit_distances=names + others))
    figure.canvas.draw()
    for axes in figure.axes:
        title = next(
            child for child in axes.get_children() if isinstance(child, Text) and "all round" in child.get_text()
        )
        assert title.get_window_extent().x1 <= figure.bbox.x1


def test_a_conduit_has_one_diameter():
    study = loads(HEAD.replace('"0 mm", "0 mm"', '"0 mm", "8 mm"') + CONDUIT)
    shown = texts(draw_cross_section(study, cross_section(study)))
    assert sum("124 mm" in text for text in shown) == 1
