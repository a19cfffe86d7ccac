"""Route from cross-sections and phase orders: the place of each cable and of its screen in every section."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fem.arrays import Complexes
from fem.ties import Tie
from studies.section.places import Place
from studies.section.run_parts import JointTie, Route, RunPart
from studies.study.parts import CONDUCTOR
from studies.study.phases import LINES


@dataclass(frozen=True)
class SectionMaps:
    """Impedance and field of the places of a cross-section, independent of the lines that run there."""

    places: tuple[Place, ...]
    impedance: Complexes
    """Series impedance, all other parts eliminated by the bonds of the study, shape (n, n). [ohm/m]"""
    field: Complexes | None = None
    """(Bx, By) at the receptors per ampere in each place, shape (r, 2, n). [T/A]"""

    def labels(self, circuit: str) -> tuple[str, ...]:
        """Phase labels of a circuit's cables by position."""
        own = [place for place in self.places if place.circuit == circuit and place.layer == CONDUCTOR]
        return tuple(place.phase for place in sorted(own, key=lambda place: place.position))

    def circuits(self) -> tuple[str, ...]:
        """Names of the circuits."""
        return tuple(dict.fromkeys(place.circuit for place in self.places if place.circuit))


@dataclass(frozen=True)
class RunSection:
    """A section of the run as stated."""

    length: float
    """0 or above. [m]"""
    maps: SectionMaps
    orders: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Phase label at each position of some circuits; the others have the labels of the study."""
    turns: Mapping[tuple[str, str], int] = field(default_factory=dict)
    """By circuit and layer, how many phases the layer is turned against the conductors: at 1 what was the screen of L1
    goes on around L2. Turned against a transposition, at -1 while the phases go on by one, a screen keeps its place.
    [-]"""
    name: str = ""


@dataclass(frozen=True)
class Line:
    """A conductor, a layer of metal or bonded metal that runs through the sections."""

    circuit: str
    """Empty for metal without a cable."""
    phase: str
    number: int
    """Counts the parallel cables of a phase from 1."""
    layer: str

    @property
    def name(self) -> str:
        """Name in results, such as "F1 L1", "F1 L1.2", "F1 L1 screen" or "T1"."""
        if not self.circuit:
            return self.layer
        number = f".{self.number}" if self.number > 1 else ""
        layer = "" if self.layer == CONDUCTOR else f" {self.layer}"
        return f"{self.circuit} {self.phase}{number}{layer}"


def route_of(
    run_sections: Sequence[RunSection],
    currents: Mapping[tuple[str, str], complex] | None = None,
    bonds: Sequence[Tie] = (),
) -> Route:
    """Route of some sections.

    run_sections: The sections from the supply to the load, of the same circuits.
    currents: Net current of each phase; zero if none is given. [A]
    bonds: Lines, by name, that are joined to each other at both ends of the run; their impedance is that of the whole
        return [ohm]. Those of a `JointTie` are joined at every joint too, with an impedance per metre [ohm/m]. Layers
        of metal in no bond carry no current along them. Metal that is no place is in the impedance of the sections as
        the study bonds it, section by section.
    Returns route: A tie for each phase of each circuit, in order of appearance, then the bonds at the ends, then each
        other line.

    Of parallel cables with one label the first in the order of one section goes on as the first in the next.
    """
    if not run_sections:
        raise ValueError("a route needs a section")
    lines = lines_of(run_sections[0])
    names = [line.name for line in lines]
    bonded = [name for bond in bonds for name in bond.parts]
    if stray := [name for name in bonded if name not in names]:
        raise ValueError(f"a bond names what does not run through: {', '.join(stray)}")
    sections = tuple(
        RunPart(
            run_section.length,
            run_section.maps.impedance,
            tuple(_place(run_section, line, number) for line in lines),
            run_section.name or f"section {number}",
            run_section.maps.field,
        )
        for number, run_section in enumerate(run_sections, 1)
    )
    given = currents or {}
    free = [line for line in lines if line.name not in bonded]
    ties: list[Tie] = []
    for circuit, phase in dict.fromkeys((line.circuit, line.phase) for line in free if line.layer == CONDUCTOR):
        own = [line for line in free if (line.circuit, line.phase, line.layer) == (circuit, phase, CONDUCTOR)]
        ties.append(Tie(tuple(line.name for line in own), given.get((circuit, phase), 0j)))
    ties += [bond for bond in bonds if not isinstance(bond, JointTie)]
    ties += [Tie((line.name,)) for line in free if line.layer != CONDUCTOR]
    joint_ties = tuple(bond for bond in bonds if isinstance(bond, JointTie))
    return Route(tuple(names), tuple(ties), sections, joint_ties)


def ports_of(route: Route, circuit: str, phases: Sequence[str] = LINES) -> list[int]:
    """Numbers of the ties of a circuit's phases; a missing phase raises KeyError."""
    found = []
    for phase in phases:
        first = f"{circuit} {phase}"
        number = next((k for k, tie in enumerate(route.ties) if first in tie.parts), None)
        if number is None:
            raise KeyError(f"the route has no phase {phase} of circuit {circuit}")
        found.append(number)
    return found


def lines_of(run_section: RunSection) -> tuple[Line, ...]:
    """Lines of a section: circuit by circuit the conductors and the layers of metal, then bonded metal."""
    lines = []
    layers = tuple(dict.fromkeys(place.layer for place in run_section.maps.places if place.circuit))
    for circuit in run_section.maps.circuits():
        labels = _order(run_section, circuit)
        numbers = [labels[: k + 1].count(label) for k, label in enumerate(labels)]
        ordered = sorted(zip(labels, numbers, strict=True), key=lambda one: (_rank(one[0]), one[1]))
        having = {place.layer for place in run_section.maps.places if place.circuit == circuit}
        for layer in layers:
            if layer in having:
                lines += [Line(circuit, label, number, layer) for label, number in ordered]
    return (*lines, *(Line("", "", 1, place.layer) for place in run_section.maps.places if not place.circuit))


def _rank(label: str) -> tuple[int, str]:
    return (LINES.index(label) if label in LINES else len(LINES), label)


def _order(run_section: RunSection, circuit: str) -> tuple[str, ...]:
    own = run_section.maps.labels(circuit)
    order = tuple(run_section.orders.get(circuit, own))
    if len(order) != len(own):
        raise ValueError(f"the order of circuit {circuit} names {len(order)} of {len(own)} positions: {order}")
    return order


def _place(run_section: RunSection, line: Line, section: int) -> int:
    """Place of a line in a section."""
    wanted = ("", 0, line.layer)
    if line.circuit:
        wanted = (line.circuit, _position(run_section, line, section), line.layer)
    for number, place in enumerate(run_section.maps.places):
        if (place.circuit, place.position, place.layer) == wanted:
            return number
    raise ValueError(f"section {section} has no {line.layer} for {line.name}")


def _position(run_section: RunSection, line: Line, section: int) -> int:
    """Position of the cable in or around which a line runs in a section."""
    phase = line.phase
    if phase in LINES:
        phase = LINES[(LINES.index(phase) + run_section.turns.get((line.circuit, line.layer), 0)) % 3]
    if line.circuit not in run_section.maps.circuits():
        raise ValueError(f"section {section} has no circuit {line.circuit}")
    positions = [k for k, label in enumerate(_order(run_section, line.circuit), 1) if label == phase]
    if line.number > len(positions):
        raise ValueError(f"section {section} has no cable {line.number} of {line.circuit} {phase}")
    return positions[line.number - 1]
