"""How parallel cables of a phase share its current."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter

from studies.answers.answers import Answers
from studies.answers.figure_names import over_all_frequencies
from studies.answers.losses.rows import PartResult
from studies.drawing.style import FORMULA, INK, PAGE_WIDTH, new_figure, styled
from studies.section.spectrum import components
from studies.study.parts import CONDUCTOR
from studies.study.phases import PHASE_COLOURS
from studies.text.units import CURRENT, unit_for

HEIGHT = 2.6
"""Height of the figure. [in]"""
CLOSED_FORM: dict[str, Any] = {
    "linestyle": "none",
    "marker": "D",
    "markersize": 4.5,
    "markerfacecolor": "white",
    "markeredgewidth": 1.3,
    "markeredgecolor": FORMULA,
}
"""Look of the marks of the closed form."""
EQUAL_SHARE: dict[str, Any] = {"color": INK, "linestyle": (0, (4, 2)), "linewidth": 1.0}
"""Look of the line of the equal share."""
MOST_UPRIGHT = 16
"""Largest number of bars whose names stand level."""


@styled
def draw_shares(result: Answers) -> Figure:
    """Magnitude of each cable's current, by circuit and phase, with its phase's equal share and the closed form."""
    groups = _groups(result)
    figure = new_figure(HEIGHT)
    bottom = 0.62
    axes = figure.add_axes(
        (0.66 / PAGE_WIDTH, bottom / HEIGHT, (PAGE_WIDTH - 0.81) / PAGE_WIDTH, (HEIGHT - bottom - 0.34) / HEIGHT)
    )
    largest = max(part.current_rms_a for group in groups.values() for part in group)
    unit = unit_for(largest, CURRENT)
    highest = largest
    position, ticks, names = 0.0, [], []
    for (circuit, phase), group in groups.items():
        places = [position + k for k in range(len(group))]
        axes.bar(
            places,
            [part.current_rms_a / unit.size for part in group],
            width=0.78,
            color=PHASE_COLOURS[result.study.phase_colours][phase],
            edgecolor=INK,
            linewidth=0.4,
            zorder=2,
        )
        every = [one.currents.get((circuit, phase), 0j) for one in components(result.study)]
        equal = math.sqrt(sum(abs(current) ** 2 for current in every)) / len(group) / unit.size
        axes.plot([places[0] - 0.5, places[-1] + 0.5], [equal, equal], zorder=3, **EQUAL_SHARE)
        closed = [math.nan if part.formula_current_rms_a is None else part.formula_current_rms_a for part in group]
        axes.plot(places, [current / unit.size for current in closed], zorder=4, **CLOSED_FORM)
        highest = max([highest, *(current for current in closed if current > 0)])
        ticks += places
        names += [_label(part, phase) for part in group]
        position += len(group) + 0.8
    _name_cables(axes, ticks, names)
    axes.set_xlim(-0.9, position - 0.9)
    axes.set_ylim(0.0, 1.15 * max(highest / unit.size, 1e-12))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.grid(True, axis="y")
    axes.set_ylabel(f"current, rms ({unit.symbol})")
    axes.set_title(f"Current of each cable{over_all_frequencies(result)}")
    _explain_marks(axes)
    return figure


def _name_cables(axes: Axes, ticks: list[float], names: list[str]) -> None:
    """Name each bar below it; many names are turned."""
    level = len(ticks) <= MOST_UPRIGHT
    axes.set_xticks(ticks, names if level else [name.replace("\n", " ") for name in names], rotation=0 if level else 90)
    axes.tick_params(axis="x", length=0, labelsize=7.0 if level else 5.0)


def _explain_marks(axes: Axes) -> None:
    marks = [
        Line2D([], [], label="equal share of the phase", **EQUAL_SHARE),
        Line2D([], [], label="closed form", **CLOSED_FORM),
    ]
    axes.legend(handles=marks, ncols=2, loc="lower right", bbox_to_anchor=(1.0, 1.0), borderpad=0.2)


def _groups(result: Answers) -> dict[tuple[str, str], list[PartResult]]:
    groups: dict[tuple[str, str], list[PartResult]] = {}
    for part in result.parts:
        cable = result.cross_section.part(part.part).cable
        if part.kind == CONDUCTOR and cable is not None:
            groups.setdefault((cable.circuit, cable.phase), []).append(part)
    return {key: group for key, group in groups.items() if len(group) > 1}


def _label(part: PartResult, phase: str) -> str:
    circuit, position, _ = part.part.rsplit(".", 2)
    return f"{circuit}.{position}\n{phase}"
