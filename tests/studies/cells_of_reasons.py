"""What the section on the differences between formulas and finite elements says: templates and their numbers.

Reasons in words are told where the study has what they name, and nowhere else.
"""

from collections.abc import Iterator
from typing import Any

from studies.result import Result
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from tests.studies.cells import first_of_most, inductance_off, off

Said = tuple[str, tuple[Any, ...]]
NOTICEABLE = 0.02
"""Difference, or deviation from an equal share, that is explained. [-]"""


def reasons_of(result: Result) -> Iterator[Said]:
    """By how much each kind of formula is off at worst, and the parts that this is put down to."""
    yield from _of_fields(result)
    yield from _of_metal(result)
    yield from _of_conductors(result)
    yield from _of_metal_losses(result)
    yield from _of_inductances(result)


def is_magnetic(part: Any) -> bool:
    return complex(part.material.relative_permeability).real > 1.5


def _worst(values: list[float | None]) -> float | None:
    return max((value for value in values if value is not None), key=abs, default=None)


def _of_fields(result: Result) -> Iterator[Said]:
    largest = _worst([off(entry.line_formula_b_rms_t, entry.b_rms_t) for entry in result.receptors])
    if largest is None:
        return
    if abs(largest) < 0.03:
        yield "The line formula agrees within {%} at every receptor.", (abs(largest),)
        return
    start = "The line formula differs by up to {%} at the receptors."
    yield f"{start} It takes line currents at the conductors' axes only.", (largest,)
    unequal = max((abs(share - 1) for share in _shares(result)), default=0.0)
    if unequal > NOTICEABLE:
        shared = _worst([off(entry.line_formula_shared_b_rms_t, entry.b_rms_t) for entry in result.receptors])
        text = "Parallel cables share unequally, up to {%} off an equal share; the formula takes equal shares. With "
        yield f"{text}closed-form shares it differs by up to {{%}}.", (unequal, shared)


def _shares(result: Result) -> list[float]:
    return [part.share_of_phase for part in result.parts if part.kind == CONDUCTOR and part.share_of_phase]


def _of_metal(result: Result) -> Iterator[Said]:
    largest = _worst([off(entry.line_formula_b_rms_t, entry.b_rms_t) for entry in result.receptors])
    if largest is None or abs(largest) < 0.03:
        return
    metal = [part for part in result.cross_section.parts if part.cable is None]
    steel = ", ".join(part.name for part in metal if is_magnetic(part))
    other = ", ".join(part.name for part in metal if not is_magnetic(part))
    if steel:
        yield f"The steel of {steel} draws the flux {{*}}", ()
    if other:
        yield f"Eddy currents in {other} oppose the field {{*}}", ()
    currents = {part.part: abs(part.current_a) for part in result.parts}
    carriers = [part.part for part in result.parts if part.kind != CONDUCTOR]
    strongest = first_of_most(carriers, currents.__getitem__) if carriers else ""
    if strongest and currents[strongest] > 1e-3 * max(currents.values()):
        text = f"Bonded metal carries induced currents (up to {{A}} in {strongest}), which weaken {{*}}"
        yield text, (currents[strongest],)


def _of_conductors(result: Result) -> Iterator[Said]:
    own = [
        (off(loss.formula_loss_w_per_m, loss.loss_w_per_m), loss.part)
        for loss in result.losses
        if loss.kind == CONDUCTOR and loss.formula_loss_w_per_m
    ]
    known = [(value, part) for value, part in own if value is not None]
    if not known:
        return
    largest, part = max(known, key=lambda pair: abs(pair[0]))
    if abs(largest) < NOTICEABLE:
        yield "The formulas agree within {%} for every conductor that has one.", (abs(largest),)
    else:
        yield f"The formula differs by up to {{%}} ({part}).", (largest,)


def _of_metal_losses(result: Result) -> Iterator[Said]:
    for kind in dict.fromkeys(loss.kind for loss in result.losses if loss.kind != CONDUCTOR):
        own = [(off(loss.formula_loss_w_per_m, loss.loss_w_per_m), loss) for loss in result.losses if loss.kind == kind]
        known = [(value, loss) for value, loss in own if value is not None]
        if not known:
            continue
        largest, loss = max(known, key=lambda pair: abs(pair[0]))
        if abs(largest) >= NOTICEABLE:
            why = f": {loss.formula_outside_range}" if loss.formula_outside_range else ""
            yield f"For {loss.part} the formula ({loss.formula}) differs by {{%}}{why}.", (largest,)


def _of_inductances(result: Result) -> Iterator[Said]:
    largest = _worst([inductance_off(result, phase, phase.formula_inductance_h_per_m) for phase in result.phases])
    if largest is None:
        yield "No phase carries a current.", ()
        return
    yield "With its own distances the line formula differs by up to {%}.", (largest,)
    if abs(largest) >= NOTICEABLE:
        metal = [part for part in result.cross_section.parts if part.cable is None]
        if any(map(is_magnetic, metal)):
            yield "Steel near the cables {*}", ()
        if not all(map(is_magnetic, metal)):
            yield "Eddy currents in metal that is not magnetic {*}", ()
        limit = 1e-3 * max(abs(part.current_a) for part in result.parts)
        if any(part.kind in METAL_LAYERS and abs(part.current_a) > limit for part in result.parts):
            yield "Currents in bonded metal layers of the cables {*}", ()
    means = [inductance_off(result, phase, phase.gmd_inductance_h_per_m) for phase in result.phases]
    averaged = [value for value in means if value is not None]
    if averaged and max(averaged) - min(averaged) > NOTICEABLE:
        start = "The mean by GMD is one value for all phases; it differs by {%} to {%} because"
        yield f"{start} the phases are unequal.", (min(averaged), max(averaged))
