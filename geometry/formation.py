"""Cable axes of a formation: flat, trefoil, or at given positions.

Every function returns the axes as an array of shape (n, 2), x to the right and y up. [m]
`rests_at` is the point under the middle of the formation at the height of its lowest point, where it touches the floor.
"""

import math
from collections.abc import Sequence

import numpy as np

from geometry.arrays import Floats
from geometry.dimensions import require_length
from geometry.loops import Point


def flat(count: int, spacing: float, diameter: float, rests_at: Point = (0.0, 0.0)) -> Floats:
    """Axes of cables side by side in one layer, left to right.

    count: Number of cables, 1 or more. [-]
    spacing: Distance from axis to axis of neighbours, above 0. [m]
    diameter: Overall diameter of a cable, above 0. [m]
    rests_at: Point under the middle of the formation on its lowest tangent. [m]
    Returns axes, shape (count, 2): Cable axes. [m]
    """
    _check_count(count)
    require_length("spacing", spacing)
    require_length("diameter", diameter)
    x0, y0 = _checked_point(rests_at)
    x = x0 + spacing * (np.arange(count) - (count - 1) / 2)
    return np.column_stack((x, np.full(count, y0 + diameter / 2)))


def flat_with_clear_gap(count: int, clear_gap: float, diameter: float, rests_at: Point = (0.0, 0.0)) -> Floats:
    """Axes of cables side by side with a clear gap between neighbours, left to right.

    count: Number of cables, 1 or more. [-]
    clear_gap: Distance from surface to surface of neighbours; 0 for touching cables. [m]
    diameter: Overall diameter of a cable, above 0. [m]
    rests_at: Point under the middle of the formation on its lowest tangent. [m]
    Returns axes, shape (count, 2): Cable axes. [m]
    """
    require_length("clear_gap", clear_gap, above=False)
    return flat(count, diameter + clear_gap, diameter, rests_at)


def trefoil(
    groups: int,
    diameter: float,
    rests_at: Point = (0.0, 0.0),
    spacing: float | None = None,
    group_clear_gap: float = 0.0,
) -> Floats:
    """Axes of triangular groups of three cables side by side; in each group left, right, top.

    groups: Number of groups of three cables, 1 or more. [-]
    diameter: Overall diameter of a cable, above 0. [m]
    rests_at: Point under the middle of the formation on its lowest tangent. [m]
    spacing: Distance from axis to axis within a group; the diameter (touching cables) if not given. [m]
    group_clear_gap: Distance from surface to surface of neighbouring groups. [m]
    Returns axes, shape (3 * groups, 2): Cable axes, group by group from the left. [m]
    """
    _check_count(groups)
    side = diameter if spacing is None else spacing
    require_length("diameter", diameter)
    require_length("spacing", side)
    require_length("group_clear_gap", group_clear_gap, above=False)
    x0, y0 = _checked_point(rests_at)
    triangle = np.array([[-side / 2, 0.0], [side / 2, 0.0], [0.0, side * math.sqrt(3) / 2]])
    pitch = side + diameter + group_clear_gap
    centres = pitch * (np.arange(groups) - (groups - 1) / 2)
    offsets = np.column_stack((centres + x0, np.full(groups, y0 + diameter / 2)))
    axes: Floats = (offsets[:, None, :] + triangle[None, :, :]).reshape(-1, 2)
    return axes


def positions(points: Sequence[Point]) -> Floats:
    """Axes at given points, in the given order.

    points: Cable axes, one point or more. [m]
    Returns axes, shape (n, 2): Cable axes. [m]
    """
    _check_count(len(points))
    return np.array([_checked_point(point) for point in points], dtype=np.float64)


def _check_count(count: int) -> None:
    if count < 1:
        raise ValueError(f"a formation has at least one cable or group: {count}")


def _checked_point(point: Point) -> Point:
    x, y = point
    if not (math.isfinite(x) and math.isfinite(y)):
        raise ValueError(f"a point must have two finite coordinates: {point}")
    return float(x), float(y)
