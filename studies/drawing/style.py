"""The look of all figures: settings, colours, and figures of the report's width with their own canvas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, wraps
from types import MappingProxyType
from typing import Any, ParamSpec, TypeVar

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import Colormap, LinearSegmentedColormap
from matplotlib.figure import Figure

from geometry.shapes import Point

STYLE: dict[str, Any] = {
    "font.family": "DejaVu Sans",  # comes with the drawing library: the same on every machine
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.titleweight": "normal",
    "axes.titlelocation": "left",
    "axes.titley": 1.0,  # nothing stands above an axes: no search for what a title might overlap
    "axes.labelsize": 8.0,
    "axes.linewidth": 0.6,
    "axes.edgecolor": "#3c4248",
    "axes.labelcolor": "#1d2126",
    "axes.spines.top": True,
    "axes.spines.right": True,
    "axes.axisbelow": True,
    "axes.grid": False,
    "axes.unicode_minus": True,
    "axes.formatter.useoffset": False,
    "grid.color": "#d5d9dd",
    "grid.linewidth": 0.5,
    "text.color": "#1d2126",
    "text.parse_math": False,  # a name may hold dollars
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
    "xtick.color": "#3c4248",
    "ytick.color": "#3c4248",
    "xtick.direction": "out",
    "ytick.direction": "out",
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.minor.width": 0.4,
    "ytick.minor.width": 0.4,
    "lines.linewidth": 1.4,
    "lines.markersize": 6.0,
    "legend.fontsize": 7.5,
    "legend.frameon": False,
    "legend.handlelength": 2.4,
    "figure.facecolor": "white",
    "axes.facecolor": "white",
    "savefig.facecolor": "white",
    "savefig.bbox": None,
    "svg.fonttype": "path",
    "svg.hashsalt": "trayfield",
    "path.simplify": True,
}
"""Settings of the drawing library that hold while a figure is drawn or saved."""

INK = "#1d2126"
QUIET = "#5f6972"
COMPUTED = "#0b5c94"
"""Finite element; drawn solid."""
FORMULA = "#d2691e"
"""Line formula; drawn dashed, so that the two differ in grey as well."""
WITHIN = "#0b5c94"
ABOVE = "#c1121f"
UNLIMITED = "#5f6972"

LAYERS = MappingProxyType(
    {
        "insulation": "#f3f1ec",
        "screen": "#4d565e",
        "separation": "#dedad2",
        "sheath": "#6d7f92",
        "bedding": "#cfc9bd",
        "armour": "#3a4147",
        "jacket": "#8b9299",
    }
)
"""Fill of the layers around a conductor, from the inside out."""
METALWORK = "#59636c"
"""Fill of trays and other metal."""

PAGE_WIDTH = 6.7
"""Width of every figure: the text of an A4 page. [in]"""
TALLEST = 6.6
"""Largest height of a drawing. [in]"""
EDGE = 0.1
"""Least distance of a title from the edges of the page. [in]"""
FINE_COLOURS = 1024
"""Colours of a scale of magnitudes: so many that a nearly even field shows no steps."""
RESOLUTION = 150
"""Dots per inch of saved pictures."""

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class Margins:
    """Room about a drawing. [in]"""

    left: float = 0.62
    right: float = 0.15
    bottom: float = 0.52
    top: float = 0.32


def styled(draw: Callable[P, R]) -> Callable[P, R]:
    """Let a function draw under the settings of all figures, whatever settings hold around it."""

    @wraps(draw)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> R:
        settings: Any = STYLE  # which keys the library's types know depends on its version
        with mpl.rc_context(settings):
            return draw(*args, **kwargs)

    return wrapped


def new_figure(height: float, width: float = PAGE_WIDTH) -> Figure:
    """An empty figure [in] with a canvas of its own, unknown to any interactive session."""
    figure = Figure(figsize=(width, height), dpi=RESOLUTION)
    FigureCanvasAgg(figure)
    return figure


def to_scale(
    extent: tuple[Point, Point], margins: Margins, least_height: float = 1.2, tallest: float = TALLEST
) -> tuple[Figure, Axes]:
    """A figure of page width whose axes show an extent [any unit] with equal scales.

    An extent too flat for `least_height` [in] is widened in y about its middle; one too tall is drawn smaller, in the
    middle of the page.
    """
    (x0, y0), (x1, y1) = extent
    widest = PAGE_WIDTH - margins.left - margins.right
    if (y1 - y0) * widest < least_height * (x1 - x0):
        middle, half = (y0 + y1) / 2, least_height * (x1 - x0) / widest / 2
        y0, y1 = middle - half, middle + half
    height = min(tallest, widest * (y1 - y0) / (x1 - x0))
    width = height * (x1 - x0) / (y1 - y0)
    total = height + margins.bottom + margins.top
    figure = new_figure(total)
    left = margins.left + (widest - width) / 2
    axes = figure.add_axes((left / PAGE_WIDTH, margins.bottom / total, width / PAGE_WIDTH, height / total))
    axes.set_xlim(x0, x1)
    axes.set_ylim(y0, y1)
    axes.set_aspect("equal", adjustable="box")
    return figure, axes


def titled(axes: Axes, text: str) -> None:
    """Title above an axes from its left edge on; one that would leave the page starts further left."""
    title = axes.set_title(text, loc="left")
    width = title.get_window_extent().width / RESOLUTION
    box = axes.get_position(original=True)
    left, across = box.x0 * PAGE_WIDTH, box.width * PAGE_WIDTH
    start = max(EDGE, min(left, PAGE_WIDTH - EDGE - width))
    title.set_x((start - left) / across)


@cache
def magnitude_colours() -> Colormap:
    """Perceptually uniform colours, light for small and dark for large, short of the darkest that would hide lines."""
    colours = mpl.colormaps["magma_r"](np.arange(int(0.86 * 256)))
    return LinearSegmentedColormap.from_list("magnitudes", colours.tolist(), N=FINE_COLOURS)


def differences() -> Colormap:
    """Diverging colours about white that the colour-blind tell apart."""
    return mpl.colormaps["PuOr"]


def reads_dark(colour: str) -> bool:
    """Whether a hexadecimal colour is so dark that text on it should be white."""
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue < 140
