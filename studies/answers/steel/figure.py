"""The study at other currents: what saturating steel loses, and how fields grow, beside what linear steel does."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter

from fem.arrays import Floats
from studies.answers.answers import Answers
from studies.answers.figure_names import at_own_frequency
from studies.answers.result_units import result_units
from studies.drawing.colour_scales import log_value_axis
from studies.drawing.style import COMPUTED, FORMULA, INK, PAGE_WIDTH, new_figure, styled
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, Unit, common_unit

HEIGHT = 3.1
"""Height of the figure. [in]"""
LEFT, RIGHT, BETWEEN, BOTTOM, TOP = 0.78, 0.15, 0.82, 0.86, 0.52
"""Room about and between the panels. [in]"""
LINE = (0, (4, 1.6))
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")
MOST_RECEPTORS = 8
"""Receptors that are shown."""


@styled
def draw_current_sweep(result: Answers) -> Figure:
    """Loss of trays and metalwork, and fields at the receptors, against the factor of all currents, on double logs."""
    figure = new_figure(HEIGHT)
    points = sorted(result.current_sweep, key=lambda point: point.factor)
    factors = np.array([point.factor for point in points])
    panels = 2 if result.receptors else 1
    width = (PAGE_WIDTH - LEFT - RIGHT - (panels - 1) * BETWEEN) / panels
    boxes = [
        (
            (LEFT + k * (width + BETWEEN)) / PAGE_WIDTH,
            BOTTOM / HEIGHT,
            width / PAGE_WIDTH,
            (HEIGHT - BOTTOM - TOP) / HEIGHT,
        )
        for k in range(panels)
    ]
    loss = figure.add_axes(boxes[0])
    _loss_panel(
        loss,
        factors,
        np.array([point.tray_loss_w_per_m for point in points]),
        np.array([point.quadratic_tray_loss_w_per_m for point in points]),
    )
    loss.set_title(f"Loss of trays and metalwork{at_own_frequency(result)}")
    if result.receptors:
        field = figure.add_axes(boxes[1])
        _field_panel(field, result, factors, np.array([point.receptor_b_rms_t for point in points]))
        field.set_title("Flux density at the receptors")
    for axes in figure.axes:
        _factor_axis(axes, factors)
        _legend_below(figure, axes)
    return figure


def _legend_below(figure: Figure, axes: Axes) -> None:
    box = axes.get_position()
    axes.legend(
        loc="upper center",
        bbox_to_anchor=((box.x0 + box.x1) / 2, 0.40 / HEIGHT),
        bbox_transform=figure.transFigure,
        ncols=3,
        fontsize=6.5,
        handlelength=1.8,
        columnspacing=1.0,
        borderpad=0,
    )


def _loss_panel(axes: Axes, factors: Floats, loss: Floats, quadratic: Floats) -> None:
    unit = common_unit(loss.tolist(), LOSS_PER_LENGTH)
    axes.plot(factors, quadratic / unit.size, color=FORMULA, linestyle=LINE, label="square law from factor 1", zorder=2)
    axes.plot(factors, loss / unit.size, color=COMPUTED, marker="o", markersize=4, label="finite element", zorder=3)
    _value_axis(axes, np.concatenate([loss, quadratic]), unit)
    axes.set_ylabel(f"loss ({unit.symbol})")


def _field_panel(axes: Axes, result: Answers, factors: Floats, fields: Floats) -> None:
    shown = fields[:, :MOST_RECEPTORS]
    unit = result_units(result).of(FLUX_DENSITY, shown.ravel())
    own = [receptor.spectrum[0].b_rms_t for receptor in result.receptors[:MOST_RECEPTORS]]
    for k, (receptor, alone) in enumerate(zip(result.receptors[:MOST_RECEPTORS], own, strict=True)):
        axes.plot(factors, alone * factors / unit.size, color=FORMULA, linestyle=LINE, linewidth=1.0, zorder=2)
        axes.plot(
            factors,
            fields[:, k] / unit.size,
            color=COMPUTED,
            marker=MARKERS[k],
            markersize=4,
            linewidth=1.0,
            label=receptor.name,
            zorder=3,
        )
    axes.plot([], [], color=FORMULA, linestyle=LINE, linewidth=1.0, label="in proportion")
    _value_axis(axes, shown, unit)
    axes.set_ylabel(f"flux density, rms ({unit.symbol})")


def _value_axis(axes: Axes, values: Floats, unit: Unit) -> None:
    positive = values[values > 0]
    axes.grid(True, which="major")
    if positive.size == 0:
        return
    low, high = float(positive.min()) / 1.5, float(positive.max()) * 1.5
    log_value_axis(axes, low, high, unit)


def _factor_axis(axes: Axes, factors: Floats) -> None:
    axes.set_xscale("log")
    axes.set_xlim(factors[0] / 1.15, factors[-1] * 1.15)
    axes.xaxis.set_major_locator(FixedLocator(factors.tolist() if len(factors) <= 8 else factors[::2].tolist()))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.axvline(1.0, color=INK, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)
    axes.set_xlabel("currents over those of the study")
