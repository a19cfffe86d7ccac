"""Short-circuit forces as arrows to scale on the cross-section, with the path of each force in time."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from fem.arrays import Floats
from geometry.shapes import Point, boundary_loops
from studies.answers.faults.currents import CYCLES, STEPS
from studies.answers.faults.forces import CableForce, FaultForces
from studies.answers.faults.waves import ForcePeak
from studies.drawing.labels import LabelPlacer
from studies.drawing.solids import draw_layers, draw_metalwork
from studies.drawing.style import ABOVE, INK, QUIET, Margins, styled, to_scale
from studies.section.parts import CrossSection
from studies.text.numbers import plain, with_unit
from studies.text.units import Unit, common_unit

MILLIMETRES = 1e3
"""Data units a metre."""
FORCE_PER_LENGTH = (Unit("mN/m", 1e-3), Unit("N/m", 1.0), Unit("kN/m", 1e3))
LONGEST = 0.85
"""Length of the longest arrow over the smallest distance between cables that carry the fault. [-]"""
TALLEST_DRAWING = 4.2
"""Largest height of the drawing. [in]"""

PATH_SQUARES = 120
"""Pieces of a path that are kept free of labels, at the most about. [-]"""

ALTERNATING, OFFSET = "alternating", "offset"


@styled
def draw_force_arrows(section: CrossSection, forces: FaultForces, kind: str = OFFSET) -> Figure:
    """Greatest force on each cable of a fault, to scale.

    kind: OFFSET with the decaying offset, each cable at its own worst inception; ALTERNATING for sinusoids of amplitude
        ip.
    """
    peaks = [_peak(one, kind) for one in forces.cables]
    axes_mm = np.array([one.cable.axis for one in forces.cables]) * MILLIMETRES
    scale = _scale(axes_mm, peaks)
    paths = [_path(forces, k, kind) * scale + axes_mm[k] for k in range(len(peaks))]
    figure, axes = to_scale(_window(section, forces, paths), Margins(bottom=0.8), tallest=TALLEST_DRAWING)
    draw_layers(axes, section, MILLIMETRES)
    draw_metalwork(axes, section, MILLIMETRES, 0.4)
    placer = LabelPlacer(axes)
    _keep_metal_free(placer, section)
    points_a_unit = float(np.ptp(axes.transData.transform([(0, 0), (1, 0)])[:, 0])) / (axes.figure.dpi / 72)
    for cable in section.cables:
        centre = np.multiply(cable.axis, MILLIMETRES)
        placer.keep_free([centre], cable.layers.outer_radius * MILLIMETRES * points_a_unit)
    tips = [start + np.array(peak.force) * scale for start, peak in zip(axes_mm, peaks, strict=True)]
    for path, start, tip in zip(paths, axes_mm, tips, strict=True):
        axes.plot(path[:, 0], path[:, 1], color=QUIET, linewidth=0.7, zorder=7)
        arrow = {"arrowstyle": "-|>", "color": ABOVE, "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0}
        axes.annotate("", xy=(tip[0], tip[1]), xytext=(start[0], start[1]), arrowprops=arrow, zorder=8)
        placer.keep_free(np.linspace(start, tip, 16), 4)
        placer.keep_free(path[:: max(len(path) // PATH_SQUARES, 1)], 2)
    _bar(axes, placer, peaks, scale)
    for one, peak, tip in zip(forces.cables, peaks, tips, strict=True):
        placer.beside(f"{one.cable.phase}  {with_unit(peak.magnitude, FORCE_PER_LENGTH)}", tip, size=8.0)
    axes.set_xlabel("x (mm)")
    axes.set_ylabel("y (mm)")
    axes.set_title(_title(forces, kind))
    _legend(figure)
    return figure


def _peak(one: CableForce, kind: str) -> ForcePeak:
    if kind not in (ALTERNATING, OFFSET):
        raise ValueError(f"kind must be {ALTERNATING!r} or {OFFSET!r}: {kind!r}")
    return one.offset if kind == OFFSET else one.alternating


def _scale(axes_mm: Floats, peaks: list[ForcePeak]) -> float:
    """Data units per newton a metre."""
    distance = np.linalg.norm(axes_mm[:, None] - axes_mm[None], axis=2)
    apart = float(distance[distance > 0].min())
    largest = max(peak.magnitude for peak in peaks)
    return LONGEST * apart / largest


def _path(forces: FaultForces, which: int, kind: str) -> Floats:
    """Forces on one cable in the order of time, shape (n, 2). [N/m]"""
    if kind == ALTERNATING:
        return forces.alternating.at(np.pi * np.linspace(0, 1, STEPS + 1))[:, which]
    angle = 2 * np.pi * CYCLES * np.linspace(0, 1, int(CYCLES * STEPS) + 1)
    peak = forces.cables[which].offset
    angle = np.sort(np.append(angle, peak.angle))  # the path passes through its crest
    return forces.offset.at(angle, peak.inception)[:, which]


def _keep_metal_free(placer: LabelPlacer, section: CrossSection) -> None:
    """Keep labels off the edges of trays and other metal."""
    for part in section.parts:
        if part.cable is None:
            outer, holes = boundary_loops(part.shape)
            for loop in (outer, *holes):
                for start, end in zip(loop * MILLIMETRES, np.roll(loop, -1, axis=0) * MILLIMETRES, strict=True):
                    placer.keep_line_free(start, end)


def _window(section: CrossSection, forces: FaultForces, paths: list[Floats]) -> tuple[Point, Point]:
    """All cables of the circuit and all paths, with a margin. [mm]"""
    own = [cable for cable in section.cables if cable.circuit == forces.fault.circuit]
    corners = [np.add(cable.axis, sign * cable.layers.outer_radius) * MILLIMETRES for cable in own for sign in (-1, 1)]
    everything = np.vstack([*paths, np.array(corners)])
    low, high = everything.min(axis=0), everything.max(axis=0)
    margin = 0.16 * float((high - low).max())
    return (float(low[0] - margin), float(low[1] - margin)), (float(high[0] + margin), float(high[1] + margin))


def _title(forces: FaultForces, kind: str) -> str:
    fault = forces.fault
    what = "three-phase fault" if fault.is_three_phase else f"fault {' to '.join(fault.phases)}"
    how = "with offset" if kind == OFFSET else "sinusoids"
    return f"Greatest forces, {what} of {fault.circuit}, peak {plain(fault.peak_current / 1e3)} kA, {how}"


def _bar(axes: Axes, placer: LabelPlacer, peaks: list[ForcePeak], scale: float) -> None:
    """A bar of a round force, in the first corner of the drawing where it covers nothing."""
    largest = max(peak.magnitude for peak in peaks)
    power = 10.0 ** np.floor(np.log10(largest))
    bar = power * max(step for step in (1, 2, 5) if step * power <= largest)
    unit = common_unit([bar], FORCE_PER_LENGTH)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    length, height, away = bar * scale, 0.1 * (y1 - y0), 0.03 * (x1 - x0)
    left, right = x0 + away, x1 - away - length
    low, high = y0 + 0.05 * (y1 - y0), y1 - 0.05 * (y1 - y0) - height
    corners = [(left, low), (right, low), (left, high), (right, high)]
    free = [c for c in corners if placer.is_free(*axes.transData.transform([c, (c[0] + length, c[1] + height)]))]
    start, level = (free or corners)[0]
    placer.keep_box_free((start, level), (start + length, level + height))
    axes.plot([start, start + length], [level, level], color=INK, linewidth=1.4, zorder=8, solid_capstyle="butt")
    text = f"{unit.of(bar):g} {unit.symbol}"
    axes.annotate(text, (start, level), xytext=(0, 3), textcoords="offset points", fontsize=7.0, zorder=8)


def _legend(figure: Figure) -> None:
    """Meaning of the lines."""
    handles = [
        Line2D([], [], color=ABOVE, linewidth=1.6, label="greatest force (not all at one time)"),
        Line2D([], [], color=QUIET, linewidth=0.7, label="path of the force in time"),
    ]
    figure.legend(handles=handles, loc="lower center", ncols=2)
