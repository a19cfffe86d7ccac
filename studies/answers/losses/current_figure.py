"""How the current spreads over the conductors: skin and proximity effect made visible."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from fem.arrays import Floats
from geometry.shapes import Disc
from studies.answers.answers import Answers
from studies.answers.element_fields import NodalField, current_densities_of
from studies.answers.figure_names import at_own_frequency, shown_conductors
from studies.drawing.colour_scales import bar_axes
from studies.drawing.style import INK, Margins, magnitude_colours, styled, titled, to_scale
from studies.section.parts import StudyPart
from studies.text.numbers import with_unit
from studies.text.units import CURRENT, CURRENT_DENSITY

MILLIMETRES = 1e3
NOTHING = 1e-6
"""Currents below this are rounding. [A]"""
MOST_IN_A_ROW = 6
SMALLEST_ROW = 3
"""Columns of the grid of conductors, at most and at least."""
LEAST_RANGE = 0.9
"""The scale reaches down to this share of the largest density at least, so that hardly any spread looks like it. [-]"""
TALLEST_GRID = 5.6
"""Largest height of the drawing. [in]"""
CELL = 1.24
ROW = 1.62
"""Width and height of a place in the grid over the largest conductor's diameter. [-]"""


@styled
def draw_current_density(result: Answers) -> Figure:
    """Magnitude of the current density of every conductor, all to one scale, side by side in their order.

    Circuits without any current at the study's own frequency are left out.
    """
    conductors = shown_conductors(result) or result.cross_section.conductors()
    fields = current_densities_of(result, [part.name for part in conductors])
    peak = max(float(field.values.max()) for field in fields)
    least = min(LEAST_RANGE * peak, *(float(field.values.min()) for field in fields))
    unit = CURRENT_DENSITY
    diameter = 2 * max(_disc(part).radius for part in conductors) * MILLIMETRES
    columns = _columns(len(conductors))
    rows = math.ceil(len(conductors) / columns)
    window = (0.0, 0.0), (columns * CELL * diameter, rows * ROW * diameter)
    figure, axes = to_scale(window, Margins(left=0.15, right=1.0, bottom=0.12), tallest=TALLEST_GRID)
    norm = Normalize(least / unit.size, peak / unit.size if peak > least else least / unit.size + 1.0)
    indent = max(columns - len(conductors), 0) / 2  # one or two stand in the middle
    numbers = np.arange(len(conductors))
    across, down = indent + numbers % columns + 0.5, numbers // columns + 0.42
    places = np.column_stack([across * CELL * diameter, window[1][1] - down * ROW * diameter])
    _draw_discs(axes, conductors, fields, places, norm, unit.size)
    for part, place in zip(conductors, places.tolist(), strict=True):
        _name(axes, result, part, place, diameter)
    axes.set_xlim(window[0][0], window[1][0])
    axes.set_ylim(window[0][1], window[1][1])
    axes.set_axis_off()
    titled(axes, f"Current density over each conductor, all to one scale{at_own_frequency(result)}")
    bar = figure.colorbar(ScalarMappable(norm, magnitude_colours()), cax=bar_axes(figure, axes))
    bar.set_label(f"current density, rms ({unit.symbol})")
    return figure


def _columns(count: int) -> int:
    """Columns that fill the last row best: 3 for 3, 6 for 6 and more."""
    if count <= MOST_IN_A_ROW:
        return max(count, SMALLEST_ROW)
    return MOST_IN_A_ROW if count <= 24 else 2 * MOST_IN_A_ROW


def _draw_discs(
    axes: Axes, parts: Sequence[StudyPart], fields: list[NodalField], places: Floats, norm: Normalize, size: float
) -> None:
    """All conductors at places (n, 2) [mm] as one mesh, which takes a tenth of the time of one each."""
    pairs = list(zip(parts, fields, places, strict=True))
    starts = np.cumsum([0, *(len(field.points) for field in fields)])
    joined = NodalField(
        np.vstack([field.points - _disc(part).centre + place / MILLIMETRES for part, field, place in pairs]),
        np.vstack([field.triangles + start for field, start in zip(fields, starts, strict=False)]),
        np.concatenate([field.values for field in fields]),
    )
    axes.tripcolor(
        joined.triangulation(MILLIMETRES),
        joined.values / size,
        shading="gouraud",
        cmap=magnitude_colours(),
        norm=norm,
        rasterized=True,
        zorder=2,
    )
    angle = np.linspace(0, 2 * np.pi, 129)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    outlines = [place + _disc(part).radius * MILLIMETRES * circle for part, place in zip(parts, places, strict=True)]
    axes.add_collection(LineCollection(outlines, colors=INK, linewidths=0.6, zorder=3))


def _name(axes: Axes, result: Answers, part: StudyPart, place: Sequence[float], diameter: float) -> None:
    assert part.cable is not None
    current = complex(result.drive.currents[result.fields.part_names.index(part.name)])
    small = len(result.cross_section.cables) > 24
    size = abs(current) if abs(current) > NOTHING else 0.0
    text = f"{part.cable.label} {part.cable.phase}\n{with_unit(size, CURRENT)}"
    axes.text(
        *(place[0], place[1] - 0.56 * diameter), text, ha="center", va="top", fontsize=4.5 if small else 7.0, zorder=4
    )


def _disc(part: StudyPart) -> Disc:
    assert isinstance(part.shape, Disc)
    return part.shape
