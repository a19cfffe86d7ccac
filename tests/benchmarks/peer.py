"""The project's solve against a general-purpose finite-element library with compiled kernels, at equal accuracy.

Run as `OMP_NUM_THREADS=1 PYTHONPATH=. python tests/benchmarks/peer.py` (needs the extra `test`, which brings
NGSolve). Both solve 3, 12 and 48 cables in one steel tray: mesh, assembly, one factorisation, all parts as right-hand
sides at once, loss of the tray and field at three points. Of each solver the coarsest choice counts from which on all
finer ones tried have the loss to 0.1 % and the field to 0.5 % of the library's own solution of the seventh degree.
Processor seconds, the best of three runs in one process, and their ratio. `--smallest` solves three cables once with
one choice of each.
"""

import argparse
import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import ngsolve as ng
import numpy as np

from fem.arrays import Complexes, Floats
from geometry.meshing import mesh_section
from geometry.shapes import Disc
from geometry.sizing import MeshSizes
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.solve.accuracy import solve_once
from studies.study.reading import loads
from tests.reference import second_library
from tests.reference.second_library_cases import Group, Layout, Round, Tray
from tests.reference.second_library_mesh import MU_0, Numerics, mesh_layout, region, surrounding_disc

STUDY = """title = "Peer"
frequency = "50 Hz"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "1.7 mm"
jacket = "1.8 mm"
[materials.sheet]
conductivity = "6 MS/m"
relative_permeability = 200
[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "{width} mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "sheet"
[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [{places}]
phases = [{phases}]
current = "400 A"
"""
CABLES = (3, 12, 48)
POINTS = np.array([(1.5, 0.5), (0.0, 1.2), (-1.2, -0.4)])  # [m]
LOSS, FIELD = 1e-3, 5e-3
OURS = (0.5, 0.7, 1.0, 1.5)
"""Fineness of the project's meshes."""
THEIRS = tuple(
    Numerics(order=order, size=size, corner_levels=levels)
    for order, size, levels in (
        (2, 2.0, 2),
        (2, 1.0, 3),
        (3, 2.0, 2),
        (3, 2.0, 4),
        (3, 1.0, 4),
        (4, 2.0, 4),
        (5, 2.0, 6),
    )
)
"""Degree, size factor and refinements of sharp corners of the library's meshes."""
EXACT = Numerics(order=7, size=1.0, corner_levels=7)


@dataclass(frozen=True)
class Found:
    """What one solve gives."""

    loss: float
    """Of the tray. [W/m]"""
    field: Complexes
    """(Bx, By) at the points, shape (n, 2). [T]"""
    unknowns: int

    def errors(self, exact: "Found") -> tuple[float, float]:
        """Relative errors of the loss and of the worst field. [-]"""
        change = np.linalg.norm(self.field - exact.field, axis=1) / np.linalg.norm(exact.field, axis=1)
        return abs(self.loss / exact.loss - 1), float(change.max())


def section_of(cables: int) -> CrossSection:
    """Cables side by side, 30 mm apart, 56 mm if there are three."""
    step = 56.0 if cables == 3 else 30.0
    places = ", ".join(f'["{step * (k - (cables - 1) / 2):.3f} mm", "12.25 mm"]' for k in range(cables))
    phases = ", ".join(f'"L{k % 3 + 1}"' for k in range(cables))
    return cross_section(loads(STUDY.format(width=max(300.0, step * cables + 60), places=places, phases=phases)))


def layout_of(section: CrossSection) -> Layout:
    """The same for the library."""
    materials = section.materials()
    rounds = [
        Round(part.name, part.shape.centre, part.shape.radius, materials[part.name].conductivity)
        for part in section.parts
        if isinstance(part.shape, Disc)
    ]
    steel = materials["T1"]
    inside = 0.3 if len(rounds) == 3 else (30.0 * len(rounds) + 60) * 1e-3
    tray = Tray("T1", inside, 0.1, 1.5e-3, steel.conductivity, complex(steel.relative_permeability).real)
    groups = tuple(Group(tie.parts, tie.current) for tie in section.ties if tie.parts != ("T1",))
    return Layout(tuple(rounds), groups, (tray,))


def by_project(section: CrossSection, fineness: float) -> Found:
    """One solve of the project, mesh included."""
    solved = solve_once(section, mesh_section(section.section(), MeshSizes(fineness=fineness)), POINTS, ())
    tray = [part.name for part in section.parts].index("T1")
    return Found(float(solved.losses.total[tray]), solved.requested.receptors, len(solved.fields.mesh.points))


def by_library(layout: Layout, numerics: Numerics) -> Found:
    """One solve of the library, mesh included, all right-hand sides at once."""
    omega, disc = 2 * math.pi * 50.0, surrounding_disc(layout, numerics)
    mesh, parts = mesh_layout(layout, 50.0, disc, numerics), layout.parts
    sigma = mesh.MaterialCF({region(k): part.conductivity for k, part in enumerate(parts)}, default=0)
    mu_r = mesh.MaterialCF({region(k): part.relative_permeability for k, part in enumerate(parts)}, default=1)
    space = ng.Periodic(ng.H1(mesh, order=numerics.order, complex=True))
    trial, test = space.TnT()
    form = ng.BilinearForm(space, symmetric=True)
    form += (ng.grad(trial) * ng.grad(test) / mu_r + 1j * omega * MU_0 * sigma * trial * test) * ng.dx
    form.Assemble()
    free = ng.BitArray(space.FreeDofs())
    nearest = int(np.argmin([math.dist(vertex.point, disc.twin) for vertex in mesh.vertices]))
    for dof in space.GetDofNrs(ng.NodeId(ng.VERTEX, nearest)):
        free[dof] = False
    potential = ng.GridFunction(space)
    right = ng.MultiVector(potential.vec, len(parts))
    conductances = []
    for k, part in enumerate(parts):
        metal = mesh.Materials(region(k))
        right[k].data = ng.LinearForm(part.conductivity * test * ng.dx(definedon=metal)).Assemble().vec
        conductances.append(part.conductivity * ng.Integrate(1.0, mesh, definedon=metal))
    solved = (form.mat.Inverse(free, inverse="sparsecholesky") * right).Evaluate()
    fields = MU_0 * np.array([solved[k].FV().NumPy() for k in range(len(parts))])
    loads_of = np.array([right[k].FV().NumPy() for k in range(len(parts))])
    admittance = np.diag(conductances) - 1j * omega * loads_of @ fields.T
    groups = second_library._all_groups(layout)
    member = np.array([[part.name in group.parts for group in groups] for part in parts], dtype=float)
    totals = np.array([group.current for group in groups])
    voltages = member @ np.linalg.solve(member.T @ admittance @ member, totals)
    potential.vec.FV().NumPy()[:] = voltages @ fields
    electric = ng.CF(complex(voltages[-1])) - 1j * omega * potential
    heat = parts[-1].conductivity * (electric.real**2 + electric.imag**2)
    loss = ng.Integrate(heat, mesh, definedon=mesh.Materials(region(len(parts) - 1)), order=2 * numerics.order)
    slope = ng.grad(potential)
    field = np.array([second_library._flux_from_potential(mesh, slope, disc, point) for point in POINTS])
    return Found(float(loss), field, space.ndof)


def cheapest(solve: Callable[[int], Found], count: int, exact: Found) -> int:
    """The coarsest choice from which on all finer ones are accurate enough."""
    chosen = count - 1
    for k in range(count - 1, -1, -1):
        loss, field = solve(k).errors(exact)
        if loss > LOSS or field > FIELD:
            break
        chosen = k
    return chosen


def seconds_of(solve: Callable[[], Found], runs: int) -> float:
    """Processor seconds of the fastest run."""
    spent: list[float] = []
    for _ in range(runs):
        start = time.process_time()
        solve()
        spent.append(time.process_time() - start)
    return min(spent)


def line(cables: int, ours: Sequence[float], theirs: Sequence[Numerics], runs: int) -> str:
    """One line of the table."""
    section = section_of(cables)
    layout = layout_of(section)
    exact = by_library(layout, EXACT if len(theirs) > 1 else theirs[0])
    own = cheapest(lambda k: by_project(section, ours[k]), len(ours), exact)
    other = cheapest(lambda k: by_library(layout, theirs[k]), len(theirs), exact)
    found: list[str] = []
    times: Floats = np.array(
        [
            seconds_of(lambda: by_project(section, ours[own]), runs),
            seconds_of(lambda: by_library(layout, theirs[other]), runs),
        ]
    )
    for one in (by_project(section, ours[own]), by_library(layout, theirs[other])):
        loss, field = one.errors(exact)
        found.append(f"{one.unknowns:9d}{100 * loss:8.3f}{100 * field:8.3f}")
    used = theirs[other]
    choice = f"{ours[own]:9g}{f'{used.order}, {used.size:g}, {used.corner_levels}':>12}"
    return f"{cables:6d}{choice}{found[0]}{times[0]:8.3f}{found[1]}{times[1]:8.3f}{times[0] / times[1]:8.3f}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smallest", action="store_true", help="three cables, one choice of each solver, one run")
    smallest = parser.parse_args().smallest
    print("                 degree, size,  ours                            theirs")
    print("cables fineness  corners  unknowns  loss %  field %  cpu s  unknowns  loss %  field %  cpu s   ratio")
    for cables in CABLES[:1] if smallest else CABLES:
        ours, theirs = (OURS[1:2], THEIRS[2:3]) if smallest else (OURS, THEIRS)
        print(line(cables, ours, theirs, 1 if smallest else 3), flush=True)


if __name__ == "__main__":
    main()
