"""Reasons for the differences between formulas and finite elements, as far as the data of the study show them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from studies.answers.answers import Answers
from studies.answers.phases.rows import compared_inductances
from studies.section.parts import CrossSection, StudyPart
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.blocks import Section, Text
from studies.text.numbers import difference, largest, per_cent, plain

FIELD_DIFFERENCE = 0.03
LOSS_DIFFERENCE = 0.02
INDUCTANCE_DIFFERENCE = 0.02
"""Differences that are explained. [-]"""
UNEQUAL = 0.02
"""Deviation from an equal share that counts as unequal sharing. [-]"""
NEAR = 10.0
"""A receptor nearer than this many conductor diameters counts as close. [-]"""
SMALL_CURRENT = 1e-3
"""Induced currents below this share of the largest current are not named. [-]"""

Facts = Mapping[str, str]
"""What a study holds that formulas leave out, in words; empty if it does not hold it."""
Reasons = Mapping[str, str]
"""The sentence that is said if a fact holds, by the fact; a sentence may name all facts."""
OF_FIELD: Reasons = {
    "steel": (
        "The steel of {steel} draws the flux into its walls and turns the field around it: weaker behind the walls and "
        "the floor, often stronger on the open side. No line formula contains it."
    ),
    "other_metal": (
        "Eddy currents in {other_metal} oppose the field that drives them; the better the metal conducts, the more."
    ),
    "carried": ("Bonded metal carries induced currents (up to {carried}), which weaken the field of the conductors."),
    "unequal": (
        "Parallel cables share unequally, up to {unequal} off an equal share; the formula takes equal shares. With "
        "closed-form shares it differs by up to {shared}."
    ),
    "net_current": (
        "The currents do not sum to zero: far away the field of the net current prevails, and the currents that it "
        "induces in trays and screens matter more."
    ),
    "near": (
        "Close to the cables ({near}) the shift of the current within the conductors (proximity effect) changes the "
        "field as well."
    ),
}
OF_LOSS: Reasons = {
    "unequal": (
        "Parallel cables share unequally, and the loss grows with the square of the current: the formula takes the "
        "shares that the distances of the cables give, without steel, screens and proximity."
    ),
    "not_three": (
        "The proximity factor of IEC 60287-1-1 is for three single-core cables; with more or fewer neighbours each "
        "conductor lies in a different field."
    ),
    "steel": "Steel beside the cables strengthens the field across the conductors, and with it the proximity loss.",
    "idle": "A conductor without net current ({idle}) has eddy loss in the field of the others; I² R has none.",
    "always": (
        "The formula gives all phases of a symmetrical circuit one proximity factor; in a flat formation the middle "
        "conductor lies in a different field from the outer ones."
    ),
}
OF_INDUCTANCE: Reasons = {
    "steel": "Steel near the cables gives their flux an easier path and raises the inductance.",
    "other_metal": "Eddy currents in metal that is not magnetic push the flux out and lower the inductance.",
    "layers": "Currents in bonded metal layers of the cables lower the inductance and raise the resistance.",
    "unequal": "Unequal sharing between parallel cables changes the mean distances.",
}


def reason_section(result: Answers) -> Section:
    """Sentences on the differences of field, loss and inductance."""
    facts = _facts(result)
    subjects = (
        ("Field at the receptors", "difference-field", _field_reasons(result, facts)),
        ("Losses", "difference-loss", (*_conductor_loss_reasons(result, facts), *_metal_loss_reasons(result))),
        ("Inductance", "difference-inductance", _inductance_reasons(result, facts)),
    )
    blocks = tuple(_subsection(*own) for own in subjects)
    return Section("Why formula and finite element differ", "differences", blocks, is_appendix=True)


def _subsection(title: str, anchor: str, sentences: tuple[str, ...]) -> Section:
    first, rest = Text(sentences[:1]), sentences[1:]
    return Section(title, anchor, (first, Text(rest, "list")) if rest else (first,))


def _facts(result: Answers) -> Facts:
    section = result.cross_section
    metal = [part for part in section.parts if part.cable is None]
    least = SMALL_CURRENT * max((abs(part.current_a) for part in result.parts), default=0.0)
    carriers = [part for part in result.parts if part.kind != CONDUCTOR and abs(part.current_a) > least]
    strongest = largest(carriers, lambda part: abs(part.current_a)) if carriers else None
    shares = [part.share_of_phase for part in result.parts if part.kind == CONDUCTOR and part.share_of_phase]
    unequal = max((abs(share - 1) for share in shares), default=0.0)
    shared = _known((receptor.line_formula_shared_b_rms_t, receptor.b_rms_t) for receptor in result.receptors)
    phase_current = max((abs(phase.current) for phase in section.phases), default=0.0)
    held = {
        "net_current": abs(section.net_current()) > 1e-6 * phase_current,
        "not_three": len(section.conductors()) != 3,
        "layers": any(part.kind in METAL_LAYERS for part in carriers),
        "always": True,
    }
    return {
        "steel": ", ".join(part.name for part in metal if _is_magnetic(part)),
        "other_metal": ", ".join(part.name for part in metal if not _is_magnetic(part)),
        "carried": f"{plain(abs(strongest.current_a))} A in {strongest.part}" if strongest is not None else "",
        "unequal": per_cent(unequal, signed=False) if unequal > UNEQUAL else "",
        "shared": per_cent(max(shared, key=abs, default=None)),
        "near": ", ".join(own.name for own in result.receptors if _is_close(section, (own.x_m, own.y_m))),
        "idle": ", ".join(
            loss.part for loss in result.losses if loss.kind == CONDUCTOR and loss.formula_loss_w_per_m == 0
        ),
        **{name: "yes" if holds else "" for name, holds in held.items()},
    }


def _said(reasons: Reasons, facts: Facts) -> tuple[str, ...]:
    return tuple(sentence.format(**facts) for fact, sentence in reasons.items() if facts[fact])


def _known(pairs: Iterable[tuple[float | None, float | None]]) -> list[float]:
    """Differences of formulas and computed numbers, as far as both are known. [-]"""
    return [value for formula, computed in pairs if (value := difference(formula, computed)) is not None]


def _field_reasons(result: Answers, facts: Facts) -> tuple[str, ...]:
    differences = _known((receptor.line_formula_b_rms_t, receptor.b_rms_t) for receptor in result.receptors)
    if not differences:
        return ("No receptor to compare at; the map of the difference shows where the line formula holds.",)
    largest = max(differences, key=abs)
    if abs(largest) < FIELD_DIFFERENCE:
        return (f"The line formula agrees within {per_cent(abs(largest), signed=False)} at every receptor.",)
    first = f"The line formula differs by up to {per_cent(largest)} at the receptors. It takes line currents at the "
    return (f"{first}conductors' axes only.", *_said(OF_FIELD, facts))


def _metal_loss_reasons(result: Answers) -> list[str]:
    """The worst part of each kind of metal that has a formula, with the reasons why it is outside its range."""
    found: dict[str, tuple[float, str]] = {}
    for loss in result.losses:
        value = difference(loss.formula_loss_w_per_m, loss.loss_w_per_m)
        if loss.kind != CONDUCTOR and value is not None and abs(value) > abs(found.get(loss.kind, (0.0, ""))[0]):
            why = f": {loss.formula_outside_range}" if loss.formula_outside_range else ""
            sentence = f"For {loss.part} the formula ({loss.formula}) differs by {per_cent(value)}{why}."
            found[loss.kind] = value, sentence
    return [sentence for value, sentence in found.values() if abs(value) >= LOSS_DIFFERENCE]


def _conductor_loss_reasons(result: Answers, facts: Facts) -> tuple[str, ...]:
    known = [
        (value, loss)
        for loss in result.losses
        if loss.kind == CONDUCTOR and loss.formula_loss_w_per_m
        if (value := difference(loss.formula_loss_w_per_m, loss.loss_w_per_m)) is not None
    ]
    if not known:
        return ("No conductor has a formula to compare with.",)
    largest, loss = max(known, key=lambda pair: abs(pair[0]))
    if abs(largest) < LOSS_DIFFERENCE:
        return (f"The formulas agree within {per_cent(abs(largest), signed=False)} for every conductor that has one.",)
    return (f"The formula differs by up to {per_cent(largest)} ({loss.part}).", *_said(OF_LOSS, facts))


def _inductance_reasons(result: Answers, facts: Facts) -> tuple[str, ...]:
    own = compared_inductances(result.phases)
    known = _known((phase.formula_inductance_h_per_m, own.get(id(phase))) for phase in result.phases)
    if not known:
        return ("No phase carries a current.",)
    largest = max(known, key=abs)
    reasons = [f"With its own distances the line formula differs by up to {per_cent(largest)}."]
    if abs(largest) >= INDUCTANCE_DIFFERENCE:
        reasons += _said(OF_INDUCTANCE, facts)
    means = _known((phase.gmd_inductance_h_per_m, own.get(id(phase))) for phase in result.phases)
    if means and max(means) - min(means) > INDUCTANCE_DIFFERENCE:
        reasons.append(
            f"The mean by GMD is one value for all phases; it differs by {per_cent(min(means))} to "
            f"{per_cent(max(means))} because the phases are unequal."
        )
    return tuple(reasons)


def _is_magnetic(part: StudyPart) -> bool:
    return complex(part.material.relative_permeability).real > 1.5


def _is_close(section: CrossSection, place: tuple[float, float]) -> bool:
    return any(math.dist(place, cable.axis) < NEAR * 2 * cable.layers.conductor_radius for cable in section.cables)
