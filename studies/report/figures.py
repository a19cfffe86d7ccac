"""Which figures a result calls for, drawn when asked, and how they are saved."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Draw, no_figures
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.drawing.cross_section import draw_cross_section
from studies.drawing.style import RESOLUTION, styled
from studies.text.failures import guarded

PATH, LONG_NUMBER = re.compile(rb' d="[^"]*"'), re.compile(rb"-?\d+\.\d{3,}")
"""The points of a path in an SVG, and a coordinate with more digits than print shows. [pt]"""
LARGE, MOST_TIMES = 250_000, 2.0
"""Size of a vector picture above which it must not be more than so many times the one of points. [byte, -]"""
COMPRESSION = 3
"""Level of zlib: pictures are 5 % larger than at its default of 6, and packed in half the time."""


def figure_set(result: Answers) -> dict[str, Draw]:
    """Every figure of a result by its file stem; each is drawn when its entry is called."""
    figures: dict[str, Draw] = {}
    for what, group in GROUPS.items():
        found = guarded(f"figures of {what}", partial(group, result), None)
        figures.update(found or {})
    return figures


def _cross_section_figure(result: Answers) -> Mapping[str, Draw]:
    return {names.CROSS_SECTION: partial(draw_cross_section, result.study, result.cross_section)}


def _figures_of(answer: Answer, result: Answers) -> Mapping[str, Draw]:
    return answer.figures(answer.seen(result))


GROUPS: dict[str, Callable[[Answers], Mapping[str, Draw]]] = {
    "the cross-section": _cross_section_figure,
    **{answer.what: partial(_figures_of, answer) for answer in ANSWERS if answer.figures is not no_figures},
}
"""Figures by what they show, in the order of the report."""


def save_figures(result: Answers, folder: str | Path, vectors: bool = False) -> dict[str, bytes]:
    """Write every figure of a result into a folder, see `save_drawn`."""
    return save_drawn(figure_set(result), folder, vectors)


def save_drawn(figures: Mapping[str, Draw], folder: str | Path, vectors: bool = False) -> dict[str, bytes]:
    """Write figures as PNG into a folder, which is made if it is not there.

    `figures`: what draws each figure, by its file stem.
    `folder`: where to.
    `vectors`: whether each is written as SVG as well, which takes nearly as long again.

    The pictures are, by the stem of each figure, the one that a page takes: the PNG, or with vectors see
    `picture_for_page`.
    """
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    pictures = {}

    def save(stem: str, draw: Draw) -> None:
        figure = draw()
        points = pictures[stem] = png(figure)
        (place / f"{stem}.png").write_bytes(points)
        if vectors:
            lines = svg(figure)
            (place / f"{stem}.svg").write_bytes(lines)
            pictures[stem] = picture_for_page(points, lines)

    for stem, draw in figures.items():
        guarded(f"figure {stem}", partial(save, stem, draw), None)
    return pictures


def pictures_of(result: Answers) -> Mapping[str, bytes]:
    """The PNG of every figure of a result by its stem."""
    drawn = {stem: guarded(f"figure {stem}", partial(_drawn, draw), None) for stem, draw in figure_set(result).items()}
    return {stem: picture for stem, picture in drawn.items() if picture is not None}


def _drawn(draw: Draw) -> bytes:
    return png(draw())


def picture_for_page(points: bytes, lines: bytes) -> bytes:
    """The vector picture, sharp at every size, unless it is large and much larger than the one of points.

    In a map the field stays an image of points below vector contours and labels.
    """
    return points if len(lines) > max(LARGE, MOST_TIMES * len(points)) else lines


@styled
def png(figure: Figure) -> bytes:
    """A figure as PNG, the same bytes for the same figure; without transparency, which none has."""
    canvas: Any = FigureCanvasAgg(figure)
    canvas.draw()
    buffer, pixels = io.BytesIO(), np.asarray(canvas.buffer_rgba())
    resolution = (RESOLUTION, RESOLUTION)
    Image.fromarray(pixels).convert("RGB").save(buffer, "png", compress_level=COMPRESSION, dpi=resolution)
    return buffer.getvalue()


@styled
def svg(figure: Figure) -> bytes:
    """A figure as SVG without a date, the same bytes for the same figure, paths to a hundredth of a point."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="svg", dpi=RESOLUTION, metadata={"Date": None, "Creator": None})
    return PATH.sub(lambda path: LONG_NUMBER.sub(_short, path[0]), buffer.getvalue())


def _short(number: re.Match[bytes]) -> bytes:
    text = f"{float(number[0]):.2f}".rstrip("0").rstrip(".")
    return (text if text != "-0" else "0").encode("ascii")
