"""The floor of an open tray, which closed forms take for an infinite plate."""

from __future__ import annotations

from geometry.shapes import Wall
from studies.section.parts import TRAY, CrossSection, StudyPart


def only_open_floor(section: CrossSection) -> tuple[StudyPart, tuple[float, float], float, float] | None:
    """The floor of the section's one open tray: part, middle of its top face, width and thickness [m]; else None."""
    trays = [part for part in section.parts if part.kind == TRAY]
    if len(trays) != 1 or not isinstance(trays[0].shape, Wall) or trays[0].shape.closed:
        return None
    runs = trays[0].shape.runs()
    flat = [run for run in runs if abs(run[2][1] - run[3][1]) < 1e-9 * abs(run[2][0] - run[3][0])]
    if len(flat) != 1:
        return None
    right_start, _, left_end, left_start = flat[0]
    top = max(left_start[1], right_start[1])
    width = abs(left_end[0] - left_start[0])
    return trays[0], ((left_start[0] + left_end[0]) / 2, top), width, abs(left_start[1] - right_start[1])
