"""The cautions of a result: the usual ones, and those that the study calls for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from fem.constants import mu_0
from fem.effective import DEFAULT_RULE, RULES
from fem.solve import REFERENCE_RADIUS
from fem.ties import Tie
from studies.answers.cautions import words
from studies.answers.fields.rows import ReceptorResult
from studies.answers.losses.doubtful_currents import computed_currents, doubt_in_words, doubtful_currents
from studies.answers.losses.rows import PartResult
from studies.answers.steel.words import hysteresis_words
from studies.section.enclosure import Enclosure, enclosures, is_magnetic, metal_at, single_core_steel
from studies.section.judged_places import places_of_study
from studies.section.parts import TRAY, CrossSection, parallel_conductors
from studies.section.spacing import ALONE, CLOSED, IN_WORDS, spacing_of
from studies.section.spectrum import at_component, components
from studies.solve.accuracy import Solved
from studies.solve.cancelling_fields import least_field
from studies.solve.levels import AccuracyResult
from studies.study.file import Study
from studies.study.materials import material_of
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.study.plates import MAGNETIC, ONE_EACH
from studies.text.failures import guarded
from studies.text.problems import StudyError

MOST_NAMES = 4
"""Parts listed by name in a caution."""
LARGEST_SHARE = 1.1
"""Share of a parallel cable over an equal share, above which it is named; common practice, no source. [-]"""
NEGLIGIBLE = 1e-6
"""Net currents below this share of the largest current are rounding. [-]"""


def cautions(
    study: Study,
    section: CrossSection,
    solved: Solved,
    accuracy: AccuracyResult,
    parts: Sequence[PartResult] = (),
    receptors: Sequence[ReceptorResult] = (),
) -> tuple[str, ...]:
    """Cautions of a solved study, its particular ones first; some of them need its parts and receptors."""
    groups: dict[str, Callable[[], list[str]]] = {
        "currents beyond what a conductor bears": lambda: _of_doubtful_currents(study, section, parts),
        "permitted currents": lambda: _of_permitted(study, section, parts),
        "metal around currents": lambda: _of_enclosures(
            section, enclosures(study, section, solved.fields.part_names, solved.drive)
        ),
        "plates": lambda: _of_plates(study),
        "net currents": lambda: _of_currents(study, section, solved),
        "sharing": lambda: _of_sharing(section, parts),
        "spacing": lambda: _of_spacing(study, section),
        "steel": lambda: _of_steel(study, section),
        "bonds": lambda: _of_bonds(section),
        "the models of parts": lambda: _of_models(study, section),
        "places in metal": lambda: _of_places(study, section),
        "fields that cancel": lambda: _of_cancelling(section, receptors),
    }
    found: list[str] = []
    if not accuracy.met:
        found.append(words.NOT_MET.format(asked=100 * accuracy.tolerance, reached=100 * accuracy.worst_error))
    for concern, make in groups.items():
        found += guarded(f"cautions of {concern}", make, [words.UNCHECKED.format(concern=concern)])
    in_space = study.course is not None
    if study.route:
        found.append(
            words.ROUTE.format(numbers="numbers beside those of the run in space" if in_space else "these numbers")
        )
    return (*found, *words.usual(in_space, any(one.permitted_current is not None for one in study.circuits)))


def listed(names: Iterable[str]) -> str:
    """The names separated by commas; of many, the first few and the number of the others."""
    distinct = list(dict.fromkeys(names))
    more = len(distinct) - MOST_NAMES
    return ", ".join(distinct if more <= 0 else [*distinct[:MOST_NAMES], f"and {more} more"])


def _of_doubtful_currents(study: Study, section: CrossSection, parts: Sequence[PartResult]) -> list[str]:
    doubt = doubt_in_words(doubtful_currents(study, section, computed_currents(parts)))
    return [doubt] if doubt else []


def _of_plates(study: Study) -> list[str]:
    """Magnetic plates with a hole for each cable."""
    closed = [
        plate.name
        for plate in study.plates
        if plate.openings == ONE_EACH and material_of(study, plate.material).relative_permeability > MAGNETIC
    ]
    return [words.PLATES.format(listing=listed(closed))] if closed else []


def _of_permitted(study: Study, section: CrossSection, parts: Sequence[PartResult]) -> list[str]:
    """Cables that carry more than the study permits."""
    permitted = {circuit.name: circuit.permitted_current for circuit in study.circuits}
    currents = computed_currents(parts)
    listing = []
    for part in section.conductors():
        bound = permitted[part.cable.circuit] if part.cable else None
        current = currents.get(part.name, 0.0)
        if bound is not None and part.cable and current > bound:
            listing.append(f"{part.cable.label} ({part.cable.phase}) carries {current:.4g} A of {bound:.4g} A")
    return [words.ABOVE_PERMITTED.format(listing=listed(listing))] if listing else []


def _of_enclosures(section: CrossSection, inside: Sequence[Enclosure]) -> list[str]:
    found = []
    unbalanced = [enclosure for enclosure in inside if enclosure.unbalanced]
    if unbalanced:
        listing = [f"{one.part} around {one.net_a:.3g} A of {', '.join(one.circuits)}" for one in unbalanced]
        found.append(words.SINGLE_PHASE.format(listing=listed(listing)))
    if any(enclosure.magnetic and not enclosure.unbalanced for enclosure in inside):
        found.append(words.ENCIRCLED)
    circuits = single_core_steel(section)
    if circuits:
        found.append(words.STEEL_LAYER.format(circuits=listed(circuits)))
    return found


def _of_currents(study: Study, section: CrossSection, solved: Solved) -> list[str]:
    sections = [at_component(section, component) for component in components(study)]
    net = max(abs(one.net_current()) for one in sections)
    largest = max((abs(tie.current) for one in sections for tie in one.ties), default=0.0)
    found = []
    if section.earth is not None:
        change = 1e6 * section.frequency * mu_0 / 2 * math.log(2)  # w mu0/(2 pi) ln sqrt 2, in mohm/km
        found.append(
            words.EARTH.format(resistivity=section.earth.resistivity, change=change, frequency=section.frequency)
        )
    elif net > NEGLIGIBLE * largest:
        found.append(words.NET_CURRENT.format(net=net, radius=abs(solved.fields.exterior.reference_radius)))
    return found


def _of_sharing(section: CrossSection, parts: Sequence[PartResult]) -> list[str]:
    parallel = parallel_conductors(section)
    own = [(part.share_of_phase or 0.0, part) for part in parts if part.part in parallel]
    above = sorted((pair for pair in own if pair[0] > LARGEST_SHARE), key=lambda pair: -pair[0])
    listing = [
        f"{part.part.removesuffix(f'.{CONDUCTOR}')} ({part.phase}) carries {abs(part.current_a):.4g} A, "
        f"{100 * share:.0f} % of an equal share"
        for share, part in above
    ]
    return [words.UNEQUAL_SHARE.format(listing=listed(listing))] if listing else []


def _of_spacing(study: Study, section: CrossSection) -> list[str]:
    spacing = spacing_of(study, section)
    if spacing.word != CLOSED or spacing.kept == ALONE:
        return []
    return [words.UNDER_COVER.format(kept=IN_WORDS[spacing.kept], parts=listed(spacing.closed_by))]


def _of_steel(study: Study, section: CrossSection) -> list[str]:
    linear = [part.name for part in section.parts if part.steel is None and is_magnetic(part)]
    saturating = list(section.steels())
    found = []
    if linear:
        found.append(words.STEEL.format(parts=listed(linear)))
    if saturating:
        meaning = RULES[DEFAULT_RULE].meaning
        hysteresis = hysteresis_words([steel.loss_angle for steel in section.steels().values()])
        rule = {"rule": DEFAULT_RULE, "meaning": meaning, "hysteresis": hysteresis}
        found.append(words.SATURATING.format(parts=listed(saturating), **rule))
        first, *others = components(study)
        if others:
            found.append(words.HARMONICS.format(frequency=first.frequency))
            sizes = [max(map(abs, component.currents.values()), default=0.0) for component in (first, *others)]
            largest = (first, *others)[int(np.argmax(sizes))]
            if largest is not first:
                found.append(words.WEAK_FIRST.format(first=first.frequency, largest=largest.frequency))
    return found


def _of_bonds(section: CrossSection) -> list[str]:
    crossed = {part for bond in section.cross_bonds for part in bond.parts}
    tied = {part for tie in section.ties if _is_bond(tie) for part in tie.parts}
    found = []
    if any(part.kind in METAL_LAYERS and part.name not in crossed | tied for part in section.parts):
        found.append(words.OPEN_SCREENS)
    if crossed:
        found.append(words.CROSS_BONDED)
    if section.earth is None and any(tie.impedance is not None for tie in section.ties):
        found.append(words.BOND_WITHOUT_EARTH.format(radius=REFERENCE_RADIUS))
    afloat = {rail for rails in section.rungs if any(tie.parts == rails for tie in section.ties) for rail in rails}
    if any(part.kind == TRAY and part.name not in tied - afloat for part in section.parts):
        found.append(words.OPEN_TRAY)
    return found


def _of_models(study: Study, section: CrossSection) -> list[str]:
    found = []
    perforated = [part.name for part in section.parts if part.open_area > 0]
    if perforated:
        found.append(words.PERFORATED.format(parts=listed(perforated)))
    ladders = [tray.name for tray in study.trays if tray.profile == "ladder"]
    if ladders:
        found.append(words.RUNGS.format(trays=listed(ladders)))
    conductors = {circuit.cable: study.cables[circuit.cable].conductor for circuit in study.circuits}
    segmental = [name for name, own in conductors.items() if own.skin_coefficient < 1 or own.proximity_coefficient < 1]
    if segmental:
        found.append(words.SEGMENTAL.format(cables=listed(segmental)))
    return found


def _of_places(study: Study, section: CrossSection) -> list[str]:
    found = []
    within = [
        f"{receptor.name} in {metal}"
        for receptor, metal in zip(
            study.receptors, metal_at(section, [receptor.at for receptor in study.receptors]), strict=True
        )
        if metal is not None
    ]
    for traverse in study.traverses:
        line = np.linspace(traverse.start, traverse.end, traverse.points)
        crossed = [metal for metal in metal_at(section, line) if metal is not None]
        if crossed:
            within.append(f"part of {traverse.name} in {listed(crossed)}")
    if within:
        found.append(words.IN_METAL.format(places=listed(within)))
    holding = [name.removeprefix("zone ") for name in places_of_study(study, section) if name.startswith("zone ")]
    if holding:
        found.append(words.ZONES_WITH_METAL.format(zones=listed(holding)))
    left_out = _left_out(study)
    if left_out:
        listing = [f"{count} on {layer}" for layer, count in left_out.items()]
        found.append(words.IGNORED.format(listing=listed(listing)))
    return found


def _of_cancelling(section: CrossSection, receptors: Sequence[ReceptorResult]) -> list[str]:
    points = np.array([(receptor.x_m, receptor.y_m) for receptor in receptors]).reshape(-1, 2)
    pairs = zip(receptors, least_field(section, points), strict=True)
    small = [receptor.name for receptor, least in pairs if receptor.b_rms_t < least]
    return [words.CANCELLING.format(places=listed(small))] if small else []


def _left_out(study: Study) -> dict[str, int]:
    """Number of entities left out of each layer of the drawing that the study uses."""
    if study.drawing is None:
        return {}
    from studies.section.drawing import read_drawing  # needs a library of its own

    used = {layer for circuit in study.circuits for layer in (circuit.drawn_on or {}).values()}
    used |= {work.layer for work in study.metalwork if work.layer is not None}
    try:
        drawn = read_drawing(study)
    except StudyError:  # gone since the section was taken from it
        return {}
    return {} if drawn is None else {layer: count for layer, count in drawn.ignored.items() if layer in used}


def _is_bond(tie: Tie) -> bool:
    return len(tie.parts) > 1 or tie.impedance is not None
