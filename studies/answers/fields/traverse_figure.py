"""The field along a traverse, by finite elements and by the line formula, with their difference below."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from fem.arrays import Floats
from studies.answers.answers import Answers
from studies.answers.fields.rows import TraverseResult
from studies.answers.fields.survey_marks import draw_along, name_along, readings_along
from studies.answers.limits.verdicts import index_limit_names, limit_names
from studies.answers.result_units import result_units
from studies.drawing.colour_scales import log_value_axis
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import COMPUTED, FORMULA, INK, PAGE_WIDTH, new_figure, styled
from studies.text.numbers import MINUS
from studies.text.units import FLUX_DENSITY, Unit

HEIGHT = 3.7
"""Height of the figure. [in]"""
ACROSS = (0.72 / PAGE_WIDTH, 1 - 0.2 / PAGE_WIDTH)
"""Left and right end of the axes, over the width of the figure. [-]"""
LIMIT_REACH = 5.0
"""Limits further than this factor beyond the field are not drawn but named."""
VISIBLE_ERROR = 0.01
"""Relative error from which it is drawn as a band."""
LARGEST_DIFFERENCE = 200.0
"""Largest difference drawn. [%]"""


@styled
def draw_traverse(result: Answers, traverse: TraverseResult) -> Figure:
    """Resultant rms flux density against the distance along a traverse, with the receptors' limits."""
    figure = new_figure(HEIGHT)
    left, width = ACROSS[0], ACROSS[1] - ACROSS[0]
    upper = figure.add_axes((left, 1.42 / HEIGHT, width, 1.9 / HEIGHT))
    lower = figure.add_axes((left, 0.72 / HEIGHT, width, 0.6 / HEIGHT), sharex=upper)
    net = () if result.net_currents is None else result.net_currents.traverses
    with_net = [line.b_rms_t for line in net if line.name == traverse.name]
    values = _finite(np.concatenate([traverse.b_rms_t, traverse.line_formula_b_rms_t, *with_net]))
    unit = result_units(result).of(FLUX_DENSITY, values)
    names = limit_names(result)
    near = [limit for limit in names if _is_near(limit, values)]
    _curves(upper, traverse, unit)
    for field in with_net:
        (curve,) = upper.plot(traverse.distance_m, field / unit.size, color=COMPUTED, label="with net currents")
        curve.set(linestyle=(0, (1, 1)), linewidth=1.8, zorder=4)
    highest, _, away = traverse.highest()
    upper.plot([away], [highest / unit.size], "v", markersize=5, color=INK, label="highest", clip_on=False, zorder=6)
    upper.set_xlim(float(traverse.distance_m[0]), float(traverse.distance_m[-1]))
    marks = readings_along(result, traverse)
    draw_along(upper, marks, unit)
    _value_axis(upper, np.concatenate([values, near, [highest], [mark.field for mark in marks]]), unit)
    name_along(_limits(upper, names, near, unit), marks, unit)
    _difference(lower, traverse)
    upper.tick_params(labelbottom=False)
    upper.set_title(f"Traverse: {traverse.name}")
    figure.legend(
        *upper.get_legend_handles_labels(),
        loc="upper right",
        bbox_to_anchor=(left + width, 1.0 - 0.05 / HEIGHT),
        ncols=5,
        borderpad=0,
    )
    lower.set_xlabel(f"distance from {_place(traverse.points_m[0])} to {_place(traverse.points_m[-1])} (m)")
    index_limits = index_limit_names(result)
    far = [name for limit, name in names.items() if limit not in near]
    notes = [f"Limits beyond this axis: {'; '.join(far)}."] if far else []
    notes += [f"{level} ({names}) limits the sum over all frequencies." for level, names in index_limits.items()]
    if notes:
        figure.text(0.5, 0.06 / HEIGHT, " ".join(notes), ha="center", fontsize=7.0)
    return figure


def traverse_difference(traverse: TraverseResult) -> Floats:
    """Line formula / finite element - 1 along a traverse, not a number where either fails, shape (n,). [%]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        difference = 100 * (traverse.line_formula_b_rms_t / traverse.b_rms_t - 1)
    result: Floats = np.where(np.isfinite(difference), difference, np.nan)
    return result


def _curves(axes: Axes, traverse: TraverseResult, unit: Unit) -> None:
    field, error = traverse.b_rms_t / unit.size, traverse.b_rms_error_t / unit.size
    formula = np.where(np.isfinite(traverse.line_formula_b_rms_t), traverse.line_formula_b_rms_t, np.nan) / unit.size
    axes.plot(traverse.distance_m, field, color=COMPUTED, label="finite element", zorder=4)
    axes.plot(traverse.distance_m, formula, color=FORMULA, linestyle=(0, (4, 1.6)), label="line formula", zorder=3)
    shared = np.where(np.isfinite(formula), traverse.line_formula_shared_b_rms_t, np.nan) / unit.size
    if not np.allclose(shared, formula, rtol=VISIBLE_ERROR, atol=0.0, equal_nan=True):
        label = "line formula, closed-form shares"
        axes.plot(traverse.distance_m, shared, color=FORMULA, linestyle=(0, (1, 1.4)), label=label, zorder=5)
    if np.any(error > VISIBLE_ERROR * field):
        axes.fill_between(
            traverse.distance_m,
            np.maximum(field - error, 1e-3 * field),
            field + error,
            color=COMPUTED,
            alpha=0.25,
            linewidth=0,
            label="numerical error",
            zorder=2,
        )


def _value_axis(axes: Axes, values: Floats, unit: Unit) -> None:
    axes.set_ylabel(f"flux density, rms ({unit.symbol})")
    axes.grid(True, which="major")
    positive = values[values > 0]
    if positive.size == 0:
        return
    low, high = float(positive.min()), float(positive.max())
    if high <= 10 * low:
        axes.set_ylim(0.0, 1.12 * unit.of(high))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        return
    low = max(low, 1e-7 * high)
    log_value_axis(axes, low / 1.3, high * 1.5, unit)


def _limits(axes: Axes, names: dict[float, str], near: list[float], unit: Unit) -> LabelPlacer:
    """Lines of the limits with their names; what keeps labels off them and off the curves."""
    placer = LabelPlacer(axes)
    for line in axes.get_lines():
        points = np.column_stack([np.asarray(line.get_xdata()), np.asarray(line.get_ydata())])
        placer.keep_free(points[np.all(np.isfinite(points), axis=1)], 2)
    low, high = axes.get_xlim()
    for limit in near:
        level = unit.of(limit)
        axes.axhline(level, color=INK, linewidth=0.9, linestyle=(0, (6, 3)), zorder=2)
        along = np.linspace(low, high, 120)
        if (
            placer.on_line(f"limit {names[limit]}", np.column_stack([along, np.full_like(along, level)]), above=True)
            is None
        ):
            axes.annotate(
                f"limit {names[limit]}",
                xy=(low, level),
                xytext=(3, 2),
                textcoords="offset points",
                fontsize=7.0,
                va="bottom",
            )
    return placer


def _difference(axes: Axes, traverse: TraverseResult) -> None:
    difference = traverse_difference(traverse)
    axes.axhline(0.0, color=INK, linewidth=0.5, zorder=1)
    axes.plot(traverse.distance_m, difference, color=FORMULA, linewidth=1.1, zorder=3)
    finite = _finite(difference)
    if finite.size:
        low, high = max(min(0.0, float(finite.min())), -100.0), min(max(0.0, float(finite.max())), LARGEST_DIFFERENCE)
        margin = max(0.12 * (high - low), 0.5)
        axes.set_ylim(low - margin, high + margin)
    axes.grid(True, which="major")
    axes.locator_params(axis="y", nbins=4)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:+g}".replace("-", MINUS) if value else "0"))
    axes.set_ylabel("formula over\nFE − 1 (%)")


def _is_near(limit: float, values: Floats) -> bool:
    positive = values[values > 0]
    return bool(positive.size and positive.min() / LIMIT_REACH <= limit <= positive.max() * LIMIT_REACH)


def _finite(values: Floats) -> Floats:
    return values[np.isfinite(values)]


def _place(point: Floats) -> str:
    return f"({point[0]:.4g}, {point[1]:.4g})".replace("-", MINUS)
