"""Logarithmic colour scales and colour bars in engineering units."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colorbar import Colorbar
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullFormatter, NullLocator

from fem.arrays import Floats
from studies.text.numbers import plain
from studies.text.units import ROOM, Unit, common_unit

DEEPEST = 1e-7
"""Smallest value on a logarithmic scale over its largest."""


def log_norm(values: Floats) -> LogNorm:
    """Logarithmic scale from the smallest to the largest finite positive value, seven decades at most."""
    usable = values[np.isfinite(values) & (values > 0)]
    if usable.size == 0:
        return LogNorm(1e-12, 1e-9)  # no field at all: any scale will do
    high = float(usable.max())
    low = max(float(usable.min()), DEEPEST * high)
    return LogNorm(low, high if high > low else 10 * low)


def scale_unit(norm: LogNorm, units: tuple[Unit, ...], room: float = ROOM) -> Unit:
    """Unit for a logarithmic scale; its middle may lie below one of it by a factor `room` [-]."""
    assert norm.vmin is not None
    assert norm.vmax is not None
    return common_unit((norm.vmin, norm.vmax), units, room)


def decade_ticks(low: float, high: float, unit: Unit) -> list[float]:
    """Ticks of a logarithmic axis, in SI: each decade of a unit; each 1, 2, 5 if there are few decades."""
    decades = math.ceil(math.log10(high / unit.size)) - math.floor(math.log10(low / unit.size))
    return steps_of_decades(low, high, unit, (1,) if decades > 3 else (1, 2, 5))


def steps_of_decades(low: float, high: float, unit: Unit, steps: Sequence[int] = (1, 2, 5)) -> list[float]:
    """The steps of each decade of a unit from a low to a high value, all in SI."""
    first, last = math.floor(math.log10(low / unit.size)), math.ceil(math.log10(high / unit.size))
    ticks = [step * 10.0**decade * unit.size for decade in range(first, last + 1) for step in steps]
    return [tick for tick in ticks if low * (1 - 1e-9) <= tick <= high * (1 + 1e-9)]


def log_value_axis(axes: Axes, low: float, high: float, unit: Unit) -> None:
    """Make the upright axis logarithmic, from low to high in SI, with ticks in a unit."""
    axes.set_yscale("log")
    axes.set_ylim(unit.of(low), unit.of(high))
    axes.yaxis.set_major_locator(FixedLocator([unit.of(tick) for tick in decade_ticks(low, high, unit)]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: plain(value, 1)))
    axes.yaxis.set_minor_formatter(NullFormatter())


def log_colour_bar(figure: Figure, axes: Axes, mappable: ScalarMappable, quantity: str, unit: Unit) -> Colorbar:
    """Colour bar right of an axes, in a unit, with its decades labelled and its minor ticks at 2 to 9."""
    low, high = mappable.get_clim()
    assert low is not None
    assert high is not None
    bar = figure.colorbar(mappable, cax=bar_axes(figure, axes))
    ticks = decade_ticks(low, high, unit)
    bar.ax.yaxis.set_major_locator(FixedLocator(ticks))
    bar.ax.yaxis.set_major_formatter(FuncFormatter(lambda value, _: plain(unit.of(value), 1)))
    minor = [step * tick for tick in decade_ticks(low / 10, high, unit) for step in range(2, 10)]
    bar.ax.yaxis.set_minor_locator(
        FixedLocator([tick for tick in minor if low <= tick <= high]) if len(ticks) < 9 else NullLocator()
    )
    bar.ax.yaxis.set_minor_formatter(FuncFormatter(lambda value, _: ""))
    bar.set_label(f"{quantity} ({unit.symbol})")
    bar.outline.set_linewidth(0.5)
    return bar


def bar_axes(figure: Figure, axes: Axes, gap: float = 0.12, width: float = 0.16) -> Axes:
    """Room for a colour bar right of an axes [in], as high as the axes."""
    box = axes.get_position(original=True)
    across = figure.get_figwidth()
    return figure.add_axes((box.x1 + gap / across, box.y0, width / across, box.height))
