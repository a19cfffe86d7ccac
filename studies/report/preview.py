"""What a study would compute, in words, without solving it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from fem.materials import skin_depth
from studies.answers.limits.words import places_of_study
from studies.answers.losses.doubtful_currents import doubtful_currents, in_words, stated_currents
from studies.section.cross_section import CrossSection, StudyPart
from studies.section.joints import joints
from studies.section.route_sections import changes_of
from studies.section.spacing import spacing_of
from studies.section.spectrum import components
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.text.engineering import engineering

WIDEST = 98
"""Letters of a line of running text, without its indent."""


def outline(study: Study, section: CrossSection, along: Sequence[tuple[Study, CrossSection]] = ()) -> str:
    """Parts, circuits, bonds and requested numbers of a study, one line each.

    Parameters
    ----------
    study : Study
        The study.
    section : CrossSection
        Its own cross-section.
    along : sequence of (Study, CrossSection)
        Of each section of its route.
    """
    lines = [f"{study.title} ({study.frequency:g} Hz)", "", "Parts"]
    lines += [_part(part, section.frequency) for part in section.parts]
    lines += ["", "Currents", *_currents(study, section), *_bonds(study, section)]
    lines += [f"  {line}" for joint in joints(study, section) for line in textwrap.wrap(joint, WIDEST)]
    doubt = in_words(doubtful_currents(study, section, stated_currents(study, section)))
    lines += ["", *(f"  {line}" for text in (doubt, _spacing(study, section)) for line in textwrap.wrap(text, WIDEST))]
    lines += ["", "Would be computed", *_requests(study, section)]
    conductors = sum(part.kind == CONDUCTOR for part in section.parts)
    lines.append(f"  loss of {len(section.parts)} parts, of which {conductors} conductors; impedance of each phase")
    if section.steels():
        lines.append(f"  saturation of {', '.join(section.steels())}, with the linear answer beside it")
    if study.current_sweep is not None:
        factors = ", ".join(f"{factor:g}" for factor in study.current_sweep.factors)
        lines.append(f"  the same at {factors} times the currents")
    if study.order_search is not None:
        asked = study.order_search
        lines.append(f"  the best phase orders, by {asked.objective if asked.weights is None else 'a weighted sum'}")
    lines += _route(study, along)
    lines.append(f"  all to {100 * study.accuracy.tolerance:g} %")
    return "\n".join(lines)


def _route(study: Study, along: Sequence[tuple[Study, CrossSection]]) -> list[str]:
    """The sections of the run, each with what is another there."""
    if not study.route:
        return []
    length = sum(section.length for section in study.route)
    others = len({id(each) for each, _ in along if each is not study})
    solved = f", {others} further cross-section{'s' if others > 1 else ''} to solve" if others else ""
    lines = [f"  the run of {length:g} m in {len(study.route)} section{'s' if len(study.route) > 1 else ''}{solved}"]
    for number, section in enumerate(study.route, 1):
        orders = [f"{name} {' '.join(labels)}" for name, labels in section.phases.items()]
        changes = "; ".join((*orders, *changes_of(section))) or "as the study"
        lines.append(f"    {section.name or f'section {number}'}, {section.length:g} m: {changes}")
    if study.supply is not None:
        loads = len(study.loads)
        lines.append(f"    voltage drop and unbalance at {'the load' if loads else 'the end with these currents'}")
    return lines


def _part(part: StudyPart, frequency: float) -> str:
    material = part.material
    mu = abs(complex(material.relative_permeability))
    steel = f", relative permeability {mu:.4g}" if mu != 1 else ""
    if part.steel is not None:
        steel += " without saturation, saturating"
    holes = f", {100 * part.open_area:g} % open" if part.open_area else ""
    return (
        f"  {part.name}: {part.kind}, {engineering(material.conductivity, 'S/m')}{steel}{holes}, "
        f"R_dc {engineering(part.dc_resistance, 'Ω/m')}, skin depth "
        f"{engineering(skin_depth(material, frequency), 'm', 3)} ({part.source})"
    )


def _currents(study: Study, section: CrossSection) -> list[str]:
    """The phases at each frequency that something flows at."""
    found = components(study)
    lines = []
    for component in found:
        at = f" at {component.frequency:g} Hz" if len(found) > 1 else ""
        for phase in section.phases:
            current = component.currents.get((phase.circuit, phase.phase))
            if current is None:
                continue
            count = len(section.ties[phase.tie].parts)
            parallel = f", {count} parallel cables" if count > 1 else ""
            lines.append(f"  {phase.circuit} {phase.phase}{at}: {engineering(abs(current), 'A')}{parallel}")
    return lines


def _beside_the_surface(section: CrossSection, surface: float) -> str:
    """Which side of the earth's surface the cables are on, which decides between Carson's and Pollaczek's integrals."""
    buried = [cable.label for cable in section.cables if cable.axis[1] < surface]
    where = f"surface at y = {surface:g} m"
    if not buried:
        return f"{where}: all cables in air above it"
    if len(buried) == len(section.cables):
        return f"{where}: all cables buried"
    return f"{where}: buried {', '.join(buried)}, the others in air"


def _bonds(study: Study, section: CrossSection) -> list[str]:
    driven = {phase.tie for phase in section.phases}
    crossed = {part for bond in section.cross_bonds for part in bond.parts}
    lines = []
    for number, tie in enumerate(section.ties):
        if number in driven or (len(tie.parts) == 1 and tie.impedance is None):
            continue
        if tie.parts in section.rungs and tie.impedance is None:
            continue  # told with what joins the pieces of trays
        closing = ""
        if tie.impedance:
            closing = f", closing through {engineering(abs(tie.impedance), 'Ω/m', 3)}"
        lines.append(f"  bonded: {', '.join(tie.parts)}{closing}")
    lines += [f"  cross-bonded: {', '.join(bond.parts)}" for bond in section.cross_bonds]
    if study.earth is not None:
        lines.append(
            f"  earth return: {study.earth.resistivity:g} Ω m, {_beside_the_surface(section, study.earth.surface)}"
        )
    alone = [
        tie.parts[0]
        for number, tie in enumerate(section.ties)
        if number not in driven and len(tie.parts) == 1 and tie.impedance is None and tie.parts[0] not in crossed
    ]
    if alone:
        lines.append(f"  without net current: {', '.join(alone)}")
    return lines


def _spacing(study: Study, section: CrossSection) -> str:
    return " ".join(spacing_of(study, section).sentences())


def _requests(study: Study, section: CrossSection) -> list[str]:
    places = {name: f"\n    {said}" for name, said in places_of_study(study, section).items()}
    lines = [
        f"  field at {receptor.name} ({receptor.at[0]:g} m, {receptor.at[1]:g} m){_limit(receptor.limit)}"
        f"{places.get(receptor.name, '')}"
        for receptor in study.receptors
    ]
    for zone in study.zones:
        (x0, y0), (x1, y1) = zone.window
        window = f"{x0:g} to {x1:g} m, {y0:g} to {y1:g} m"
        place = places.get(f"zone {zone.name}", "")
        lines.append(f"  highest field in {zone.name} ({window}){_limit(zone.limit)}{place}")
    lines += [f"  field along {traverse.name}, {traverse.points} points" for traverse in study.traverses]
    stated = [receptor.limit for receptor in study.receptors] + [zone.limit for zone in study.zones]
    limits = {limit for limit in stated if limit is not None}
    if limits:
        lines.append(f"  distance at which {'the limit is' if len(limits) == 1 else 'each limit is'} met")
    return lines


def _limit(limit: float | str | None) -> str:
    if limit is None:
        return ""
    return f", limit {limit if isinstance(limit, str) else engineering(limit, 'T')}"
