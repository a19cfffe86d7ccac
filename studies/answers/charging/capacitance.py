"""Capacitance matrix of the cables with its errors, and charging currents beside the formulas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from fem.arrays import Complexes, Floats
from geometry.cable import CableConstruction
from geometry.clearance import polygon
from studies.answers.charging.electrodes import bodies, metal_radius, solve_bodies, solve_inside, step
from studies.data.permittivities import Dielectrics
from studies.formulas.capacitance import (
    coaxial_capacitance,
    line_capacitance_matrix,
    line_capacitance_matrix_over_plane,
    transposed_capacitance,
)
from studies.formulas.inductance import equivalent_spacing
from studies.formulas.unbalance import z_deviation
from studies.section.parts import CrossSection, PlacedCable
from studies.solve.accuracy import SAFETY
from studies.solve.two_meshes import FINENESS
from studies.study.phases import LINES, PHASE_ANGLES

INSIDE_SCREEN, FINITE_ELEMENT = "finite element, inside the screen", "finite element"

SHARES = (0.045, 0.09, 0.18)
"""Shares of its electrical thickness by which a cable that touches something is drawn smaller. [-]"""
FAR_EARTH = 1000.0
"""Distance of the earth at potential zero where there is no metal. [m]"""
LEVEL = 1e-3
"""Heights of the floor under several cables that differ by less are one. [m]"""


@dataclass(frozen=True)
class Capacitances:
    """Maxwell capacitance matrix of all cables, q = C V, metal layers and metalwork at earth."""

    cables: tuple[PlacedCable, ...]
    methods: tuple[str, ...]
    """Of each cable: by finite elements inside its screen, or together with all others."""
    matrix: Floats
    """Shape (n, n). [F/m]"""
    mesh_error: Floats
    """Estimate from two meshes, shape (n, n). [F/m]"""
    gap_error: Floats
    """Estimate of what is left of the effect of narrow gaps at touching cables, shape (n, n). [F/m]"""
    shrunk: tuple[str, ...]
    """Labels of the cables with such a gap."""
    gap: Floats | None = None
    """The middle one of the gaps, shape (n,), 0 for cables that touch nothing. [m]"""
    with_gap: Floats | None = None
    """The matrix with these gaps, shape (n, n). [F/m]"""

    @property
    def error(self) -> Floats:
        """Both together, shape (n, n). [F/m]"""
        return self.mesh_error + self.gap_error


@dataclass(frozen=True)
class Charging:
    """Charging current of one phase of a circuit."""

    circuit: str
    phase: str
    current: complex
    """Rms phasor, the voltage of L1 at angle 0. [A/m]"""
    error: float
    """Estimate of the error of its magnitude. [A/m]"""
    capacitance: float
    """To neutral, of all cables of the phase: imaginary part of i/V over w. [F/m]"""
    formulas: Mapping[str, float]
    """Capacitance to neutral of the phase by formulas, by their names. [F/m]"""


def capacitances(
    section: CrossSection,
    dielectrics: Mapping[str, Dielectrics],
    shares: tuple[float, float, float] = SHARES,
    fineness: tuple[float, float] = FINENESS,
) -> Capacitances:
    """Capacitances of all cables of a cross-section.

    shares: Shares of its electrical thickness by which a cable that touches something is drawn smaller, rising. [-]
    fineness: Fineness of the coarser and the finer mesh. [-]

    A cable with a layer of metal, which is at earth: what is inside of it, nothing else is felt. The others together:
    insulation and jacket with their permittivities, metalwork and screens at earth, air without end. Cables that touch
    something are drawn smaller in three steps, and the limit of a vanishing gap follows from them, see
    `vanishing_gap`; the finer mesh, which tells the error of the mesh, is of the middle one. Without metal the far
    earth is 1000 m away, which balanced voltages do not feel.
    """
    _require(section, dielectrics)
    n = len(section.cables)
    matrix, mesh_error, gap_error = np.zeros((n, n)), np.zeros((n, n)), np.zeros((n, n))
    unscreened = [k for k, cable in enumerate(section.cables) if metal_radius(cable) is None]
    inside: dict[tuple[CableConstruction, Dielectrics], tuple[float, float]] = {}
    for k in set(range(n)) - set(unscreened):
        cable, materials = section.cables[k], dielectrics[section.cables[k].circuit]
        key = (cable.layers, materials)
        if key not in inside:
            before, now = (solve_inside(cable, materials, one) for one in fineness)
            inside[key] = now, SAFETY * abs(now - before)
        matrix[k, k], mesh_error[k, k] = inside[key]
    shrunk: tuple[str, ...] = ()
    gap = with_gap = None
    if unscreened:
        chosen = np.ix_(unscreened, unscreened)
        middle = bodies(section, dielectrics, shares[1])
        shrunk = middle.shrunk
        coarse, fine = (solve_bodies(middle, one).capacitance for one in fineness)
        matrix[chosen], mesh_error[chosen] = fine, SAFETY * np.abs(fine - coarse)
        if shrunk:
            narrow, wide = (
                solve_bodies(bodies(section, dielectrics, one), fineness[0]).capacitance for one in shares[::2]
            )
            touching, left = vanishing_gap(shares, np.array([narrow, coarse, wide]))
            with_gap = matrix.copy()
            gap = np.array(
                [shares[1] * step(c, dielectrics[c.circuit]) if c.label in shrunk else 0.0 for c in section.cables]
            )
            matrix[chosen] += touching - coarse
            gap_error[chosen] = left
    methods = tuple(FINITE_ELEMENT if k in unscreened else INSIDE_SCREEN for k in range(n))
    return Capacitances(section.cables, methods, matrix, mesh_error, gap_error, shrunk, gap, with_gap)


def vanishing_gap(shares: Sequence[float], values: Floats) -> tuple[Floats, Floats]:
    """Limit of a value known at three gaps as they vanish, and an estimate of its error.

    shares: Gaps over the electrical thickness of the dielectric that they are in series with, rising. [-]
    values: Values at these gaps, shape (3, ...). [F/m]

    A parabola in x = 1 - 1/sqrt(1 + t): across the line of contact of round things the capacitance is
    int dx/(d + g + x^2/R), in proportion to 1/sqrt(1 + g/d), so that it is nearly straight in x. The estimate is the
    distance of the limit from that of the straight line through the two narrowest gaps, which is off by one order
    more.
    """
    x = 1 - 1 / np.sqrt(1 + np.asarray(shares, dtype=np.float64))
    straight: Floats = (values[0] * x[1] - values[1] * x[0]) / (x[1] - x[0])
    wider = (values[1] * x[2] - values[2] * x[1]) / (x[2] - x[1])
    limit: Floats = (straight * x[2] - wider * x[0]) / (x[2] - x[0])  # Neville's scheme
    return limit, np.abs(limit - straight)


def charging(
    section: CrossSection,
    found: Capacitances,
    dielectrics: Mapping[str, Dielectrics],
    line_voltages: Mapping[str, float],
    displacement: complex = 0j,
) -> tuple[Charging, ...]:
    """Charging currents of circuits at balanced voltages.

    dielectrics: By circuit, for the formulas.
    line_voltages: Line to line voltage of each circuit that is live; the others, N and PE are at earth. [V]
    displacement: Voltage of the supply's neutral against earth, see `neutral_displacement`. [V]

    i = j w C V, summed over the parallel cables of a phase; L1, L2, L3 at 0, -120, +120 deg, and the voltages of
    several live circuits in step.
    """
    voltages = _voltages(found.cables, line_voltages)
    omega = 2 * np.pi * section.frequency
    sums = phase_sums(found, line_voltages, section.frequency, displacement)
    results = []
    for circuit in dict.fromkeys(circuit for circuit, _ in sums):
        formulas = _formulas(section, circuit, dielectrics, voltages, found)
        for phase in LINES:
            if (circuit, phase) not in sums:
                continue
            current, error = sums[circuit, phase]
            voltage = next(
                v for v, c in zip(voltages, found.cables, strict=True) if (c.circuit, c.phase) == (circuit, phase)
            )
            values = {name: value[phase] for name, value in formulas.items()}
            results.append(Charging(circuit, phase, current, error, float((current / voltage).imag / omega), values))
    return tuple(results)


def phase_sums(
    found: Capacitances, line_voltages: Mapping[str, float], frequency: float, displacement: complex = 0j
) -> dict[tuple[str, str], tuple[complex, float]]:
    """Rms phasor of the charging current of each live phase, by circuit and phase, and its error estimate. [A/m]"""
    voltages = _voltages(found.cables, line_voltages) + displacement * _of_supply(found.cables, line_voltages)
    omega = 2 * np.pi * frequency
    currents = 1j * omega * found.matrix @ voltages
    errors = omega * found.error @ np.abs(voltages)
    sums: dict[tuple[str, str], tuple[complex, float]] = {}
    for k, cable in enumerate(found.cables):
        if cable.circuit in line_voltages and cable.phase in LINES:
            current, error = sums.get((cable.circuit, cable.phase), (0j, 0.0))
            sums[cable.circuit, cable.phase] = current + complex(currents[k]), error + float(errors[k])
    return sums


def neutral_displacement(run: Sequence[tuple[Capacitances, float]], line_voltages: Mapping[str, float]) -> complex:
    """Voltage against earth of the neutral of a supply that is insulated from it. [V]

    run: What the supply feeds, section by section with its length. [m]
    line_voltages: Line to line voltage of each circuit of the supply, all in step. [V]

    No charging current returns by the earth: 1' C (V + V0 1) = 0 over the phases and neutrals of the circuits, so that
    V0 = - 1' C V / 1' C 1.
    """
    charge, capacitance = 0j, 0.0
    for found, length in run:
        live = _of_supply(found.cables, line_voltages)
        charge += length * complex(live @ found.matrix @ _voltages(found.cables, line_voltages))
        capacitance += length * float(live @ found.matrix @ live)
    return -charge / capacitance


def neutral_displacement_error(
    run: Sequence[tuple[Capacitances, float]], line_voltages: Mapping[str, float], displacement: complex
) -> float:
    """Estimate of the error of `neutral_displacement`, all errors of the matrices taken to add up. [V]"""
    off, capacitance = 0.0, 0.0
    for found, length in run:
        live = _of_supply(found.cables, line_voltages)
        off += length * float(live @ found.error @ np.abs(_voltages(found.cables, line_voltages) + displacement))
        capacitance += length * float(live @ found.matrix @ live)
    return off / capacitance


def _of_supply(cables: tuple[PlacedCable, ...], line_voltages: Mapping[str, float]) -> Floats:
    """1 for the phases and neutrals of live circuits, else 0, shape (n,)."""
    live = [cable.circuit in line_voltages and cable.phase in (*LINES, "N") for cable in cables]
    return np.array(live, dtype=np.float64)


def with_labels(found: Capacitances, phases: Mapping[str, Sequence[str]]) -> Capacitances:
    """The same cables with other phase labels, by position in the circuits that are named."""
    cables = tuple(
        replace(cable, phase=phases[cable.circuit][cable.position - 1]) if cable.circuit in phases else cable
        for cable in found.cables
    )
    return replace(found, cables=cables)


def current_deviation(currents: Sequence[complex]) -> float:
    """Largest deviation of a phase's charging current from the mean magnitude, over the mean: NEMA's rule. [-]"""
    return float(z_deviation(np.abs(currents)))


def current_deviation_error(currents: Sequence[complex], errors: Sequence[float]) -> float:
    """Estimate of the error of `current_deviation`: deviation and mean each off by the largest error. [-]"""
    return float((2 + current_deviation(currents)) * max(errors) / np.abs(currents).mean())


def floor_height(section: CrossSection, cables: tuple[PlacedCable, ...]) -> float | None:
    """Height of the level metal right under all of some cables; None where there is none or it is not level. [m]"""
    metal = [polygon(part.shape) for part in section.parts if part.cable is None]
    heights = []
    for cable in cables:
        x, y = cable.axis
        below = shapely.LineString([(x, y - 1e3), (x, y)])
        tops = [float(shape.intersection(below).bounds[3]) for shape in metal if shape.intersects(below)]
        if not tops:
            return None
        heights.append(max(tops))
    return max(heights) if heights and max(heights) - min(heights) < LEVEL else None


def _require(section: CrossSection, dielectrics: Mapping[str, Dielectrics]) -> None:
    missing = sorted({cable.circuit for cable in section.cables} - set(dielectrics))
    if missing:
        raise ValueError(f"no permittivities are given for circuits {', '.join(missing)}")


def _coaxial(cable: PlacedCable, dielectrics: Mapping[str, Dielectrics]) -> float:
    inner = min(inside for inside, _ in cable.layers.tubes.values())
    permittivity = dielectrics[cable.circuit].insulation.relative_permittivity
    return float(coaxial_capacitance(2 * cable.layers.conductor_radius, 2 * inner, permittivity))


def _voltages(cables: tuple[PlacedCable, ...], line_voltages: Mapping[str, float]) -> Complexes:
    unknown = sorted(set(line_voltages) - {cable.circuit for cable in cables})
    if unknown:
        raise ValueError(f"there are no circuits {', '.join(unknown)}")
    phasors = [
        line_voltages.get(cable.circuit, 0.0) / np.sqrt(3) * np.exp(1j * angle)
        if (angle := PHASE_ANGLES[cable.phase]) is not None
        else 0j
        for cable in cables
    ]
    return np.array(phasors, dtype=np.complex128)


def _formulas(
    section: CrossSection,
    circuit: str,
    dielectrics: Mapping[str, Dielectrics],
    voltages: Complexes,
    found: Capacitances,
) -> dict[str, dict[str, float]]:
    """Capacitance to neutral of each phase by each formula that applies. [F/m]"""
    own = [k for k, cable in enumerate(found.cables) if cable.circuit == circuit]
    if found.methods[own[0]] == INSIDE_SCREEN:
        exact = _coaxial(found.cables[own[0]], dielectrics)
        return {"coaxial": {phase: exact * sum(found.cables[k].phase == phase for k in own) for phase in LINES}}
    free = [k for k, method in enumerate(found.methods) if method == FINITE_ELEMENT]
    cables = tuple(found.cables[k] for k in free)
    axes = np.array([cable.axis for cable in cables])
    cores = np.array([cable.layers.conductor_radius for cable in cables])
    outer = np.array([cable.layers.outer_radius for cable in cables])
    effective = np.array([_series_permittivity(cable, dielectrics[cable.circuit]) for cable in cables])
    matrices = {"line charges in air": line_capacitance_matrix(axes, cores, outer, effective, FAR_EARTH)}
    floor = floor_height(section, cables)
    if floor is not None:
        level = np.maximum(axes - (0.0, floor), (-np.inf, 0.0))
        level[:, 1] = np.maximum(level[:, 1], outer)  # resting cables may be sunk by the rounding of positions
        matrices["line charges over the floor"] = line_capacitance_matrix_over_plane(level, cores, outer, effective)
    result = {name: _to_neutral(matrix, voltages[free], cables, circuit) for name, matrix in matrices.items()}
    if len(own) == 3 and {found.cables[k].phase for k in own} == set(LINES):
        places = [np.asarray(found.cables[k].axis) for k in own]
        gaps = [float(np.linalg.norm(places[a] - places[b])) for a, b in ((0, 1), (1, 2), (2, 0))]
        bare = float(transposed_capacitance(equivalent_spacing(*gaps), found.cables[own[0]].layers.conductor_radius))
        result["GMD, bare in air"] = dict.fromkeys(LINES, bare)
    return result


def _to_neutral(matrix: Floats, live: Complexes, cables: tuple[PlacedCable, ...], circuit: str) -> dict[str, float]:
    """Charge over voltage of each phase of a circuit, its parallel cables together. [F/m]"""
    return {
        phase: float(
            sum(
                (matrix[n] @ live / live[n]).real
                for n, cable in enumerate(cables)
                if (cable.circuit, cable.phase) == (circuit, phase)
            )
        )
        for phase in LINES
    }


def _series_permittivity(cable: PlacedCable, materials: Dielectrics) -> float:
    """One permittivity from conductor to outside with the capacitance of insulation and jacket in series. [-]"""
    core, over, outer = (
        cable.layers.conductor_radius,
        cable.layers.screen_inner_radius,
        cable.layers.outer_radius,
    )
    insulation = np.log(over / core) / materials.insulation.relative_permittivity
    jacket = np.log(outer / over) / materials.jacket.relative_permittivity
    return float(np.log(outer / core) / (insulation + jacket))
