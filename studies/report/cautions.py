"""The cautions of a result: those of every study, and those that this study calls for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from scipy.constants import mu_0

from fem.effective import DEFAULT_RULE, RULES
from fem.solve import REFERENCE_RADIUS
from fem.ties import Tie
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.judged_places import places_of_study
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents, in_words
from studies.answers.losses.rows import PartResult
from studies.answers.steel.steel_words import RULE_ACCURACY, hysteresis_words
from studies.section.cross_section import TRAY, CrossSection, parallel_conductors
from studies.section.enclosure import Enclosure, enclosures, is_magnetic, metal_at, single_core_steel
from studies.section.spacing import ALONE, CLOSED, IN_WORDS, spacing_of
from studies.section.spectrum import at_component, components
from studies.solve.accuracy import Solved
from studies.solve.cancelling_fields import least_field
from studies.solve.levels import AccuracyResult
from studies.study.file import Study
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.failures import guarded
from studies.text.problems import StudyError

TWO_DIMENSIONAL = (
    "The cross-section is computed as if it were the same along the whole run: ends, bends, risers, ladder rungs, "
    "perforations, joints and crossings are three-dimensional and are not in these numbers."
)
ALWAYS = (
    "This result supports, and does not replace, the judgement of a licensed engineer.",
    "Local wiring codes and the equipment maker's installation limits come first.",
    "Current ratings are outside the scope of this study.",
    TWO_DIMENSIONAL,
    "Persons with implanted devices need an assessment of their own.",
    "Measure after installation.",
)
STEEL = (
    "Steel with constant permeability ({parts}): the permeability of real sheet varies from batch to batch, and sheet "
    "near conductors at hundreds of amperes saturates. Take its loss and its shielding as estimates, compare several "
    "permeabilities, or state a magnetisation curve."
)
SATURATING = (
    "Saturating steel ({parts}) has one effective permeability at each point, by the rule “{rule}” ({meaning}). "
    f"{RULE_ACCURACY}. The curve is that of one sample, {{hysteresis}} Batches of sheet differ by "
    "more: see the results with another steel."
)
HARMONICS = (
    "The steel is magnetised by the {frequency:g} Hz field alone. Fields of other frequencies are computed with the "
    "effective permeability at {frequency:g} Hz and do not change it."
)
WEAK_FIRST = (
    "The largest currents flow at {largest:g} Hz, but the effective permeability of the steel is computed from the "
    "{first:g} Hz field alone, so the steel is magnetised too little. State {largest:g} Hz as the frequency of the "
    "study."
)
PERFORATED = (
    "Perforated sheet ({parts}) is modelled as homogeneous sheet, with the conductivity and permeability reduced as by "
    "round holes of the stated open area. The holes must be small compared with the skin depth and with the distance "
    "to the cables. Slots have a different effect along and across their length, and the field close to the holes is "
    "not in these numbers."
)
OPEN_SCREENS = (
    "Screens, sheaths or armour bonded at one point only carry a standing voltage at their open end, and a far higher "
    "one in a short circuit. It can be dangerous to touch. The table of parts gives it for each 100 m of run."
)
CROSS_BONDED = (
    "Cross-bonded screens are computed for three minor sections of exactly equal length and formation. Their currents, "
    "fields and losses are shown for the first minor section. Unequal lengths leave more current."
)
OPEN_TRAY = "A tray that is not bonded along its run can carry a dangerous voltage; bond it as the local code asks."
RUNGS = (
    "The rungs of a ladder ({trays}) are not in the cross-section: these numbers leave out the eddy currents in the "
    "rungs and the loss of a current that crosses them from rail to rail."
)
ROUTE = (
    "The run is computed as long, uniform sections: the fields, losses and forces near its transpositions, joints, "
    "bends, risers and changes of cross-section are three-dimensional and are not in these numbers."
)
UNDER_COVER = (
    "The cables keep clear gaps ({kept}), but lie under a cover or in closed metal ({parts}). The rule for clear gaps "
    "is for open trays without a cover and lapses here: use the local code's rule for covered trays."
)
ENCIRCLED = (
    "Steel closed around the cables of one phase, or around unbalanced currents, heats: keep all phases together."
)
SINGLE_PHASE = (
    "Closed metal around a net current: {listing}. Closed steel is magnetised all the way round by the net current "
    "inside it, loses much more than an open tray, and heats. Other metal carries a circulating current if it is "
    "bonded. Put all conductors of a circuit through the same opening (common practice, no source)."
)
STEEL_LAYER = (
    "Magnetic metal around each single-core cable ({circuits}): the whole current of one phase magnetises it, and its "
    "loss is high. Armour that is not magnetic avoids this (common practice, no source)."
)
NET_CURRENT = (
    "The currents do not sum to zero: {net:.3g} A remain. The model returns this current {radius:g} m away. "
    "Impedances and voltages depend on that distance, and the far field falls only as 1/r."
)
BOND_WITHOUT_EARTH = (
    "A bond closes through an impedance, but the study states no earth: the model returns the net current of the "
    "bonded parts {radius:g} m away. State [earth], or read the currents of this bond as those of a distant return."
)
EARTH = (
    "The earth is modelled as flat and homogeneous with {resistivity:g} ohm m. Its resistivity changes with layers and "
    "season, and no stated error covers that. Twice the resistivity adds {change:.3g} mohm/km to the reactance of "
    "every loop through the earth at {frequency:g} Hz, and half of it takes as much away. The current in the earth and "
    "its field change as well: compare the results with both."
)
UNEQUAL_SHARE = (
    "Parallel cables do not share equally: {listing}. A cable above its share runs hotter than the load of the circuit "
    "suggests. The usual remedy is a symmetrical order or grouping of the phases, such as L1 L2 L3 L3 L2 L1, or one "
    "trefoil of all phases for each set (common practice, no source)."
)
SEGMENTAL = (
    "The skin and proximity coefficients of segmental conductors ({cables}) are used in the formulas only: the finite "
    "elements model each conductor as one homogeneous circle with its full skin and proximity effect."
)
IN_METAL = (
    "Inside a cable or metal: {places}. The field given there is the field in the material. The mesh is not refined "
    "for such a place, and its error estimate means little where the material is thin. A verdict there judges the "
    "field in the material, which no person or instrument meets; it does not cover the air beside it."
)
ZONES_WITH_METAL = (
    "Zones that hold cables or metal ({zones}): the limit is judged in their air, a few millimetres away from cables "
    "and metal. The field in the metal is given separately and is not judged."
)
CANCELLING = (
    "The fields of circuits cancel at {places}: less than a hundredth of the sum of their separate fields is left. On "
    "site, small differences of position, length and current decide what is left. The asked accuracy there is relative "
    "to that hundredth."
)
IGNORED = (
    "The layers of the drawing that the study uses contain more than circles and closed outlines. The rest was left "
    "out: {listing}."
)
UNCHECKED = "The check for cautions of {concern} failed: judge {concern} without the program."
NOT_MET = (
    "The asked accuracy of {asked:.2g} % was not reached everywhere: the largest error estimate is {reached:.2g} %. "
    "The numbers concerned are marked."
)
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
        "metal around currents": lambda: _of_enclosures(
            section, enclosures(study, section, solved.fields.part_names, solved.drive)
        ),
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
        found.append(NOT_MET.format(asked=100 * accuracy.tolerance, reached=100 * accuracy.worst_error))
    for concern, make in groups.items():
        found += guarded(f"cautions of {concern}", make, [UNCHECKED.format(concern=concern)])
    if study.route:
        found.append(ROUTE)
    return (*found, *ALWAYS)


def listed(names: Iterable[str]) -> str:
    """The names separated by commas; of many, the first few and the number of the others."""
    distinct = list(dict.fromkeys(names))
    more = len(distinct) - MOST_NAMES
    return ", ".join(distinct if more <= 0 else [*distinct[:MOST_NAMES], f"and {more} more"])


def _of_doubtful_currents(study: Study, section: CrossSection, parts: Sequence[PartResult]) -> list[str]:
    doubt = in_words(doubtful_currents(study, section, computed_currents(parts)))
    return [doubt] if doubt else []


def _of_enclosures(section: CrossSection, inside: Sequence[Enclosure]) -> list[str]:
    found = []
    unbalanced = [enclosure for enclosure in inside if enclosure.unbalanced]
    if unbalanced:
        listing = [f"{one.part} around {one.net_a:.3g} A of {', '.join(one.circuits)}" for one in unbalanced]
        found.append(SINGLE_PHASE.format(listing=listed(listing)))
    if any(enclosure.magnetic and not enclosure.unbalanced for enclosure in inside):
        found.append(ENCIRCLED)
    circuits = single_core_steel(section)
    if circuits:
        found.append(STEEL_LAYER.format(circuits=listed(circuits)))
    return found


def _of_currents(study: Study, section: CrossSection, solved: Solved) -> list[str]:
    sections = [at_component(section, component) for component in components(study)]
    net = max(abs(one.net_current()) for one in sections)
    largest = max((abs(tie.current) for one in sections for tie in one.ties), default=0.0)
    found = []
    if section.earth is not None:
        change = 1e6 * section.frequency * mu_0 / 2 * math.log(2)  # w mu0/(2 pi) ln sqrt 2, in mohm/km
        found.append(EARTH.format(resistivity=section.earth.resistivity, change=change, frequency=section.frequency))
    elif net > NEGLIGIBLE * largest:
        found.append(NET_CURRENT.format(net=net, radius=abs(solved.fields.exterior.reference_radius)))
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
    return [UNEQUAL_SHARE.format(listing=listed(listing))] if listing else []


def _of_spacing(study: Study, section: CrossSection) -> list[str]:
    spacing = spacing_of(study, section)
    if spacing.word != CLOSED or spacing.kept == ALONE:
        return []
    return [UNDER_COVER.format(kept=IN_WORDS[spacing.kept], parts=listed(spacing.closed_by))]


def _of_steel(study: Study, section: CrossSection) -> list[str]:
    linear = [part.name for part in section.parts if part.steel is None and is_magnetic(part)]
    saturating = list(section.steels())
    found = []
    if linear:
        found.append(STEEL.format(parts=listed(linear)))
    if saturating:
        meaning = RULES[DEFAULT_RULE].meaning
        hysteresis = hysteresis_words([steel.loss_angle for steel in section.steels().values()])
        words = {"rule": DEFAULT_RULE, "meaning": meaning, "hysteresis": hysteresis}
        found.append(SATURATING.format(parts=listed(saturating), **words))
        first, *others = components(study)
        if others:
            found.append(HARMONICS.format(frequency=first.frequency))
            sizes = [max(map(abs, component.currents.values()), default=0.0) for component in (first, *others)]
            largest = (first, *others)[int(np.argmax(sizes))]
            if largest is not first:
                found.append(WEAK_FIRST.format(first=first.frequency, largest=largest.frequency))
    return found


def _of_bonds(section: CrossSection) -> list[str]:
    crossed = {part for bond in section.cross_bonds for part in bond.parts}
    tied = {part for tie in section.ties if _is_bond(tie) for part in tie.parts}
    found = []
    if any(part.kind in METAL_LAYERS and part.name not in crossed | tied for part in section.parts):
        found.append(OPEN_SCREENS)
    if crossed:
        found.append(CROSS_BONDED)
    if section.earth is None and any(tie.impedance is not None for tie in section.ties):
        found.append(BOND_WITHOUT_EARTH.format(radius=REFERENCE_RADIUS))
    afloat = {rail for rails in section.rungs if any(tie.parts == rails for tie in section.ties) for rail in rails}
    if any(part.kind == TRAY and part.name not in tied - afloat for part in section.parts):
        found.append(OPEN_TRAY)
    return found


def _of_models(study: Study, section: CrossSection) -> list[str]:
    found = []
    perforated = [part.name for part in section.parts if part.open_area > 0]
    if perforated:
        found.append(PERFORATED.format(parts=listed(perforated)))
    ladders = [tray.name for tray in study.trays if tray.profile == "ladder"]
    if ladders:
        found.append(RUNGS.format(trays=listed(ladders)))
    conductors = {circuit.cable: study.cables[circuit.cable].conductor for circuit in study.circuits}
    segmental = [name for name, own in conductors.items() if own.skin_coefficient < 1 or own.proximity_coefficient < 1]
    if segmental:
        found.append(SEGMENTAL.format(cables=listed(segmental)))
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
        found.append(IN_METAL.format(places=listed(within)))
    holding = [name.removeprefix("zone ") for name in places_of_study(study, section) if name.startswith("zone ")]
    if holding:
        found.append(ZONES_WITH_METAL.format(zones=listed(holding)))
    left_out = _left_out(study)
    if left_out:
        listing = [f"{count} on {layer}" for layer, count in left_out.items()]
        found.append(IGNORED.format(listing=listed(listing)))
    return found


def _of_cancelling(section: CrossSection, receptors: Sequence[ReceptorResult]) -> list[str]:
    points = np.array([(receptor.x_m, receptor.y_m) for receptor in receptors]).reshape(-1, 2)
    pairs = zip(receptors, least_field(section, points), strict=True)
    small = [receptor.name for receptor, least in pairs if receptor.b_rms_t < least]
    return [CANCELLING.format(places=listed(small))] if small else []


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
