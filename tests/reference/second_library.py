"""Cross-sections solved a second time with NGSolve: numbers against which the project's own solver is held.

Nothing is shared with the project: own geometry and mesh, curved elements of high order, and an open boundary by
inversion (the Laplacian keeps its form under X = R^2 d/|d|^2, so air to infinity is a second disc). The field is also
computed by a second route, the integral over current density and magnetisation. Run as a module, this solves
`second_library_cases` and writes the values, which tests can read without the library.
"""

import argparse
import json
import math
from dataclasses import asdict, dataclass
from pathlib import Path
from time import perf_counter

import ngsolve as ng
import numpy as np
from numpy.typing import ArrayLike

from fem.arrays import Complexes, Floats
from tests.reference.second_library_cases import CASES, POINTS, Case, Group, Layout, case_inputs
from tests.reference.second_library_mesh import MU_0, Disc, Numerics, mesh_layout, region, surrounding_disc


@dataclass(frozen=True)
class PartResult:
    """Voltage drop, current and loss of one part."""

    name: str
    voltage: complex  # [V/m]
    current: complex  # [A]
    loss: float  # [W/m]


@dataclass(frozen=True)
class ReferenceResult:
    """What one solve gives; phasors rms."""

    parts: tuple[PartResult, ...]
    flux_density: Complexes  # Bx, By from the gradient of A, one row a point [T]
    flux_density_from_sources: Complexes  # by integration over J and M; only for points off the metal [T]
    unknowns: int  # [-]
    seconds: float  # run time [s]


def solve_reference(
    layout: Layout, frequency: float, points: ArrayLike, numerics: Numerics | None = None
) -> ReferenceResult:
    """Voltages, currents, losses and field of a layout of parallel parts in open air.

    `layout`: parts and circuits; all currents together must be zero.
    `frequency`: frequency f, above 0. [Hz]
    `points`, shape (n, 2): x, y of the field points, at any distance. [m]
    `numerics`: order, element sizes and grading. [-]

    The result is in SI units, rms. Solved for a unit voltage on each part; the groups then are a small dense system in
    the admittances. A is pinned near infinity (the middle of the twin disc), which returns any net current; with zero
    total current nothing flows there. Voltages are those for A = 0 at infinity.
    """
    start = perf_counter()
    if not frequency > 0:
        raise ValueError(f"frequency must be above 0 Hz, it is {frequency}")
    numerics = numerics or Numerics()
    omega = 2 * math.pi * frequency
    groups = _all_groups(layout)
    disc = surrounding_disc(layout, numerics)
    mesh = mesh_layout(layout, frequency, disc, numerics)
    sigma = mesh.MaterialCF({region(k): part.conductivity for k, part in enumerate(layout.parts)}, default=0)
    mu_r = mesh.MaterialCF({region(k): part.relative_permeability for k, part in enumerate(layout.parts)}, default=1)
    potential = ng.GridFunction(ng.Periodic(ng.H1(mesh, order=numerics.order, complex=True)))
    admittance, of_unit_voltages = _solve_unit_voltages(potential.space, layout, omega, sigma, mu_r, disc)

    names = [part.name for part in layout.parts]
    member = np.array([[name in group.parts for group in groups] for name in names], dtype=float)
    totals = np.array([group.current for group in groups])
    voltages = member @ np.linalg.solve(member.T @ admittance @ member, totals)
    currents = admittance @ voltages
    potential.vec.FV().NumPy()[:] = voltages @ of_unit_voltages

    voltage = mesh.MaterialCF({region(k): value for k, value in enumerate(voltages.tolist())}, default=0)
    electric = voltage - 1j * omega * potential
    heat = sigma * (electric.real**2 + electric.imag**2)
    order = 2 * numerics.order + 4  # of quadrature: products of two fields, and curved edges
    losses = [ng.Integrate(heat, mesh, definedon=mesh.Materials(region(k)), order=order) for k in range(len(names))]
    slope = ng.grad(potential)
    sources = (sigma * electric, (1 - 1 / mu_r) / MU_0 * ng.CF((slope[1], -slope[0])))
    at = np.atleast_2d(np.asarray(points, dtype=float))
    voltages = voltages - 1j * omega * potential(mesh(*disc.twin))  # A = 0 at infinity
    return ReferenceResult(
        tuple(PartResult(*row) for row in zip(names, voltages.tolist(), currents.tolist(), losses, strict=True)),
        np.array([_flux_from_potential(mesh, slope, disc, point) for point in at]),
        np.array([_flux_from_sources(mesh, sources, point, order) for point in at]),
        potential.space.ndof,
        perf_counter() - start,
    )


def _solve_unit_voltages(
    space: ng.FESpace,
    layout: Layout,
    omega: float,
    sigma: ng.CoefficientFunction,
    mu_r: ng.CoefficientFunction,
    disc: Disc,
) -> tuple[Complexes, Complexes]:
    """Admittance matrix [S m] and, one row a part, the coefficients of A for a unit voltage on that part [Wb/m]."""
    trial, test = space.TnT()
    stiffness = ng.BilinearForm(space, symmetric=True)
    integrand = ng.grad(trial) * ng.grad(test) / mu_r + 1j * omega * MU_0 * sigma * trial * test
    stiffness += integrand * ng.dx(bonus_intorder=4)  # on curved elements the Jacobian adds degrees
    stiffness.Assemble()
    free = ng.BitArray(space.FreeDofs())
    distances = [math.dist(vertex.point, disc.twin) for vertex in space.mesh.vertices]
    for dof in space.GetDofNrs(ng.NodeId(ng.VERTEX, int(np.argmin(distances)))):
        free[dof] = False
    inverse = stiffness.mat.Inverse(free, inverse="sparsecholesky")

    loads, solutions, conductances = [], [], []
    solution = ng.GridFunction(space)
    for k, part in enumerate(layout.parts):
        metal = space.mesh.Materials(region(k))
        load = ng.LinearForm(part.conductivity * test * ng.dx(definedon=metal, bonus_intorder=4)).Assemble()
        solution.vec.data = inverse * load.vec
        loads.append(load.vec.FV().NumPy().copy())
        solutions.append(MU_0 * solution.vec.FV().NumPy())
        conductances.append(part.conductivity * ng.Integrate(1.0, space.mesh, definedon=metal, order=20))
    of_unit_voltages: Complexes = np.array(solutions)
    admittance: Complexes = np.diag(conductances) - 1j * omega * np.array(loads) @ of_unit_voltages.T
    return admittance, of_unit_voltages


def _all_groups(layout: Layout) -> tuple[Group, ...]:
    """The groups given and one for each open part."""
    total = sum(group.current for group in layout.groups)
    if abs(total) > 1e-9 * sum(abs(group.current) for group in layout.groups):
        raise ValueError(f"the currents of all groups must add up to zero, they add up to {total} A")
    grouped = [name for group in layout.groups for name in group.parts]
    names = [part.name for part in layout.parts]
    if len(set(grouped)) < len(grouped) or not set(grouped) <= set(names) or len(set(names)) < len(names):
        raise ValueError(f"each part needs a name of its own and at most one group: parts {names}, grouped {grouped}")
    return layout.groups + tuple(Group((name,)) for name in names if name not in grouped)


def _flux_from_potential(mesh: ng.Mesh, slope: ng.CoefficientFunction, disc: Disc, point: Floats) -> Complexes:
    """Bx, By from the gradient of A, through the inversion where the point is outside the disc. [T]"""
    d = point - disc.centre
    distance = math.hypot(*d)
    if distance <= disc.radius:
        dx, dy = slope(mesh(*point))
        return np.array([dy, -dx])
    scale = disc.radius**2 / distance**2
    jacobian = scale * (np.eye(2) - 2 * np.outer(d, d) / distance**2)
    dx, dy = jacobian @ np.array(slope(mesh(*(disc.twin + scale * d))))
    return np.array([dy, -dx])


def _flux_from_sources(
    mesh: ng.Mesh,
    sources: tuple[ng.CoefficientFunction, ng.CoefficientFunction],
    point: Floats,
    order: int,
) -> Complexes:
    """Bx, By of the current density and of the magnetisation, each as in free space. [T]"""
    current, moment = sources
    s = ng.CF((point[0] - ng.x, point[1] - ng.y))
    s2 = s * s
    of_current = current * ng.CF((-s[1], s[0])) / s2
    of_moment = 2 * (moment * s) * s / s2**2 - moment / s2
    metal = mesh.Materials("part.*")
    total = ng.Integrate(of_current + of_moment, mesh, definedon=metal, order=order)
    return np.array([MU_0 / (2 * math.pi) * component for component in total])


FINE = Numerics(order=7, size=0.6, corner_levels=8)  # gives the values
CHECK = Numerics(order=6, size=0.8, corner_levels=6, disc_factor=2.0)  # differs in every choice: gives their error
VALUES = Path(__file__).with_name("second_library_values.json")


def solve_case(case: Case) -> tuple[dict[str, object], float]:
    """Inputs, values and estimated errors of one case as plain data, and the run time. [s]"""
    fine, check = (solve_reference(case.layout, case.frequency, POINTS, numerics) for numerics in (FINE, CHECK))
    largest = max(abs(part.current) for part in fine.parts)
    b = np.linalg.norm(fine.flux_density, axis=1)
    pairs = list(zip(fine.parts, check.parts, strict=True))
    others = (fine.flux_density_from_sources, check.flux_density_from_sources)
    parts = [
        {
            "name": part.name,
            "voltage_v_per_m": _phasor(part.voltage, abs(part.voltage)),
            "current_a": _phasor(part.current, largest),
            "loss_w_per_m": _phasor(part.loss, part.loss)[0],
        }
        for part in fine.parts
    ]
    points = [
        {"x_m": x, "y_m": y, "b_x_t": _phasor(bx, size), "b_y_t": _phasor(by, size), "b_rms_t": _phasor(size, size)[0]}
        for (x, y), (bx, by), size in zip(POINTS, fine.flux_density.tolist(), b.tolist(), strict=True)
    ]
    errors = {
        "loss": max(abs(other.loss / part.loss - 1) for part, other in pairs),
        "voltage": max(abs(other.voltage / part.voltage - 1) for part, other in pairs),
        "current_over_largest": max(abs(other.current - part.current) for part, other in pairs) / largest,
        "flux_density": max((np.linalg.norm(other - fine.flux_density, axis=1) / b).max() for other in others),
    }
    record: dict[str, object] = {
        "title": case.title,
        "inputs": case_inputs(case),
        "parts": parts,
        "points": points,
        "relative_error_estimate": {name: float(f"{max(error, 1e-10):.0e}") for name, error in errors.items()},
    }
    return record, fine.seconds + check.seconds


def _phasor(value: complex, scale: float) -> list[float]:
    """Real and imaginary part to nine digits of the scale, so that a second run writes the same."""
    return [float(f"{round(part / scale, 9) * scale:.10g}") + 0.0 for part in (value.real, value.imag)]


def main() -> None:
    """Solve all cases and write their values."""
    parser = argparse.ArgumentParser(description="Solve the reference cases with NGSolve and write their values.")
    parser.add_argument("-o", "--output", type=Path, default=VALUES, help="file to write (default: %(default)s)")
    output: Path = parser.parse_args().output
    cases: dict[str, dict[str, object]] = {}
    for name, case in CASES.items():
        cases[name], seconds = solve_case(case)
        print(f"{name}: {seconds:.1f} s, relative errors {cases[name]['relative_error_estimate']}")
    content = {
        "library": {"ngsolve": ng.__version__},
        "conventions": (
            "SI, rms phasors [re, im], e^{+jwt}; E = u - jwA with A = 0 at infinity; b_rms_t = sqrt(|Bx|^2 + |By|^2); "
            "error estimates are the largest relative change over a case to a solve with other mesh, order, corner "
            "grading and disc; flux density: to the integral over J and M, both of the same and of the other solve"
        ),
        "numerics": {"values": asdict(FINE), "compared_with": asdict(CHECK)},
        "cases": cases,
    }
    output.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
    print(f"wrote {output}")


if __name__ == "__main__":
    main()
