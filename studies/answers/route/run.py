"""A run from supply to load, from one set of sections: its currents, drops, losses and fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.ties import Tie
from studies.answers.route.delivery import Arrived, arrived
from studies.answers.route.profile import Profile, standing_voltages, vectors_along
from studies.answers.route.transposition import Transposed, compare_transpositions
from studies.section.lines import Line, RunSection, SectionMaps, lines_of, ports_of, route_of
from studies.section.run_parts import Route, line_state, section_powers, tied_impedance
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.study.phases import LINES


@dataclass(frozen=True)
class Flow:
    """Currents of a run with their powers and fields."""

    currents: Complexes
    """Of the lines in each section, shape (sections, lines). [A]"""
    powers: Complexes
    """Complex power that enters each line in each section, shape (sections, lines). [VA/m]"""
    fields: Complexes
    """(Bx, By) at each receptor beside each section, not a number where it is not there, shape (sections, r, 2). [T]"""

    @property
    def losses(self) -> Floats:
        """Of each section, shape (sections,). [W/m]"""
        return np.asarray(self.powers.sum(axis=1).real)

    @property
    def magnitudes(self) -> Floats:
        """Resultants of the fields, shape (sections, r). [T]"""
        return np.asarray(np.linalg.norm(self.fields, axis=-1))


@dataclass(frozen=True)
class Run:
    """A run from one set of sections."""

    run_sections: tuple[RunSection, ...]
    route: Route
    lines: tuple[Line, ...]
    """In the order of the route's lines."""
    flow: Flow
    """With the study's currents."""
    loaded: Flow | None
    """With the currents of the stated loads, those of the study in circuits without one; None where none is stated."""
    drops: Complexes
    """Of the lines over the whole run with the study's currents, shape (lines,). [V]"""
    profiles: dict[tuple[str, str], Profile]
    """Voltages of the layers of metal of each circuit, by circuit and layer."""
    impedances: dict[str, Complexes]
    """Of L1, L2, L3 of each circuit over the whole run, shape (3, 3). [ohm]"""
    arrived: dict[str, Arrived]
    """Voltages and currents at the load of each circuit with a load."""
    transposed: dict[str, tuple[Transposed, ...]]
    """The study's own cross-section over the whole length, transposed ever more often; of circuits whose phases have
    the same number of cables."""

    @property
    def larger_fields(self) -> Floats:
        """The larger of the fields with the study's currents and with those of the loads, shape (sections, r). [T]"""
        own = self.flow.magnitudes
        return own if self.loaded is None else np.maximum(own, self.loaded.magnitudes)


def run_of(
    study: Study,
    circuits: Sequence[str],
    currents: dict[tuple[str, str], complex],
    run_sections: tuple[RunSection, ...],
    bonds: tuple[Tie, ...],
    maps: SectionMaps,
) -> Run:
    """The run of a study through some sections, with phase currents [A] and bonds."""
    route = route_of(run_sections, currents, bonds)
    state = line_state(route)
    lines = lines_of(run_sections[0])
    impedances = {name: tied_impedance(route, ports_of(route, name)) for name in circuits}
    found = {name: arrived(study, route, name, currents) for name in circuits}
    transposed = {
        name: compare_transpositions(
            maps,
            name,
            float(route.length),
            here.supply_voltages,
            here.load,
            currents=currents,
            bonds=bonds,
        )
        for name, here in found.items()
        if here is not None and _may_be_transposed(maps, name)
    }
    return Run(
        run_sections=run_sections,
        route=route,
        lines=lines,
        flow=_flow(route, state.currents),
        loaded=_loaded(study, run_sections, currents, bonds, found),
        drops=state.voltages,
        profiles=_profiles(study, route, lines, bonds),
        impedances=impedances,
        arrived={name: here for name, here in found.items() if here is not None},
        transposed=transposed,
    )


def _may_be_transposed(maps: SectionMaps, circuit: str) -> bool:
    """Whether all phases of a circuit have the same number of cables."""
    labels = maps.labels(circuit)
    return len({labels.count(line) for line in LINES}) == 1


def _flow(route: Route, currents: Complexes) -> Flow:
    fields = [field for field in vectors_along(route, currents) if field is not None]
    return Flow(currents, section_powers(route, currents), np.array(fields).reshape(len(route.sections), -1, 2))


def _loaded(
    study: Study,
    run_sections: tuple[RunSection, ...],
    currents: Mapping[tuple[str, str], complex],
    bonds: Sequence[Tie],
    found: Mapping[str, Arrived | None],
) -> Flow | None:
    """The run with the currents of its stated loads; None if none is stated or a current has no return."""
    stated = {load.circuit or study.circuits[0].name for load in study.loads}
    taken = dict(currents)
    for name in stated:
        here = found.get(name)
        if here is None:
            return None
        taken |= {(name, line): complex(i) for line, i in zip(LINES, here.delivered.currents, strict=True)}
        if (name, "N") in taken:
            taken[name, "N"] = here.delivered.neutral_current
    if not stated:
        return None
    route = route_of(run_sections, taken, bonds)
    return _flow(route, line_state(route).currents)


def _profiles(
    study: Study, route: Route, lines: Sequence[Line], bonds: Sequence[Tie]
) -> dict[tuple[str, str], Profile]:
    """Voltages of each circuit's layers: an open one against its earthed place, a joined one against the start."""
    joined = {name for bond in bonds for name in bond.parts}
    found = {}
    kinds = dict.fromkeys((line.circuit, line.layer) for line in lines if line.circuit and line.layer != CONDUCTOR)
    for circuit, layer in kinds:
        names = [line.name for line in lines if (line.circuit, line.layer) == (circuit, layer)]
        from_start = standing_voltages(route, layer)
        from_earth = standing_voltages(route, layer, study.route_screens.earthed_at)
        column = [from_start.lines.index(name) for name in names]
        is_joined = np.array([name in joined for name in names])
        potentials = np.where(is_joined, from_start.potentials[:, column], from_earth.potentials[:, column])
        found[circuit, layer] = Profile(tuple(names), from_start.distance, potentials)
    return found
