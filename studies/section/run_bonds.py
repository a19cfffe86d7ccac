"""The bonds of a study along a run: lines that are joined at its ends, and layers that are turned at its joints."""

from __future__ import annotations

from fem.ties import Tie
from studies.section.lines import Line
from studies.section.parts import CrossSection, StudyPart
from studies.section.run_parts import JointTie
from studies.section.turning import DIRECTION
from studies.study.file import Study
from studies.study.parts import CONDUCTOR, layer_group

STEEL_OF_ONE_ORDER = (
    "Caution: in all sections with the cross-section of the study, saturating steel has the permeability of its phase "
    "order. If the loss in the steel matters, solve each phase order as a study."
)


def line_of(section: CrossSection, part: StudyPart) -> Line:
    """Line of a part in the phase order of the study."""
    if part.cable is None:
        return Line("", "", 1, part.name)
    own = [c for c in section.cables if (c.circuit, c.phase) == (part.cable.circuit, part.cable.phase)]
    number = 1 + sum(cable.position < part.cable.position for cable in own)
    return Line(part.cable.circuit, part.cable.phase, number, part.kind)


def run_bonds(section: CrossSection, length: float, with_metal: bool = True) -> tuple[Tie, ...]:
    """The bonds of a cross-section as ties of the lines of a run; of kind "every joint" as `JointTie`.

    section: The study's own cross-section.
    length: Length of the run, for which the closing impedances are those of the whole. [m]
    with_metal: Whether metal without a cable is among the lines.
    """
    parts = {part.name: part for part in section.parts}
    phases = {phase.tie for phase in section.phases}
    closings = [
        tie
        for k, tie in enumerate(section.ties)
        if k not in phases and (len(tie.parts) > 1 or tie.impedance is not None)
    ]
    closings += [Tie(bond.parts, 0j, bond.impedance) for bond in section.cross_bonds]
    found: list[Tie] = []
    for tie in closings:
        members = [parts[name] for name in tie.parts if with_metal or parts[name].cable is not None]
        if any(part.cable is not None for part in members):
            lines = tuple(line_of(section, part).name for part in members)
            if isinstance(tie, JointTie):
                found.append(JointTie(lines, 0j, tie.impedance))
            else:
                found.append(Tie(lines, 0j, None if tie.impedance is None else tie.impedance * length))
    return tuple(found)


def turned_layers(section: CrossSection) -> frozenset[tuple[str, str]]:
    """Circuit and layer of each cross-bonded layer."""
    crossed = {name for bond in section.cross_bonds for name in bond.parts}
    return frozenset((part.cable.circuit, part.kind) for part in section.parts if part.cable and part.name in crossed)


def joining_words(section: CrossSection, study: Study) -> str:
    """How the lines of a run are joined and turned, in sentences for terminal and report."""
    conductors = "Conductors run through, and parallel cables are joined at the ends of the run."
    lines = [conductors, f"If phases are transposed, {DIRECTION}."]
    crossed = turned_layers(section)
    told: dict[str, list[str]] = {}
    for circuit, layer in dict.fromkeys((p.cable.circuit, p.kind) for p in section.parts if p.cable):
        if layer == CONDUCTOR:
            continue
        own = [p.name for p in section.parts if p.cable and (p.cable.circuit, p.kind) == (circuit, layer)]
        ties = [tie for tie in section.ties if set(own) & set(tie.parts)]
        if (circuit, layer) in crossed:
            how = "are cross-bonded: they move on by one phase against the conductors at each joint, unless a "
            how += "section states another number"
        elif any(isinstance(tie, JointTie) for tie in ties):
            how = "are joined at the ends of the run and at every joint"
        elif any(len(tie.parts) > 1 or tie.impedance is not None for tie in ties):
            how = "are joined at the ends of the run only"
        else:
            how = f"are bonded at one point, {study.route_screens.earthed_at:g} m from the start, and carry no current "
            how += "along the run"
        told.setdefault(how, []).append(layer_group(circuit, layer))
    lines += [f"{' and '.join(groups)} {how}." for how, groups in told.items()]
    if section.steels() and any(one.phases for one in study.route):
        lines.append(STEEL_OF_ONE_ORDER)
    return " ".join(lines)
