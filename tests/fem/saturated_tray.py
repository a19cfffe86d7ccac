"""Three single-core cables in a steel channel, and steel pipes, for the checks of saturating steel."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem.losses import losses
from fem.materials import Material, skin_depth
from fem.nonlinear import SaturatedSolution
from fem.ties import Tie
from geometry.meshing import mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import Disc, Region, Section, Tube
from geometry.sizing import MeshSizes
from tests.channels import channel

FREQUENCY = 50.0  # [Hz]
COPPER = 4.62e7  # 240 mm2 of stranded copper at 70 degC, spread over the full circle [S/m]
STEEL = 6.0e6  # [S/m]
RADIUS = math.sqrt(240e-6 / math.pi)  # of a conductor [m]
CABLE = RADIUS + 3.5e-3  # radius over the jacket [m]
MESH_DEPTH = skin_depth(Material(STEEL, 300.0), FREQUENCY)  # [m]
PARTS = ("a", "b", "c", "tray")


def materials() -> Mapping[str, Material]:
    """Copper and steel; the permeability is that of the curve."""
    copper = Material(COPPER)
    return {"a": copper, "b": copper, "c": copper, "tray": Material(STEEL)}


def three_phase(current: float) -> tuple[Tie, ...]:
    """Balanced rms currents [A] in the cables, none in the tray."""
    turn = np.exp(-2j * np.pi / 3)
    return (*(Tie((name,), current * turn**k) for k, name in enumerate("abc")), Tie(("tray",)))


def tray(fineness: float, covered: bool = False, thickness: float = 1.5e-3) -> SectionMesh:
    """Mesh of three cables 56 mm apart on the floor of a channel 300 mm wide and 100 mm high."""
    depth = skin_depth(Material(COPPER), FREQUENCY)
    cables = [
        Region(name, Disc((x, CABLE), RADIUS), depth) for name, x in zip("abc", (-0.056, 0.0, 0.056), strict=True)
    ]
    wall = channel(0.3, 0.1, thickness, covered)
    return mesh_section(Section((*cables, Region("tray", wall, MESH_DEPTH))), MeshSizes(fineness=fineness))


def pipe(fineness: float, inner: float = 0.04, outer: float = 0.05) -> SectionMesh:
    """Mesh of one conductor in the middle of a steel pipe; radii [m]."""
    regions = Region("a", Disc((0.0, 0.0), RADIUS)), Region("pipe", Tube((0.0, 0.0), inner, outer))
    return mesh_section(Section(regions), MeshSizes(fineness=fineness))


@dataclass(frozen=True)
class TrayLoss:
    """Loss of the tray. [W/m]"""

    joule: float
    magnetic: float


def tray_loss(solution: SaturatedSolution) -> TrayLoss:
    """Loss of the tray with the effective reluctivity."""
    found, _ = losses(solution.fields, solution.drive.voltages)
    return TrayLoss(float(found.joule[PARTS.index("tray")]), float(found.magnetic[PARTS.index("tray")]))
