"""Field of straight filaments in space: bends, ends, loops and twisted cables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from scipy.constants import mu_0
from scipy.special import kv, kvp

from fem.arrays import Floats
from fem.filaments import bundle_field, polyline_field
from studies.section.course import FAR, frames_of
from studies.section.twist import twisted
from studies.study.course import Course
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import BIOT_SAVART, FILAMENT_BENDS, HELICES, LOOP_ON_AXIS

FAMILY = CheckFamily("space")
GAP = 1e-3
"""Distance of neighbouring conductors of the flat run, seen from 1 m: its far field holds to its square. [m]"""
ROUNDING = 1e-9
ENDLESS = "rounding; pieces of 10^6 m miss less than 1e-12"
CHORDS = 360
"""Of the loop; they lie within it, and its area is 5e-5 larger."""


@FAMILY.check("bends-and-ends")
def bends_and_ends() -> Iterator[Checked]:
    """Field at bends and ends of a run."""
    bend: Sequence[Sequence[float]] = [[-FAR, 0, 0], [0, 0, 0], [0, -FAR, 0]]
    line = mu_0 / (2 * np.pi)
    cases: Sequence[tuple[str, Sequence[Sequence[float]], Sequence[float], float]] = (
        ("inside a flat right-angled bend, 1 m from both pieces", bend, [-1, -1, 0], 1 + np.sqrt(0.5)),
        ("outside it, 1 m from both lines", bend, [1, 1, 0], 1 - np.sqrt(0.5)),
        ("1 m beside the end of a run", [[-FAR, 0, 0], [0, 0, 0]], [0, 1, 0], 0.5),
    )
    yield _ratio("1 m beside a long run", [[-FAR, 0, 0], [FAR, 0, 0]], [0, 1, 0], 1.0, line)
    for name, corners, point, exact in cases:
        yield _ratio(name, corners, point, exact, line)
    offsets, currents = GAP * np.array([-1, 0, 1]), np.exp(-2j * np.pi / 3 * np.arange(3))
    above = np.array([[0, 0, 1.0]])
    bent = np.array([[[-FAR, k, 0], [k, k, 0], [k, -FAR, 0]] for k in offsets])
    straight = np.array([[[-FAR, k, 0], [FAR, k, 0]] for k in offsets])
    one, other = (np.linalg.norm(polyline_field(lines, currents, above).sum(axis=2)) for lines in (bent, straight))
    yield Checked(
        "B 1 m above the bend of a flat balanced run, over that of the straight run",
        "-",
        FILAMENT_BENDS,
        Method.FORMULA,
        float(np.sqrt(1.5)),
        float(one / other),
        1e-5,
        "next term of the far field, about (1 mm/1 m)^2",
    )


@FAMILY.check("loop")
def loop_on_its_axis() -> Iterator[Checked]:
    """Field of a circular loop on its axis, in chords."""
    turn = np.linspace(0, 2 * np.pi, CHORDS + 1)
    corners = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)[None]
    for height in (0.0, 1.0, 3.0):
        field = polyline_field(corners, np.ones(1, complex), np.array([[0, 0, height]])).sum(axis=2)[0, 2].real
        yield Checked(
            *(f"B {height:g} m along the axis of a loop of 1 A, radius 1 m", "T", LOOP_ON_AXIS, Method.FORMULA),
            *(mu_0 / (2 * (1 + height**2) ** 1.5), float(field), 1e-4),
            "360 chords within the loop: (2 pi/360)^2/6 of its area, and at most as much again",
        )


@FAMILY.check("twist")
def twisted_cores() -> Iterator[Checked]:
    """Decay of the field of three twisted cores."""
    frames = frames_of(Course(path=((-3.0, 0.0, 0.0), (3.0, 0.0, 0.0))))
    currents = np.exp(-2j * np.pi / 3 * np.arange(3))
    for share in (1 / 6, 1 / 2, 5 / 6, 4 / 3):
        radius = share / 200
        offsets = radius * np.array([[np.cos(a), np.sin(a)] for a in 2 * np.pi / 3 * np.arange(3)])
        turned = twisted(frames, np.zeros(2), offsets, 1.0, ("L1", "L2", "L3"))
        point = np.array([[0.1, share, 0.0]])
        own = bundle_field(turned.lines, currents, np.zeros_like(turned.pieces), 1, point)
        flat = polyline_field(frames.lines(offsets), currents, point).sum(axis=2)
        yield Checked(
            *(f"B {share:.3g} lay lengths away, twisted over straight cores", "-", HELICES, Method.FORMULA),
            *(first_harmonic(2 * np.pi * share), float(np.linalg.norm(own) / np.linalg.norm(flat))),
            *(2e-4 + 0.5 * (2 * np.pi * radius) ** 2, "12 chords a turn, and cores of a radius a: 3/8 (2 pi a/lay)^2"),
        )


def first_harmonic(x: float) -> float:
    """Field of three close twisted cores over that of straight ones, x = 2 pi distance/lay length [-]."""
    k, slope = float(kv(1, x)), float(kvp(1, x))
    return float(np.sqrt(((x**2 * slope) ** 2 + (x * k) ** 2 + (x**2 * k) ** 2) / 2))


def _ratio(name: str, corners: Sequence[Sequence[float]], point: Sequence[float], exact: float, line: float) -> Checked:
    """Field of one ampere along a polyline, over that of a line of current at the same distance."""
    lines: Floats = np.array([corners], dtype=np.float64)
    field = polyline_field(lines, np.ones(1, complex), np.array([point], dtype=np.float64)).sum(axis=2)
    source = BIOT_SAVART if exact == 1 else FILAMENT_BENDS
    ratio = float(np.linalg.norm(field) / line)
    return Checked(
        *(f"B {name}, over that of an endless line", "-", source, Method.FORMULA, exact, ratio, ROUNDING), ENDLESS
    )
