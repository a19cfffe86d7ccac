"""Studies that the figures are drawn of, solved once, and what their labels must keep to."""

import functools
import itertools

import numpy as np

from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies import feeder
from tests.studies.feeder import CIRCUIT, accuracy

HEAD = (
    feeder.HEAD
    + accuracy("5 %")
    + """
[map]
window = [["-1 m", "-0.6 m"], ["1.2 m", "0.8 m"]]
"""
)
TRAY = feeder.TRAY.replace("T1", "Tray 1")
RECEPTORS = """
[[receptors]]
name = "bench"
at = ["0.7 m", "0.4 m"]
limit = "5 uT"

[[receptors]]
name = "second bench"
at = ["0.72 m", "0.4 m"]
limit = "5 uT"

[[receptors]]
name = "desk"
at = ["-0.6 m", "-0.3 m"]
limit = "200 uT"

[[receptors]]
name = "far room"
at = ["9 m", "0 m"]
limit = "1 nT"

[[receptors]]
name = "rack"
at = ["0.02 m", "0.06 m"]
"""
TRAVERSES = """
[[traverses]]
name = "away"
from = ["0.3 m", "0 m"]
to = ["6 m", "0 m"]
points = 41

[[traverses]]
name = "A-way"
from = ["-0.5 m", "1 m"]
to = ["0.5 m", "1 m"]
points = 21
"""


def row_of_cables(count):
    phases = ", ".join(f'"{phase}"' for phase in itertools.islice(itertools.cycle(("L1", "L2", "L3")), count))
    circuit = CIRCUIT.replace('"L1", "L2", "L3"', phases).replace("56 mm", "25 mm")
    return loads(HEAD + circuit + RECEPTORS)


def texts(figure):
    """Every visible text of a figure that is not a tick label."""
    found = [text.get_text() for text in figure.texts]
    for axes in figure.axes:
        found += [axes.get_title(loc="left"), axes.get_xlabel(), axes.get_ylabel()]
        found += [text.get_text() for text in axes.texts]
    return [text for text in found if text]


def label_boxes(figure):
    """Boxes [pixel] of the labels inside the first axes, with their text."""
    figure.canvas.draw()
    return [(text.get_text(), text.get_window_extent()) for text in figure.axes[0].texts if text.get_text()]


def first_point(line):
    """First point of a line in data coordinates, to 0.001."""
    x, y = np.round(np.asarray(line.get_xydata())[0], 3)
    return float(x), float(y)


def assert_apart_and_inside(figure):
    frame = figure.axes[0].get_window_extent()
    boxes = label_boxes(figure)
    assert boxes
    for text, box in boxes:
        assert frame.x0 <= box.x0, text
        assert box.x1 <= frame.x1, text
        assert frame.y0 <= box.y0, text
        assert box.y1 <= frame.y1, text
    for (one, first), (other, second) in itertools.combinations(boxes, 2):
        assert not first.overlaps(second), (one, other)


@functools.cache
def solved() -> Result:
    """A tray, receptors and traverses."""
    return run(loads(HEAD + CIRCUIT + TRAY + RECEPTORS + TRAVERSES))


@functools.cache
def bare_row() -> Result:
    """No tray, no receptor, no traverse; parallel cables."""
    circuit = CIRCUIT.replace('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L2", "L3"]')
    return run(loads(HEAD + circuit))
