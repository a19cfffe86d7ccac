"""Small studies of cables with screens, bonds, trays and the earth, and the numbers of their results."""

import functools
import math
from typing import Any

import numpy as np

from studies.answers.losses.rows import PartResult
from studies.answers.phases.rows import PhaseResult
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads

OMEGA = 2 * math.pi * 50
TURN = np.exp(2j * math.pi / 3)
BALANCED = np.array([1, TURN**2, TURN])
CONDUCTOR = math.sqrt(240e-6 / math.pi)
"""Radius. [m]"""
HEAD = """title = "Check"
frequency = "50 Hz"

[cables.plain]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[cables.screened]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "6 mm"
screen = { material = "copper", thickness = "0.3 mm" }
jacket = "2.5 mm"
"""
MEAN = CONDUCTOR + 6.15e-3
"""Mean radius of the screens. [m]"""
OUTER = CONDUCTOR + 8.8e-3
"""Of the screened cable. [m]"""
EARTH = '\n[earth]\nresistivity = "100 ohm*m"\nsurface = "0 m"\n'
UNBALANCED = '{ L1 = ["400 A", "0 deg"], L2 = ["350 A", "-120 deg"], L3 = ["300 A", "120 deg"] }'
POINT = '\n[[receptors]]\nname = "point"\nat = ["0.7 m", "0.5 m"]\n'


def circuit(
    more: str = "",
    *,
    name: str = "F1",
    cable: str = "plain",
    phases: str = "L1 L2 L3",
    current: str = '"400 A"',
    formation: str = 'arrangement = "flat"\nspacing = "70 mm"',
    at: tuple[float, float] = (0.0, 0.0),
) -> str:
    labels = ", ".join(f'"{label}"' for label in phases.split())
    place = f'rests_at = ["{at[0]} mm", "{at[1]} mm"]'
    head = f'\n[[circuits]]\nname = "{name}"\ncable = "{cable}"\n{formation}\n{place}\nphases = [{labels}]\n'
    return f"{head}current = {current}\n{more}\n"


TREFOIL = 'arrangement = "trefoil"'


def bond(*parts: str, more: str = "") -> str:
    listed = ", ".join(f'"{part}"' for part in parts)
    return f"\n[[bonds]]\nparts = [{listed}]\n{more}\n"


def channel(more: str = "", material: str = "aluminium-5052", table: str = "", thickness: float = 2.0) -> str:
    """A tray, a channel if nothing else is said; thickness in mm."""
    head = '\n[[trays]]\nname = "T1"\nrests_at = ["0 mm", "0 mm"]\n'
    sizes = 'profile = "channel"\ninside_width = "250 mm"\ninside_height = "60 mm"\n'
    return f'{head}{table or sizes}thickness = "{thickness:g} mm"\nmaterial = "{material}"\n{more}\n'


@functools.cache
def solved(*blocks: str, tolerance: str = "2 %", frequency: str = "50 Hz") -> Result:
    head = HEAD.replace('"50 Hz"', f'"{frequency}"')
    return run(loads("\n".join([head, *blocks, f'[accuracy]\ntolerance = "{tolerance}"\n'])))


def part(result: Result, name: str) -> PartResult:
    return next(part for part in result.parts if part.part == name)


def phase(result: Result, label: str, name: str = "F1") -> PhaseResult:
    return next(phase for phase in result.phases if (phase.circuit, phase.phase) == (name, label))


def screens(result: Result, name: str = "F1") -> Any:
    return np.array([part(result, f"{name}.{k}.screen").current_a for k in (1, 2, 3)])


def resistance(result: Result, name: str) -> float:
    """Ac resistance of a part that carries current. [ohm/m]"""
    found = part(result, name).r_ac_ohm_per_m
    assert found is not None
    return found


def losses(result: Result) -> dict[str, float]:
    return {loss.part: loss.loss_w_per_m for loss in result.losses}


def field(result: Result) -> float:
    return result.receptors[0].b_rms_t
