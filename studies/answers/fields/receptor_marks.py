"""Receptors on a map: markers and labels that say whether the field is within its limit."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from studies.answers.fields.rows import ReceptorResult
from studies.drawing.far_points import draw_arrow, is_inside
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import extent
from studies.drawing.style import ABOVE, UNLIMITED, WITHIN
from studies.section.cross_section import CrossSection
from studies.text.numbers import GAP, plain, quantity, stated
from studies.text.units import FLUX_DENSITY, common_unit

MARKERS = {True: ("o", WITHIN), False: ("^", ABOVE), None: ("s", UNLIMITED)}
"""Marker and colour by whether the field is within its limit; the shapes tell it without colour."""
MEANINGS = {True: "receptor within limit", False: "receptor above limit", None: "receptor without limit"}


def receptor_text(receptor: ReceptorResult) -> str:
    """Name, field and verdict of a receptor."""
    if receptor.limit_t is None:
        return f"{receptor.name}\n{quantity(receptor.b_rms_t, FLUX_DENSITY)}"
    if receptor.exposure_index is not None and len(receptor.spectrum) > 1:
        sign = "within" if receptor.within_limit else "above"
        value = quantity(receptor.b_rms_t, FLUX_DENSITY)
        return f"{receptor.name}\n{value}, index {plain(receptor.exposure_index, 2)}, {sign} 1"
    unit = common_unit([receptor.b_rms_t, receptor.limit_t], FLUX_DENSITY)  # one unit, to be compared at a glance
    value = f"{plain(unit.of(receptor.b_rms_t))}{GAP}{unit.symbol}"
    verdict = "within" if receptor.within_limit else "above"
    return f"{receptor.name}\n{value}, {verdict} {stated(receptor.limit_t, unit)}"


def draw_receptors(
    axes: Axes,
    placer: LabelPlacer,
    receptors: tuple[ReceptorResult, ...],
    section: CrossSection,
    text: Callable[[ReceptorResult], str] = receptor_text,
) -> None:
    """Receptors with their texts; those outside the axes as arrows at its border."""
    low, high = extent(section)
    origin = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    origin = (float(np.clip(origin[0], x0, x1)), float(np.clip(origin[1], y0, y1)))
    inside = [receptor for receptor in receptors if is_inside(axes, (receptor.x_m, receptor.y_m))]
    for receptor in inside:
        marker, colour = MARKERS[receptor.within_limit]
        axes.plot(
            *(receptor.x_m, receptor.y_m),
            marker=marker,
            color=colour,
            markersize=6.5,
            markeredgecolor="white",
            markeredgewidth=0.9,
            zorder=9,
        )
    placer.keep_free([(receptor.x_m, receptor.y_m) for receptor in inside], 4.5)
    for receptor in inside:
        placer.beside(text(receptor), (receptor.x_m, receptor.y_m), size=7.0)
    for receptor in receptors:
        if receptor not in inside:
            colour = MARKERS[receptor.within_limit][1]
            draw_arrow(axes, placer, origin, (receptor.x_m, receptor.y_m), text(receptor), colour)


def receptor_handles(receptors: tuple[ReceptorResult, ...]) -> list[Line2D]:
    """Legend entries of the kinds of receptors that occur."""
    kinds = [kind for kind in (True, False, None) if any(receptor.within_limit is kind for receptor in receptors)]
    return [
        Line2D([], [], linestyle="none", marker=MARKERS[kind][0], color=MARKERS[kind][1], label=MEANINGS[kind])
        for kind in kinds
    ]
