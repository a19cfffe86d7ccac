"""Field of runs in space: bends, ends, loops and twisted cables, and a plate below a bend and an end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
from scipy.constants import mu_0
from scipy.special import kv, kvp

from fem.arrays import Floats
from fem.filaments import bundle_field, polyline_field
from studies.answers.space.compute import space_result
from studies.answers.space.rows import SpaceFieldResult
from studies.result import Result
from studies.runner import run
from studies.section.course import FAR, frames_of
from studies.section.twist import twisted
from studies.study.course import Course
from studies.study.reading import loads
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.magnetised_plate import field_of_magnetised
from studies.verify.plate_in_space import FlatPlate, field_of_plate
from studies.verify.sources import BIOT_SAVART, FILAMENT_BENDS, HELICES, LOOP_ON_AXIS, PLATE_CHARGES, PLATE_LOOPS

FAMILY = CheckFamily("space")
GAP = 1e-3
"""Distance of neighbouring conductors of the flat run, seen from 1 m: its far field holds to its square. [m]"""
ROUNDING = 1e-9
ENDLESS = "rounding; pieces of 10^6 m miss less than 1e-12"
CHORDS = 360
"""Of the loop; they lie within it, and its area is 5e-5 larger."""
ABOVE_PLATE = """title = "Feeder above a plate"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "70 degC" }
insulation = "1.5 mm"
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "22 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "plate"
rests_at = ["0 mm", "0 mm"]
width = "300 mm"
thickness = "2 mm"
material = "aluminium-5052"

[accuracy]
tolerance = "2 %"
"""
BENT = """
[course]
path = [["-5 m", "0 m", "0 m"], ["0 m", "0 m", "0 m"], ["0 m", "-5 m", "0 m"]]
"""
ENDING = """
[course]
path = [["-5 m", "0 m", "0 m"], ["0 m", "0 m", "0 m"]]
last_end = "ends"
"""
PLACES = {
    "inside": ((-0.6, -0.6, 0.0), (0.012, 0.015), (0.015, 0.01)),
    "above": ((0.0, 0.0, 1.0), (0.01, 0.025), (0.015, 0.01)),
    "beyond": ((0.7, 0.7, 0.0), (0.015, 0.2), (0.015, 0.025)),
    "below": ((-0.2, -0.2, -0.5), (0.015, 0.035), (0.08, 0.035)),
}
"""Places about the corner [m], with the largest accepted difference of a bend and of an end: aluminium, steel. [-]"""
PERMEABILITY = 300.0
"""Of the plate of steel."""
STEEL = f"""
[materials.steel]                       # magnetisation alone
conductivity = "1 S/m"
relative_permeability = {PERMEABILITY}

[[circuits]]"""


def _study(steel: bool) -> str:
    if not steel:
        return ABOVE_PLATE
    return ABOVE_PLATE.replace("aluminium-5052", "steel").replace("\n[[circuits]]", STEEL)


@cache
def above_plate(steel: bool) -> Result:
    """The cross-section, once for all checks of it."""
    return run(loads(_study(steel)))


@cache
def beside_plate(bends: bool, steel: bool = False) -> tuple[tuple[str, SpaceFieldResult, float], ...]:
    """Name, result and the field of the second method [T] at each place about the bend or end of a plate."""
    at = "".join(
        f'\n[[course.receptors]]\nname = "{name}"\nat = ["{x} m", "{y} m", "{z} m"]\n'
        for name, ((x, y, z), *_) in PLACES.items()
    )
    result = above_plate(steel)
    found = space_result(loads(_study(steel) + (BENT if bends else ENDING) + at), result.solutions)
    assert found is not None
    cables = result.cross_section.cables
    down = 1e-3  # the middle of the plate
    lines = np.array(
        [[[-FAR, -x, y + down], [-x if bends else 0, -x, y + down]] for x, y in (cable.axis for cable in cables)]
    )
    if bends:
        away = np.array([[[-x, -FAR, y + down]] for x, y in (cable.axis for cable in cables)])
        lines = np.concatenate([lines, away], axis=1)
    currents = -400 * np.exp(-2j * np.pi / 3 * np.arange(3))
    points = np.array([(x, y, z + down) for (x, y, z), *_ in PLACES.values()])
    sheet = next(part for part in result.cross_section.parts if part.name == "T1")
    plate = FlatPlate(0.15, 2 * down, sheet.material.conductivity, bends)
    if steel:
        metal = field_of_magnetised(plate, PERMEABILITY, lines, currents, points)
    else:
        metal = field_of_plate(plate, 50.0, lines, currents, points)
    whole = polyline_field(lines, currents, points).sum(axis=2) + metal
    return tuple(zip(PLACES, found.receptors, np.linalg.norm(whole, axis=1).tolist(), strict=True))


@FAMILY.check("plate-in-space")
def plate_below_bend_and_end() -> Iterator[Checked]:
    """Field about the bend and the end of a run above a plate of aluminium or steel, by second methods in space."""
    for steel, metal, source, reason in (
        (False, "aluminium", PLATE_LOOPS, "1 % of the grid, seen beside a straight run"),
        (True, "steel", PLATE_CHARGES, "0.8 % of a plate without thickness, seen beside a straight run"),
    ):
        for bends in (True, False):
            for name, row, other in beside_plate(bends, steel):
                yield Checked(
                    *(f"B {name} the {'bend' if bends else 'end'} of a plate of {metal}", "T", source, Method.STUDY),
                    *(other, row.b_rms_t, PLACES[name][1 + steel][0 if bends else 1]),
                    f"{reason}, and what filaments miss near a corner",
                )


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
