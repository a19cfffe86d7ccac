"""The study with one cause less at a time, on the two meshes on which it is solved already.

On the same meshes the errors of two stages are nearly the same and go out of their difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from fem.mesh import RegionMesh
from fem.polarisation import resultant
from fem.ties import Tie
from studies.answers.phases.compute import sequence_matrix
from studies.closed_forms.lines import phase_index
from studies.formulas.line_impedance import parallel_currents
from studies.section.parts import METALWORK, TRAY, CrossSection, StudyPart
from studies.solve.accuracy import Requested, Solved, solve_once
from studies.solve.solution import Solution
from studies.study.phases import LINES

HARDLY = 1e-6
"""Conductivity of what is taken away over its own: its skin depth is a thousand times larger. [-]"""


@dataclass(frozen=True)
class Stage:
    """Numbers of one stage on one mesh."""

    fields: Floats
    """Resultant at each receptor, shape (r,). [T]"""
    loss: float
    """Of the conductors whose currents are given. [W/m]"""
    inductances: Floats
    """Positive sequence of each circuit that has L1, L2 and L3, shape (c,). [H/m]"""


def stages(solution: Solution, receptors: Floats, circuits: Sequence[str]) -> tuple[tuple[Stage, ...], ...]:
    """From all causes to none, six stages on the last mesh, and the same on the one before.

    receptors, shape (r, 2): Places of the fields. [m]
    circuits: Names of the circuits whose inductance is asked for.
    Returns now, before: Each with all causes; without permeability of trays; without their conduction; without screens;
        with uniform current density; and with equal currents as well.
    """
    meshes = solution.solved.fields.mesh, solution.estimate.coarser.mesh
    whole = solution.estimate.now, solution.estimate.before
    return tuple(_on(solution, mesh, own, receptors, circuits) for mesh, own in zip(meshes, whole, strict=True))


def _on(
    solution: Solution, mesh: RegionMesh, whole: Requested, receptors: Floats, circuits: Sequence[str]
) -> tuple[Stage, ...]:
    section = solution.section
    given = [part.name for part in solution.model.conductors]
    found = [_stage(solution, whole, circuits)]
    for change in (without_permeability, without_conduction, without_screens):
        changed = change(section, given)
        if changed == section:
            found.append(found[-1])
        else:
            section = changed
            found.append(_stage(solution, solve_once(section, mesh, receptors, ()).requested, circuits))
    return (*found, *_uniform(solution, section, mesh, receptors, circuits))


def without_permeability(section: CrossSection, _: Sequence[str] = ()) -> CrossSection:
    """Trays and metalwork with the permeability of air."""

    def plain(part: StudyPart) -> StudyPart:
        return replace(part, material=replace(part.material, relative_permeability=1.0), steel=None)

    return _changed(section, [part.name for part in section.parts if part.kind in (TRAY, METALWORK)], plain)


def without_conduction(section: CrossSection, _: Sequence[str] = ()) -> CrossSection:
    """Trays and metalwork that hardly conduct."""
    return _changed(section, [part.name for part in section.parts if part.kind in (TRAY, METALWORK)], _like_air)


def without_screens(section: CrossSection, given: Sequence[str]) -> CrossSection:
    """All metal like air but the conductors whose currents are given."""
    return _changed(section, [part.name for part in section.parts if part.name not in given], _like_air)


def _changed(section: CrossSection, names: Sequence[str], change: object) -> CrossSection:
    assert callable(change)
    parts = tuple(change(part) if part.name in names else part for part in section.parts)
    return section if parts == section.parts else replace(section, parts=parts)


def _like_air(part: StudyPart) -> StudyPart:
    if part.material.conductivity == 0:
        return part
    hardly = replace(part.material, conductivity=part.material.conductivity * HARDLY, relative_permeability=1.0)
    return replace(part, material=hardly, steel=None)


def _stage(solution: Solution, requested: Requested, circuits: Sequence[str]) -> Stage:
    names = solution.solved.fields.part_names
    own = [names.index(part.name) for part in solution.model.conductors]
    matrix = requested.impedances
    return Stage(
        resultant(requested.receptors), float(requested.losses[own].sum()), _inductances(solution, matrix, circuits)
    )


def _uniform(
    solution: Solution, section: CrossSection, mesh: RegionMesh, receptors: Floats, circuits: Sequence[str]
) -> tuple[Stage, Stage]:
    """With uniform current density in every conductor: shared by resistance and inductance, and equally."""
    model = solution.model
    own = [part.name for part in model.conductors]
    ties = [Tie((name,), complex(i)) for name, i in zip(own, model.currents, strict=True)]
    ties += [Tie((part.name,)) for part in section.parts if part.name not in own]
    free = replace(_changed(section, own, _like_air), ties=tuple(ties), phases=(), cross_bonds=(), rungs=())
    solved = solve_once(free, mesh, receptors, ())
    names = solved.fields.part_names
    index = [names.index(name) for name in own]
    resistances = np.array([part.dc_resistance for part in model.conductors])
    voltages = np.linalg.inv(solved.fields.admittance)[:, index]
    matrix = np.diag(resistances) + 1j * voltages[index].imag
    currents = [phase.current for phase in solution.section.phases]
    shared = parallel_currents(matrix, model.phase_of, currents)
    connection = (model.phase_of[:, None] == np.arange(len(currents))).astype(np.float64)
    together = np.linalg.inv(connection.T @ np.linalg.inv(matrix) @ connection)
    equal = connection / connection.sum(axis=0)
    stages_of = []
    for carried, ports in ((shared, together), (model.currents, equal.T @ matrix @ equal)):
        fields = _field(solved, voltages @ carried, receptors)
        loss = float(np.sum(np.abs(carried) ** 2 * resistances))
        stages_of.append(Stage(fields, loss, _inductances(solution, ports, circuits)))
    return stages_of[0], stages_of[1]


def _field(solved: Solved, voltages: Complexes, points: Floats) -> Floats:
    return resultant(solved.probe.flux_density(solved.fields.potential(voltages), points))


def _inductances(solution: Solution, impedances: Complexes, circuits: Sequence[str]) -> Floats:
    """Positive-sequence inductance of each circuit from the impedance matrix of the phases, shape (c,). [H/m]"""
    omega = 2 * np.pi * solution.frequency
    ports = [[phase_index(solution.section, name, line) for line in LINES] for name in circuits]
    return np.array([sequence_matrix(impedances[np.ix_(p, p)])[1, 1].imag / omega for p in ports])  # type: ignore[arg-type]
