"""A run section by section: which phase lies where, voltages of the screens, and the field at the receptors."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from fem.mesh import Floats
from studies.figures.engineering import FLUX_DENSITY, common_unit, plain
from studies.figures.style import COMPUTED, INK, PHASES, QUIET, new_figure, reads_dark, styled
from studies.route.lines import Stage
from studies.route.profile import Profile

ROW = 0.21
"""Height of a position in the strip of phases. [in]"""
PANEL = 1.55
"""Height of a diagram. [in]"""
TOP, BETWEEN, BOTTOM, LEFT, RIGHT = 0.32, 0.2, 0.5, 0.72, 0.95
"""Room about the panels. [in]"""
DASHES = ("solid", (0, (5, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)))
NARROWEST = 14.0
"""Narrowest section in which the phase is written. [pt]"""


@styled
def draw_route(
    stages: Sequence[Stage],
    circuit: str,
    voltages: Profile | None = None,
    fields: Sequence[Floats | None] | None = None,
    receptors: Sequence[str] = (),
) -> Figure:
    """Figure of a run over its length.

    Parameters
    ----------
    stages : sequence of Stage
        The sections.
    circuit : str
        The circuit whose phases are shown.
    voltages : Profile, optional
        Voltages of its screens.
    fields : sequence of ndarray (r,) or None, optional
        Field at the receptors by section. [T]
    receptors : sequence of str
        Their names.
    """
    orders = [tuple(stage.orders.get(circuit, stage.maps.labels(circuit))) for stage in stages]
    ends = np.concatenate([[0.0], np.cumsum([stage.length for stage in stages])])
    heights = [ROW * max(len(order) for order in orders)]
    heights += [PANEL] * ((voltages is not None) + (fields is not None))
    total = TOP + sum(heights) + BETWEEN * (len(heights) - 1) + BOTTOM
    figure = new_figure(total)
    page = float(figure.get_size_inches()[0])
    panels: list[Axes] = []
    top = total - TOP
    for height in heights:
        box = (LEFT / page, (top - height) / total, (page - LEFT - RIGHT) / page, height / total)
        panels.append(figure.add_axes(box))
        top -= height + BETWEEN
    for panel in panels:
        panel.set_xlim(0, ends[-1])
        panel.tick_params(labelbottom=panel is panels[-1])
    panels[-1].set_xlabel("distance along the run (m)")
    _strip(panels[0], orders, ends)
    panels[0].set_title(f"{circuit}: phases by position, {len(stages)} sections")
    rest = panels[1:]
    if voltages is not None:
        _voltages(rest[0], voltages, ends)
    if fields is not None:
        _fields(rest[-1], fields, receptors, ends)
    return figure


def _strip(axes: Axes, orders: Sequence[tuple[str, ...]], ends: Floats) -> None:
    count = max(len(order) for order in orders)
    points = axes.get_window_extent().width / axes.figure.dpi * 72 / float(ends[-1])
    for order, start, end in zip(orders, ends, ends[1:], strict=False):
        for row, phase in enumerate(order):
            axes.add_patch(
                Rectangle((start, row), end - start, 1, facecolor=PHASES[phase], edgecolor="white", linewidth=1.0)
            )
            if (end - start) * points >= NARROWEST:
                colour = "white" if reads_dark(PHASES[phase]) else INK
                middle = ((start + end) / 2, row + 0.5)
                axes.annotate(phase, middle, ha="center", va="center_baseline", fontsize=7.0, color=colour)
    axes.set_ylim(count, 0)
    axes.set_yticks(np.arange(count) + 0.5, [str(k + 1) for k in range(count)])
    axes.set_ylabel("position")
    axes.tick_params(axis="y", length=0)


def _voltages(axes: Axes, profile: Profile, ends: Floats) -> None:
    """Magnitudes, curved between the ends of the sections where the phasor is linear."""
    fine = np.unique(np.concatenate([np.linspace(0, float(ends[-1]), 241), ends]))
    values = np.abs(np.array([profile.at(float(x)) for x in fine]))
    for k, name in enumerate(profile.lines):
        axes.plot(
            fine, values[:, k], color=INK, linestyle=DASHES[k % len(DASHES)], linewidth=1.1, label=name.split(" ", 1)[1]
        )
    _joints(axes, ends)
    axes.set_ylim(0, 1.18 * max(float(values.max()), 1e-12))
    axes.set_ylabel("to earth (V rms)")
    largest, where, _ = profile.largest()
    axes.annotate(
        f"{plain(largest)} V",
        (where, largest),
        xytext=(-3 if where > ends[-1] / 2 else 3, 3),
        textcoords="offset points",
        ha="right" if where > ends[-1] / 2 else "left",
        fontsize=7.5,
    )
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), handlelength=1.8)


def _fields(axes: Axes, fields: Sequence[Floats | None], receptors: Sequence[str], ends: Floats) -> None:
    present = [field for field in fields if field is not None]
    unit = common_unit([float(value) for field in present for value in field], FLUX_DENSITY)
    for r, name in enumerate(receptors):
        level = np.array([np.nan if field is None else unit.of(float(field[r])) for field in fields])
        dashes = DASHES[r % len(DASHES)]
        steps = np.append(level, level[-1])
        axes.plot(ends, steps, drawstyle="steps-post", color=COMPUTED, linestyle=dashes, linewidth=1.3, label=name)
    axes.set_ylim(0, None)
    _joints(axes, ends)
    axes.set_ylabel(f"field ({unit.symbol} rms)")
    if receptors:
        axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), handlelength=1.8)


def _joints(axes: Axes, ends: Floats) -> None:
    for end in ends[1:-1]:
        axes.axvline(end, color=QUIET, linewidth=0.4, zorder=1)
