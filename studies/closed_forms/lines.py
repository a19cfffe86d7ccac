"""The closed-form formulas beside the results of a study: line currents at the axes, equal sharing, IEC resistances."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from fem.constants import mu_0
from studies.formulas.inductance import (
    bundle_mean_radius,
    equivalent_spacing,
    mean_distance,
    positive_sequence_inductance,
    solid_mean_radius,
)
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import parallel_currents, phase_impedance_matrix
from studies.formulas.resistance import ac_resistance, proximity_factor_three, skin_factor
from studies.section.parts import CrossSection, PhaseTie, StudyPart
from studies.study.phases import LINES
from studies.text.failures import guarded

SKIN_AND_PROXIMITY = "I² R, IEC 60287-1-1 skin and proximity"
SKIN_ONLY = "I² R, IEC 60287-1-1 skin effect alone (its proximity factor is for three single-core cables)"
SHARED = "current shared by the matrix of line impedances"
"""Added if a conductor has parallel ones."""
MOST_PAIRS = 1_000_000
"""Pairs of a point and a line that are evaluated at a time."""
NO_FORMULA = "no simple formula"
NO_VALUE = (float("nan"), "could not be computed")
"""Resistance and method of a conductor whose formula failed."""


@dataclass(frozen=True)
class LineModel:
    """Line currents at the conductors' axes, the phase current shared equally by parallel cables."""

    conductors: tuple[StudyPart, ...]
    axes: Floats
    """Shape (m, 2). [m]"""
    currents: Complexes
    """Shape (m,). [A]"""
    resistances: Floats
    """Ac resistance by IEC 60287-1-1, shape (m,). [ohm/m]"""
    methods: tuple[str, ...]
    """How each resistance was found."""
    mean_radii: Floats
    """Geometric mean radii, shape (m,). [m]"""
    phase_of: Ints
    """Index of the phase of each conductor, shape (m,)."""


def line_model(section: CrossSection) -> LineModel:
    """Line currents and formula resistances of the conductors, but for those whose current a bond decides."""
    given = {name for phase in section.phases for name in _members(section, phase)}
    conductors = tuple(part for part in section.conductors() if part.name in given)
    phase_of, currents = _shares(section, conductors)
    resistances, methods = zip(
        *(
            guarded(f"ac resistance of {part.name} by formula", partial(formula_resistance, section, part), NO_VALUE)
            for part in conductors
        ),
        strict=True,
    )
    radii = np.array([part.cable.layers.conductor_radius for part in conductors if part.cable])
    return LineModel(
        conductors,
        np.array([part.cable.axis for part in conductors if part.cable]),
        currents,
        np.array(resistances),
        methods,
        guarded("geometric mean radius", lambda: solid_mean_radius(radii), np.full(len(radii), np.nan)),
        phase_of,
    )


def of_circuit(section: CrossSection, model: LineModel, circuit: str) -> LineModel:
    """The line currents of one circuit, those of the others zero."""
    own = np.array([section.phases[k].circuit == circuit for k in model.phase_of], dtype=bool)
    return replace(model, currents=np.where(own, model.currents, 0.0))


def formula_field(model: LineModel, points: Floats) -> Complexes:
    """(Bx, By) of the line currents at points (q, 2) [m], shape (q, 2); infinite on an axis. [T]"""
    field = np.full((len(points), 2), np.inf + 0j)
    step = max(MOST_PAIRS // max(len(model.axes), 1), 1)
    for first in range(0, len(points), step):
        some, own = points[first : first + step], field[first : first + step]
        off = ~np.isin(some @ (1, 1j), model.axes @ (1, 1j))
        own[off] = line_field(some[off], model.axes, model.currents)
    return field


def formula_shares(section: CrossSection, model: LineModel, reference_radius: complex) -> Complexes:
    """Currents of the conductors as the line-current impedance matrix shares each phase's, shape (m,). [A]

    Ac resistance by IEC 60287-1-1, geometric mean radius and axis distances; no tray, no screens and no proximity of
    the current within a conductor. Exactly the phase's current if a conductor has no parallel one.
    """
    alone = np.bincount(model.phase_of, minlength=len(section.phases))[model.phase_of] == 1
    if np.all(alone):
        return model.currents
    matrix = line_matrix(section, model, model.mean_radii, model.resistances, reference_radius)
    currents = parallel_currents(matrix, model.phase_of, [phase.current for phase in section.phases])
    return np.where(alone, model.currents, currents)


def shared_model(section: CrossSection, model: LineModel, reference_radius: complex) -> LineModel:
    """The line currents with those of parallel cables as `formula_shares` gives them; the same if there are none."""
    return replace(model, currents=formula_shares(section, model, reference_radius))


def formula_phase_impedances(section: CrossSection, model: LineModel, reference_radius: complex) -> Complexes:
    """u/i of each phase with its own distances, NaN for a phase without current, shape (phases,). [ohm/m]

    Parallel conductors share equally; the voltage of a phase is the mean of its conductors'.
    """
    matrix = line_matrix(section, model, model.mean_radii, model.resistances, reference_radius)
    voltages = matrix @ model.currents
    result = np.full(len(section.phases), np.nan + 0j)
    for k, phase in enumerate(section.phases):
        if phase.current != 0:
            result[k] = voltages[model.phase_of == k].mean() / phase.current
    return result


def formula_sequence_impedances(
    section: CrossSection, model: LineModel, circuit: str
) -> tuple[complex, complex, complex]:
    """Z01, Z11 and Z21 of a circuit with L1, L2 and L3, each with its own distances, alone. [ohm/m]

    Zero-, positive- and negative-sequence voltage of a positive-sequence current of one ampere; parallel conductors
    share equally. The net current is zero: no return path is in it.
    """
    turn = np.exp(-2j * np.pi / 3)
    phases = [phase_index(section, circuit, line) for line in LINES]
    currents = np.zeros(len(model.axes), dtype=np.complex128)
    for k, phase in enumerate(phases):
        own = model.phase_of == phase
        currents[own] = turn**k / np.count_nonzero(own)
    drops = line_matrix(section, model, model.mean_radii, model.resistances, 1.0) @ currents
    first, second, third = (complex(drops[model.phase_of == phase].mean()) for phase in phases)
    zero = (first + second + third) / 3
    positive = (first + second / turn + third / turn**2) / 3
    return zero, positive, (first + second * turn + third * turn**2) / 3


def line_matrix(
    section: CrossSection, model: LineModel, mean_radii: Floats, resistances: Floats, reference_radius: complex
) -> Complexes:
    """Impedance matrix of the line currents, net current returning at a radius [m], complex for the earth. [ohm/m]"""
    distance = abs(reference_radius)
    matrix = phase_impedance_matrix(model.axes, mean_radii, resistances, section.frequency, distance)
    earth = -section.frequency * mu_0 * np.angle(reference_radius)  # w mu0/(2 pi) times minus the angle
    return matrix + earth


def formula_sequence_inductance(section: CrossSection, model: LineModel, circuit: str) -> float | None:
    """(mu0/2 pi) ln(GMD/GMR) of a circuit with L1, L2 and L3, averaged over the phases; else None. [H/m]"""
    bundles = []
    for line in LINES:
        k = phase_index(section, circuit, line)
        if k is None:
            return None
        bundles.append(model.phase_of == k)
    axes = [model.axes[bundle] for bundle in bundles]
    distances = [mean_distance(axes[a], axes[b]) for a, b in ((0, 1), (1, 2), (2, 0))]
    radii = [
        float(bundle_mean_radius(own, model.mean_radii[bundle][0])) for own, bundle in zip(axes, bundles, strict=True)
    ]
    return float(positive_sequence_inductance(equivalent_spacing(*distances), np.prod(radii) ** (1 / 3)))


def formula_sequence_resistance(section: CrossSection, model: LineModel, circuit: str) -> float:
    """Ac resistance of a circuit's phases, parallel cables together, mean of L1, L2 and L3. [ohm/m]"""
    indices = [phase_index(section, circuit, line) for line in LINES]
    return float(np.mean([1 / np.sum(1 / model.resistances[model.phase_of == k]) for k in indices if k is not None]))


def phase_index(section: CrossSection, circuit: str, phase: str) -> int | None:
    """Index among the section's phases, None if the circuit has no such phase."""
    for k, candidate in enumerate(section.phases):
        if (candidate.circuit, candidate.phase) == (circuit, phase):
            return k
    return None


def _shares(section: CrossSection, conductors: tuple[StudyPart, ...]) -> tuple[Ints, Complexes]:
    phase_of, currents = [], []
    for part in conductors:
        k, phase = next((k, phase) for k, phase in enumerate(section.phases) if part.name in _members(section, phase))
        phase_of.append(k)
        currents.append(phase.current / len(_members(section, phase)))
    return np.array(phase_of, dtype=np.int64), np.array(currents, dtype=np.complex128)


def _members(section: CrossSection, phase: PhaseTie) -> tuple[str, ...]:
    return section.ties[phase.tie].parts


def formula_spacing(section: CrossSection, part: StudyPart) -> float:
    """Spacing of the proximity factor of a conductor in a circuit of three cables. [m]

    The geometric mean of the two smaller distances: the spacing of a trefoil, sqrt(s1 s2) of a flat formation.
    """
    axes = np.array([other.axis for other in section.cables if part.cable and other.circuit == part.cable.circuit])
    mutual = np.sort([np.linalg.norm(axes[a] - axes[b]) for a, b in ((0, 1), (1, 2), (2, 0))])
    return float(np.sqrt(mutual[0] * mutual[1]))


def formula_resistance(section: CrossSection, part: StudyPart) -> tuple[float, str]:
    """Ac resistance of a conductor [ohm/m] by IEC 60287-1-1, with its factors for three single-core cables, and how."""
    assert part.cable is not None
    skin = float(skin_factor(part.dc_resistance, section.frequency, part.skin_coefficient))
    own = [other for other in section.cables if other.circuit == part.cable.circuit]
    if len(own) != 3 or {cable.phase for cable in own} != set(LINES):
        return float(ac_resistance(part.dc_resistance, skin, 0.0)), SKIN_ONLY
    spacing = formula_spacing(section, part)
    diameter = 2 * part.cable.layers.conductor_radius
    proximity = float(
        proximity_factor_three(part.dc_resistance, section.frequency, diameter, spacing, part.proximity_coefficient)
    )
    return float(ac_resistance(part.dc_resistance, skin, proximity)), SKIN_AND_PROXIMITY
