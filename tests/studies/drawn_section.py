"""The drawing of the example study, written as a small DXF file: three cables in a tray, and a pipe."""

import sys
from pathlib import Path

from ezdxf.addons.r12writer import r12writer

RADIUS = 12.2404
"""Of the cables: 240 mm2 and 3.5 mm of insulation and jacket. [mm]"""
SPACING, WIDTH, HEIGHT, THICKNESS = 56.0, 250.0, 60.0, 1.5
"""[mm]"""
PIPE = ((190.0, 40.0), 25.0, 30.0)
"""Centre, inner and outer radius. [mm]"""


def channel() -> list[tuple[float, float]]:
    """Corners of the tray, the middle of its inside floor at the origin. [mm]"""
    half, out = WIDTH / 2, WIDTH / 2 + THICKNESS
    right = [(out, -THICKNESS), (out, HEIGHT), (half, HEIGHT), (half, 0.0)]
    return right + [(-x, y) for x, y in reversed(right)]


def write_drawing(path: Path) -> None:
    """Write the drawing: one layer for each phase, one for the tray, one for the pipe, and a note nobody needs."""
    with r12writer(str(path), fixed_tables=False) as drawing:
        for k in range(3):
            drawing.add_circle(((k - 1) * SPACING, RADIUS), RADIUS, layer=f"PHASE-{k + 1}")
        drawing.add_polyline_2d(channel(), layer="TRAY", closed=True)
        centre, inner, outer = PIPE
        for radius in (inner, outer):
            drawing.add_circle(centre, radius, layer="PIPE")
        drawing.add_text("trench 4", insert=(-120, 80), layer="NOTES")


if __name__ == "__main__":
    write_drawing(Path(sys.argv[1]))
