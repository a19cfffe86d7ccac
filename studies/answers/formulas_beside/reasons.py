"""Why formula and finite element differ, as far as the data of the study show."""

from __future__ import annotations

import math

from studies.answers.answers import Answers
from studies.section.parts import StudyPart
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.blocks import Section, Text
from studies.text.numbers import difference, percent

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


def reason_section(result: Answers) -> Section:
    """Sentences on the differences of field, loss and inductance."""
    return Section(
        "Why formula and finite element differ",
        "differences",
        (
            _subsection("Field at the receptors", "difference-field", _field_reasons(result)),
            _subsection("Losses", "difference-loss", _loss_reasons(result)),
            _subsection("Inductance", "difference-inductance", _inductance_reasons(result)),
        ),
        is_appendix=True,
    )


def _subsection(title: str, anchor: str, sentences: tuple[str, ...]) -> Section:
    blocks = [Text(sentences[:1])]
    if len(sentences) > 1:
        blocks.append(Text(sentences[1:], "list"))
    return Section(title, anchor, tuple(blocks))


def _field_reasons(result: Answers) -> tuple[str, ...]:
    found = [difference(receptor.line_formula_b_rms_t, receptor.b_rms_t) for receptor in result.receptors]
    differences = [value for value in found if value is not None]
    if not differences:
        return ("No receptor to compare at; the map of the difference shows where the line formula holds.",)
    largest = max(differences, key=abs)
    if abs(largest) < FIELD_DIFFERENCE:
        return (f"The line formula agrees within {percent(abs(largest), signed=False)} % at every receptor.",)
    reasons = [
        (
            f"The line formula differs by up to {percent(largest)} % at the receptors. It takes "
            "line currents at the conductors' axes only."
        )
    ]
    reasons += _metal_reasons(result)
    if _worst_share(result) > UNEQUAL:
        reasons.append(
            f"Parallel cables share unequally, up to {percent(_worst_share(result), signed=False)} % off an equal "
            f"share; the formula takes equal shares. With closed-form shares it differs by up to "
            f"{percent(_worst_shared(result))} %."
        )
    if _has_net_current(result):
        reasons.append(
            "The currents do not sum to zero: at a distance the field of the net current prevails, and the "
            "currents that it induces in trays and screens matter more."
        )
    near = [receptor.name for receptor in result.receptors if _is_close(result, receptor.x_m, receptor.y_m)]
    if near:
        reasons.append(
            f"Close to the cables ({', '.join(near)}) the shift of the current within the conductors (proximity "
            "effect) changes the field as well."
        )
    return tuple(reasons)


def _worst_shared(result: Answers) -> float | None:
    """Largest difference of the line formula with closed-form shares. [-]"""
    found = [difference(receptor.line_formula_shared_b_rms_t, receptor.b_rms_t) for receptor in result.receptors]
    return max((value for value in found if value is not None), key=abs, default=None)


def _metal_reasons(result: Answers) -> list[str]:
    trays = [part for part in result.cross_section.parts if part.cable is None]
    reasons = []
    steel = [part.name for part in trays if _is_magnetic(part)]
    if steel:
        reasons.append(
            f"The steel of {', '.join(steel)} draws the flux into its walls and turns the field around it: weaker "
            "behind the walls and the floor, often stronger on the open side. No line formula contains it."
        )
    plain_metal = [part.name for part in trays if not _is_magnetic(part)]
    if plain_metal:
        reasons.append(
            f"Eddy currents in {', '.join(plain_metal)} oppose the field that drives them; the better the metal "
            "conducts, the more."
        )
    limit = SMALL_CURRENT * max((abs(part.current_a) for part in result.parts), default=0.0)
    carriers = [part for part in result.parts if part.kind != CONDUCTOR and abs(part.current_a) > limit]
    if carriers:
        strongest = max(carriers, key=lambda part: abs(part.current_a))
        reasons.append(
            f"Bonded metal carries induced currents (up to {abs(strongest.current_a):.3g} A in "
            f"{strongest.part}), which weaken the field of the conductors."
        )
    return reasons


def _loss_reasons(result: Answers) -> tuple[str, ...]:
    return (*_conductor_loss_reasons(result), *_metal_loss_reasons(result))


def _metal_loss_reasons(result: Answers) -> list[str]:
    """The worst part of each kind of metal that has a formula, with the reasons why it is outside its range."""
    found = []
    for kind in dict.fromkeys(loss.kind for loss in result.losses if loss.kind != CONDUCTOR):
        pairs = [
            (value, loss)
            for loss in result.losses
            if loss.kind == kind and (value := difference(loss.formula_loss_w_per_m, loss.loss_w_per_m)) is not None
        ]
        if not pairs:
            continue
        largest, loss = max(pairs, key=lambda pair: abs(pair[0]))
        if abs(largest) >= LOSS_DIFFERENCE:
            why = f": {loss.formula_outside_range}" if loss.formula_outside_range else ""
            found.append(f"For {loss.part} the formula ({loss.formula}) differs by {percent(largest)} %{why}.")
    return found


def _conductor_loss_reasons(result: Answers) -> tuple[str, ...]:
    conductors = [loss for loss in result.losses if loss.kind == CONDUCTOR]
    pairs = [(difference(loss.formula_loss_w_per_m, loss.loss_w_per_m), loss) for loss in conductors]
    known = [(value, loss) for value, loss in pairs if value is not None and loss.formula_loss_w_per_m]
    idle = [loss.part for value, loss in pairs if value is not None and loss.formula_loss_w_per_m == 0]
    if not known:
        return ("No conductor has a formula to compare with.",)
    largest, loss = max(known, key=lambda pair: abs(pair[0]))
    if abs(largest) < LOSS_DIFFERENCE:
        return (f"The formulas agree within {percent(abs(largest), signed=False)} % for every conductor that has one.",)
    reasons = [f"The formula differs by up to {percent(largest)} % ({loss.part})."]
    if _worst_share(result) > UNEQUAL:
        reasons.append(
            "Parallel cables share unequally, and the loss goes with the square of the current: the formula takes the "
            "shares that the distances of the cables give, without steel, screens and proximity."
        )
    if len(result.cross_section.conductors()) != 3:
        reasons.append(
            "The proximity factor of IEC 60287-1-1 is for three single-core cables; with more or fewer neighbours each "
            "conductor lies in a different field."
        )
    if any(part.cable is None and _is_magnetic(part) for part in result.cross_section.parts):
        reasons.append(
            "Steel beside the cables strengthens the field across the conductors, and with it the proximity loss."
        )
    if idle:
        reasons.append(
            f"A conductor without net current ({', '.join(idle)}) has eddy loss in the field of the others; I² R has "
            "none."
        )
    reasons.append(
        "The formula gives all phases of a symmetrical circuit one proximity factor; in a flat formation the "
        "middle conductor lies in a different field from the outer ones."
    )
    return tuple(reasons)


def _inductance_reasons(result: Answers) -> tuple[str, ...]:
    own = [difference(phase.formula_inductance_h_per_m, phase.inductance_h_per_m) for phase in result.phases]
    mean = [difference(phase.gmd_inductance_h_per_m, phase.inductance_h_per_m) for phase in result.phases]
    known = [value for value in own if value is not None]
    if not known:
        return ("No phase carries a current.",)
    largest = max(known, key=abs)
    reasons = [f"With its own distances the line formula differs by up to {percent(largest)} %."]
    if abs(largest) >= INDUCTANCE_DIFFERENCE:
        if any(part.cable is None and _is_magnetic(part) for part in result.cross_section.parts):
            reasons.append("Steel near the cables gives their flux an easier path and raises the inductance.")
        if any(part.cable is None and not _is_magnetic(part) for part in result.cross_section.parts):
            reasons.append("Eddy currents in metal that is not magnetic push the flux out and lower the inductance.")
        limit = SMALL_CURRENT * max((abs(part.current_a) for part in result.parts), default=0.0)
        if any(part.kind in METAL_LAYERS and abs(part.current_a) > limit for part in result.parts):
            reasons.append(
                "Currents in bonded metal layers of the cables lower the inductance and raise the resistance."
            )
        if _worst_share(result) > UNEQUAL:
            reasons.append("Unequal sharing between parallel cables changes the mean distances.")
    averaged = [value for value in mean if value is not None]
    if averaged and max(averaged) - min(averaged) > INDUCTANCE_DIFFERENCE:
        reasons.append(
            f"The mean by GMD is one value for all phases; it differs by {percent(min(averaged))} % to "
            f"{percent(max(averaged))} % because the phases are unequal."
        )
    return tuple(reasons)


def _is_magnetic(part: StudyPart) -> bool:
    return complex(part.material.relative_permeability).real > 1.5


def _worst_share(result: Answers) -> float:
    shares = [part.share_of_phase for part in result.parts if part.kind == CONDUCTOR and part.share_of_phase]
    return max((abs(share - 1) for share in shares), default=0.0)


def _has_net_current(result: Answers) -> bool:
    largest = max((abs(phase.current) for phase in result.cross_section.phases), default=0.0)
    return abs(result.cross_section.net_current()) > 1e-6 * largest


def _is_close(result: Answers, x: float, y: float) -> bool:
    return any(
        math.dist((x, y), cable.axis) < NEAR * 2 * cable.layers.conductor_radius
        for cable in result.cross_section.cables
    )
