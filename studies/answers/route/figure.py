"""A run section by section: which phase lies where, voltages of the screens, and the field at the receptors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from fem.arrays import Floats
from studies.answers.route.profile import Profile
from studies.drawing.style import ABOVE, COMPUTED, FORMULA, INK, QUIET, new_figure, reads_dark, styled
from studies.section.lines import RunSection
from studies.study.phases import LINES, PHASE_COLOURS
from studies.text.numbers import plain
from studies.text.units import FLUX_DENSITY, common_unit

if TYPE_CHECKING:
    from studies.answers.answers import Answers
    from studies.answers.route.compute import RouteSolution

ROW = 0.21
"""Height of a position in the strip of phases. [in]"""
PANEL = 1.55
"""Height of a diagram. [in]"""
TOP, BETWEEN, BOTTOM, LEFT, RIGHT = 0.32, 0.2, 0.5, 0.72, 1.35
"""Room about the panels. [in]"""
DASHES: tuple[str | tuple[int, tuple[float, ...]], ...] = ("solid", (0, (5, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)))
NAMES = 0.15
"""Room for the names of the sections. [in]"""
LETTER = 4.0
"""Width of a letter of these names. [pt]"""
LONGEST_NAME = 17
"""Letters of what stands in a legend."""
MOST_ABOVE = 3.0
"""Limits above this multiple of the highest field are not drawn. [-]"""
SHORTEST = 4
"""Fewest letters of a name that is cut."""
PARALLEL = (INK, COMPUTED, FORMULA, QUIET)
"""Colours of the layers of a phase's parallel cables."""
NARROWEST = 14.0
"""Narrowest section in which the phase is written. [pt]"""


@dataclass(frozen=True)
class FieldsAlong:
    """Fields at receptors by section, for the figure of a run."""

    receptors: tuple[str, ...]
    values: Floats
    """Not a number where a receptor is not beside a section, shape (sections, receptors). [T]"""
    limits: tuple[float | None, ...] = ()
    """Of each receptor. [T]"""
    name: str = "field"
    """What the axis calls them."""


def draw_run(result: Answers, found: RouteSolution, circuit: str) -> Figure:
    """Figure of the run of a circuit: its phases, the voltages of its screens, the fields that all circuits make."""
    run = found.runs.now
    profiles = [profile for (own, _), profile in run.profiles.items() if own == circuit]
    limits = {receptor.name: receptor.limit_t for receptor in result.receptors}
    names = found.solved.receptors
    called = "field" if run.loaded is None else "larger field"  # of the study's currents and the load's
    fields = FieldsAlong(names, run.larger_fields, tuple(limits.get(name) for name in names), called)
    return draw_route(run.run_sections, circuit, profiles, fields if names else None, result.study.phase_colours)


@styled
def draw_route(
    run_sections: Sequence[RunSection],
    circuit: str,
    profiles: Sequence[Profile] = (),
    fields: FieldsAlong | None = None,
    scheme: str = next(iter(PHASE_COLOURS)),
) -> Figure:
    """Figure of a run over its length.

    circuit: The circuit whose phases are shown.
    profiles: Voltages of its layers of metal, a panel for each.
    fields: Field at the receptors by section.
    scheme: Of the colours of the phases.
    """
    orders = [tuple(run_section.orders.get(circuit, run_section.maps.labels(circuit))) for run_section in run_sections]
    ends = np.concatenate([[0.0], np.cumsum([run_section.length for run_section in run_sections])])
    heights = [ROW * max(len(order) for order in orders)]
    heights += [PANEL] * (len(profiles) + (fields is not None))
    total = TOP + NAMES + sum(heights) + BETWEEN * (len(heights) - 1) + BOTTOM
    figure = new_figure(total)
    page = float(figure.get_size_inches()[0])
    panels: list[Axes] = []
    top = total - TOP - NAMES
    for height in heights:
        box = (LEFT / page, (top - height) / total, (page - LEFT - RIGHT) / page, height / total)
        panels.append(figure.add_axes(box))
        top -= height + BETWEEN
    for panel in panels:
        panel.set_xlim(0, ends[-1])
        panel.tick_params(labelbottom=panel is panels[-1])
    panels[-1].set_xlabel("distance along the run (m)")
    _strip(panels[0], orders, ends, PHASE_COLOURS[scheme])
    _names(panels[0], run_sections, ends)
    count = len(run_sections)
    title = f"{circuit}: phases by position, {count} section{'s' if count > 1 else ''}"
    panels[0].set_title(title, pad=6 + 72 * NAMES)
    for panel, profile in zip(panels[1:], profiles, strict=False):
        _voltages(panel, profile, ends)
    if fields is not None:
        _fields(panels[-1], fields, ends)
    return figure


def _names(axes: Axes, run_sections: Sequence[RunSection], ends: Floats) -> None:
    """Names of the sections above the strip, as far as there is room for them."""
    points = axes.get_window_extent().width / axes.figure.dpi * 72 / float(ends[-1])
    for run_section, start, end in zip(run_sections, ends, ends[1:], strict=False):
        room = int((end - start) * points / LETTER)
        if len(run_section.name) > room and room < SHORTEST:
            continue
        text = run_section.name if len(run_section.name) <= room else f"{run_section.name[: room - 1]}…"
        middle = ((start + end) / 2, 0)
        note = axes.annotate(text, middle, xytext=(0, 3), textcoords="offset points", ha="center", fontsize=7.0)
        note.set_color(QUIET)


def _strip(axes: Axes, orders: Sequence[tuple[str, ...]], ends: Floats, colours: Mapping[str, str]) -> None:
    count = max(len(order) for order in orders)
    points = axes.get_window_extent().width / axes.figure.dpi * 72 / float(ends[-1])
    for order, start, end in zip(orders, ends, ends[1:], strict=False):
        for row, phase in enumerate(order):
            axes.add_patch(
                Rectangle((start, row), end - start, 1, facecolor=colours[phase], edgecolor="white", linewidth=1.0)
            )
            if (end - start) * points >= NARROWEST:
                colour = "white" if reads_dark(colours[phase]) else INK
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
        dashes, colour = _line_style(name)
        axes.plot(fine, values[:, k], color=colour, linestyle=dashes, linewidth=1.1, label=name.split(" ", 1)[1])
    _joints(axes, ends)
    axes.set_ylim(0, 1.18 * max(float(values.max()), 1e-12))
    layer = profile.lines[0].rsplit(" ", 1)[-1]
    axes.set_ylabel(f"{layer} to earth (V rms)")
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


def _line_style(line: str) -> tuple[str | tuple[int, tuple[float, ...]], str]:
    """Dashes by the phase of a line such as "F1 L2.2 screen", colour by which of its parallel cables it is."""
    phase, _, number = line.rsplit(" ", 2)[-2].partition(".")
    row = LINES.index(phase) if phase in LINES else len(LINES)
    return DASHES[row % len(DASHES)], PARALLEL[(int(number or 1) - 1) % len(PARALLEL)]


def _fields(axes: Axes, fields: FieldsAlong, ends: Floats) -> None:
    """A step for each section, and the limit of each receptor where it is not far above all fields."""
    known = fields.values[np.isfinite(fields.values)]
    unit = common_unit(known.tolist(), FLUX_DENSITY)
    highest = unit.of(float(known.max(initial=0.0)))
    limits: dict[float, list[str]] = {}
    for r, name in enumerate(fields.receptors):
        level = np.array([unit.of(float(value)) for value in fields.values[:, r]])
        dashes = DASHES[r % len(DASHES)]
        steps = np.append(level, level[-1])
        axes.plot(
            ends, steps, drawstyle="steps-post", color=COMPUTED, linestyle=dashes, linewidth=1.3, label=_cut(name)
        )
        limit = fields.limits[r] if fields.limits else None
        if limit is not None and unit.of(limit) <= MOST_ABOVE * highest:
            limits.setdefault(unit.of(limit), []).append(name)
    for limit, names in limits.items():
        dashes = DASHES[fields.receptors.index(names[0]) % len(DASHES)]
        of = names[0] if len(names) == 1 else f"{len(names)} receptors"
        axes.axhline(limit, color=ABOVE, linestyle=dashes, linewidth=0.9, label=_cut(f"limit, {of}"))
    axes.set_ylim(0, 1.12 * max([highest, *limits], default=1.0))
    _joints(axes, ends)
    axes.set_ylabel(f"{fields.name} ({unit.symbol} rms)")
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), handlelength=1.8)


def _cut(name: str) -> str:
    """A name as far as there is room for it beside the panels."""
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def _joints(axes: Axes, ends: Floats) -> None:
    for end in ends[1:-1]:
        axes.axvline(end, color=QUIET, linewidth=0.4, zorder=1)
