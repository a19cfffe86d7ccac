"""How parallel cables of a phase share its current."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter

from studies.figures.engineering import CURRENT, unit_for
from studies.figures.names import frequencies
from studies.figures.style import INK, PAGE_WIDTH, PHASES, new_figure, styled
from studies.parts import CONDUCTOR
from studies.results import PartResult, Result

HEIGHT = 2.6
"""Height of the figure. [in]"""
MOST_UPRIGHT = 16
"""Largest number of bars whose names stand level."""


@styled
def draw_shares(result: Result) -> Figure:
    """Magnitude of each cable's current, grouped by circuit and phase, with the equal share of each phase."""
    groups = _groups(result)
    figure = new_figure(HEIGHT)
    bottom = 0.62
    axes = figure.add_axes(
        (0.66 / PAGE_WIDTH, bottom / HEIGHT, (PAGE_WIDTH - 0.81) / PAGE_WIDTH, (HEIGHT - bottom - 0.34) / HEIGHT)
    )
    largest = max(abs(part.current_a) for group in groups.values() for part in group)
    unit = unit_for(largest, CURRENT)
    position, ticks, names = 0.0, [], []
    for (_, phase), group in groups.items():
        places = [position + k for k in range(len(group))]
        axes.bar(
            places,
            [abs(part.current_a) / unit.size for part in group],
            width=0.78,
            color=PHASES[phase],
            edgecolor=INK,
            linewidth=0.4,
            zorder=2,
        )
        equal = abs(sum(part.current_a for part in group)) / len(group) / unit.size
        axes.plot(
            [places[0] - 0.5, places[-1] + 0.5],
            [equal, equal],
            color=INK,
            linestyle=(0, (4, 2)),
            linewidth=1.0,
            zorder=3,
        )
        ticks += places
        names += [_label(part, phase) for part in group]
        position += len(group) + 0.8
    level = len(ticks) <= MOST_UPRIGHT
    axes.set_xticks(ticks, names if level else [name.replace("\n", " ") for name in names], rotation=0 if level else 90)
    axes.tick_params(axis="x", length=0, labelsize=7.0 if level else 5.0)
    axes.set_xlim(-0.9, position - 0.9)
    axes.set_ylim(0.0, 1.15 * max(largest / unit.size, 1e-12))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.grid(True, axis="y")
    axes.set_ylabel(f"current, rms ({unit.symbol})")
    several = ", at the fundamental of its circuit" if len(frequencies(result)) > 1 else ""
    axes.set_title(f"Current of each cable{several}")
    axes.legend(
        handles=[Line2D([], [], color=INK, linestyle=(0, (4, 2)), linewidth=1.0, label="equal share of the phase")],
        loc="lower right",
        bbox_to_anchor=(1.0, 1.0),
        borderpad=0.2,
    )
    return figure


def _groups(result: Result) -> dict[tuple[str, str], list[PartResult]]:
    groups: dict[tuple[str, str], list[PartResult]] = {}
    for part in result.parts:
        cable = result.cross_section.part(part.part).cable
        if part.kind == CONDUCTOR and cable is not None:
            groups.setdefault((cable.circuit, cable.phase), []).append(part)
    return {key: group for key, group in groups.items() if len(group) > 1}


def _label(part: PartResult, phase: str) -> str:
    circuit, position, _ = part.part.rsplit(".", 2)
    return f"{circuit}.{position}\n{phase}"
