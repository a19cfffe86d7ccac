"""The field at the receptors frequency by frequency, beside the reference levels that limit it."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.result_units import result_units
from studies.data.reference_levels import reference_level
from studies.drawing.colour_scales import log_value_axis
from studies.drawing.style import COMPUTED, INK, PAGE_WIDTH, new_figure, styled
from studies.text.numbers import GAP, plain
from studies.text.units import FLUX_DENSITY, Unit

PANEL = 1.55
"""Height of the drawing of one receptor. [in]"""
LEFT, RIGHT, BOTTOM, TOP, BETWEEN_ROWS, BETWEEN = 0.72, 0.15, 0.82, 0.34, 0.62, 0.72
"""Room about and between them. [in]"""
COLUMNS = 2
MOST_RECEPTORS = 8
"""Receptors that are shown: those with the largest exposure index, or field, over their limit."""
DECADES = 4.0
"""Fields more decades under the largest value are cut off."""


@styled
def draw_spectrum(result: Answers) -> Figure:
    """Bars of the rms flux density of each frequency, a panel for each receptor, with its levels as marks."""
    receptors = _shown(result)
    rows = math.ceil(len(receptors) / COLUMNS)
    height = BOTTOM + rows * PANEL + (rows - 1) * BETWEEN_ROWS + TOP
    figure = new_figure(height)
    columns = min(COLUMNS, len(receptors))
    width = (PAGE_WIDTH - LEFT - RIGHT - (columns - 1) * BETWEEN) / columns
    for k, receptor in enumerate(receptors):
        row, column = divmod(k, columns)
        bottom = height - TOP - PANEL - row * (PANEL + BETWEEN_ROWS)
        axes = figure.add_axes(
            ((LEFT + column * (width + BETWEEN)) / PAGE_WIDTH, bottom / height, width / PAGE_WIDTH, PANEL / height)
        )
        _panel(axes, receptor, result_units(result).of(FLUX_DENSITY, [receptor.b_rms_t]))
        if k + columns >= len(receptors):
            axes.set_xlabel("frequency (Hz)")
    handles: list[Patch | Line2D] = [Patch(facecolor=COMPUTED, edgecolor=INK, linewidth=0.4, label="flux density, rms")]
    if any(receptor.limit_name for receptor in receptors):
        handles.append(Line2D([], [], color=INK, linewidth=1.4, label="reference level of that frequency alone"))
    figure.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 0.08 / height), ncols=2, borderpad=0)
    return figure


def _shown(result: Answers) -> list[ReceptorResult]:
    """The receptors in their order, the most exposed of them where there are many."""
    if len(result.receptors) <= MOST_RECEPTORS:
        return list(result.receptors)
    exposure = {
        receptor.name: receptor.exposure_index or receptor.b_rms_t / (receptor.limit_t or math.inf)
        for receptor in result.receptors
    }
    most = sorted(exposure, key=lambda name: -exposure[name])[:MOST_RECEPTORS]
    return [receptor for receptor in result.receptors if receptor.name in most]


def _panel(axes: Axes, receptor: ReceptorResult, unit: Unit) -> None:
    parts = sorted(receptor.spectrum, key=lambda part: part.frequency_hz)
    fields = np.array([part.b_rms_t for part in parts])
    levels = np.array(
        [reference_level(receptor.limit_name, part.frequency_hz).value_t for part in parts]
        if receptor.limit_name
        else []
    )
    positive = np.concatenate([fields[fields > 0], levels])
    high = float(positive.max(initial=1e-9)) * 2
    low = max(float(positive.min(initial=high)) / 3, high * 10.0**-DECADES)
    places = np.arange(len(parts))
    axes.bar(places, np.maximum(fields, 0) / unit.size, width=0.56, color=COMPUTED, edgecolor=INK, linewidth=0.4)
    for place, level in zip(places, levels, strict=False):
        axes.plot([place - 0.36, place + 0.36], [unit.of(level)] * 2, color=INK, linewidth=1.4)
    log_value_axis(axes, low, high, unit)
    axes.set_xticks(places, [f"{part.frequency_hz:g}" for part in parts], rotation=90 if len(parts) > 10 else 0)
    axes.tick_params(axis="x", length=0)
    axes.set_xlim(-0.6, len(parts) - 0.4)
    axes.grid(True, axis="y")
    axes.set_ylabel(f"flux density ({unit.symbol})")
    whole = f"{plain(unit.of(receptor.b_rms_t))}{GAP}{unit.symbol}"
    index = f", index {plain(receptor.exposure_index, 2)}" if receptor.exposure_index is not None else ""
    axes.set_title(f"{receptor.name}: {whole} in all{index}")
