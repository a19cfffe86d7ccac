"""A preview of a study in words, without solving it."""

from __future__ import annotations

from collections.abc import Sequence

from fem.materials import skin_depth
from studies.answers.losses.doubtful_currents import doubt_in_words, doubtful_currents, stated_currents
from studies.section.joints import joints
from studies.section.judged_places import places_of_study
from studies.section.parts import CrossSection, StudyPart
from studies.section.route_sections import changes_of
from studies.section.spacing import spacing_of
from studies.section.spectrum import components
from studies.study.file import Study
from studies.study.parts import CONDUCTOR
from studies.text.numbers import plain, stated, stated_or_summed, with_unit
from studies.text.terminal import filled
from studies.text.units import (
    AMPERE,
    FLUX_DENSITY,
    LENGTH,
    MEGASIEMENS_PER_METRE,
    OHM_PER_KM,
    PER_CENT,
    Unit,
    common_unit,
)


def preview(study: Study, section: CrossSection, along: Sequence[tuple[Study, CrossSection]] = ()) -> str:
    """Parts, circuits, bonds and requested numbers of a study, one line each.

    `section`: that of the study itself.
    `along`: of each section of its route.
    """
    doubt = doubt_in_words(doubtful_currents(study, section, stated_currents(study, section)))
    kept = " ".join(spacing_of(study, section).sentences())
    conductors = sum(part.kind == CONDUCTOR for part in section.parts)
    blocks = {
        "Parts": [_part(part, section.frequency) for part in section.parts],
        "Currents": [*_currents(study, section), *_bonds(study, section), *joints(study, section)],
        "": [sentence for sentence in (doubt, kept) if sentence],
        "Would be computed": [
            *_requests(study, section),
            f"loss of {len(section.parts)} parts, {conductors} of them conductors; impedance of each phase",
            *_of_steel(study, section),
            *_orders(study),
            *_route(study, along),
            f"all to {stated(study.accuracy.tolerance, PER_CENT)}",
        ],
    }
    lines = [f"{study.title} ({study.frequency:g} Hz)"]
    for heading, entries in blocks.items():
        lines += ["", *([heading] if heading else []), *(_indented(entry) for entry in entries)]
    return "\n".join(lines)


def _indented(entry: str) -> str:
    """A line of the list, wrapped; lines below it keep an indent of their own."""
    first = "  " + entry[: len(entry) - len(entry.lstrip())]
    return filled(entry.strip(), first=first, later=first + "  ")


def _of_steel(study: Study, section: CrossSection) -> list[str]:
    lines = []
    if section.steels():
        lines.append(f"saturation of {', '.join(section.steels())}, with the linear solution beside it")
    if study.current_sweep is not None:
        lines.append(
            f"the same at {', '.join(f'{factor:g}' for factor in study.current_sweep.factors)} times the currents"
        )
    return lines


def _orders(study: Study) -> list[str]:
    asked = study.order_search
    if asked is None:
        return []
    return [f"the best phase orders, by {asked.objective if asked.weights is None else 'a weighted sum'}"]


def _route(study: Study, along: Sequence[tuple[Study, CrossSection]]) -> list[str]:
    """The sections of the run, each with its differences from the study."""
    if not study.route:
        return []
    length = sum(section.length for section in study.route)
    others = len({id(each) for each, _ in along if each is not study})
    solved = f", {others} further cross-section{'s' if others > 1 else ''} to solve" if others else ""
    lines = [f"the run of {length:g} m in {len(study.route)} section{'s' if len(study.route) > 1 else ''}{solved}"]
    for number, section in enumerate(study.route, 1):
        orders = [f"{name} {' '.join(labels)}" for name, labels in section.phases.items()]
        changes = "; ".join((*orders, *changes_of(section))) or "as the study"
        lines.append(f"  {section.name or f'section {number}'}, {section.length:g} m: {changes}")
    if study.supply is not None:
        loads = len(study.loads)
        lines.append(f"  voltage drop and unbalance at {'the load' if loads else 'the end with these currents'}")
    return lines


def _part(part: StudyPart, frequency: float) -> str:
    material = part.material
    mu = abs(complex(material.relative_permeability))
    steel = f", relative permeability {mu:.4g}" if mu != 1 else ""
    if part.steel is not None:
        steel += " without saturation, saturating"
    holes = f", {100 * part.open_area:g} % open" if part.open_area else ""
    conductivity = _number(material.conductivity, MEGASIEMENS_PER_METRE)
    return (
        f"{part.name}: {part.kind}, {conductivity}{steel}{holes}, dc resistance "
        f"{_number(part.dc_resistance, OHM_PER_KM)}, skin depth {with_unit(skin_depth(material, frequency), LENGTH)} "
        f"({part.source})"
    )


def _number(value: float, unit: Unit) -> str:
    return f"{plain(unit.of(value), 4)} {unit.symbol}"


def _currents(study: Study, section: CrossSection) -> list[str]:
    """The phases at each frequency with currents."""
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
            lines.append(f"{phase.circuit} {phase.phase}{at}: {stated_or_summed(abs(current), AMPERE)}{parallel}")
    return lines


def _beside_the_surface(section: CrossSection, surface: float) -> str:
    """Which side of the earth's surface the cables are on, which decides between Carson's and Pollaczek's integrals."""
    buried = [cable.label for cable in section.cables if cable.axis[1] < surface]
    level = f"surface at y = {surface:g} m"
    if not buried:
        return f"{level}: all cables in air above it"
    if len(buried) == len(section.cables):
        return f"{level}: all cables buried"
    return f"{level}: buried {', '.join(buried)}, the others in air"


def _bonds(study: Study, section: CrossSection) -> list[str]:
    driven = {phase.tie for phase in section.phases}
    crossed = {part for bond in section.cross_bonds for part in bond.parts}
    lines = []
    for number, tie in enumerate(section.ties):
        if number in driven or (len(tie.parts) == 1 and tie.impedance is None):
            continue
        if tie.parts in section.rungs and tie.impedance is None:
            continue  # among the joints of trays
        closing = ""
        if tie.impedance:
            closing = f", closing through {_number(abs(tie.impedance), OHM_PER_KM)}"
        lines.append(f"bonded: {', '.join(tie.parts)}{closing}")
    lines += [f"cross-bonded: {', '.join(bond.parts)}" for bond in section.cross_bonds]
    if study.earth is not None:
        lines.append(
            f"earth return: {study.earth.resistivity:g} Ω m, {_beside_the_surface(section, study.earth.surface)}"
        )
    alone = [
        tie.parts[0]
        for number, tie in enumerate(section.ties)
        if number not in driven and len(tie.parts) == 1 and tie.impedance is None and tie.parts[0] not in crossed
    ]
    if alone:
        lines.append(f"without net current: {', '.join(alone)}")
    return lines


def _requests(study: Study, section: CrossSection) -> list[str]:
    places = places_of_study(study, section)
    lines = []
    all_limits = [receptor.limit for receptor in study.receptors] + [zone.limit for zone in study.zones]
    unit = common_unit([limit for limit in all_limits if isinstance(limit, float)], FLUX_DENSITY)
    for receptor in study.receptors:
        x, y = receptor.at
        lines.append(f"field at {receptor.name} ({x:g} m, {y:g} m){_limit(receptor.limit, unit)}")
        lines += [f"  {words}" for name, words in places.items() if name == receptor.name]
    for zone in study.zones:
        (x0, y0), (x1, y1) = zone.window
        lines.append(f"highest field in {zone.name} ({x0:g} to {x1:g} m, {y0:g} to {y1:g} m){_limit(zone.limit, unit)}")
        lines += [f"  {words}" for name, words in places.items() if name == f"zone {zone.name}"]
    lines += [f"field along {traverse.name}, {traverse.points} points" for traverse in study.traverses]
    limits = set(all_limits) - {None}
    if limits:
        lines.append(f"distance at which {'the limit is' if len(limits) == 1 else 'each limit is'} met")
    return lines


def _limit(limit: float | str | None, unit: Unit) -> str:
    if limit is None:
        return ""
    return f", limit {limit if isinstance(limit, str) else stated(limit, unit)}"
