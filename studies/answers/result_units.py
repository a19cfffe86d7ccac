"""The units of a result, chosen once for all its tables and sentences."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.text.numbers import GAP, plain
from studies.text.units import FLUX_DENSITY, LOSS_PER_LENGTH, Units


def result_units(result: Answers) -> Units:
    """One unit for the fields and limits of all receptors and zones."""
    fields = [
        *(receptor.b_rms_t for receptor in result.receptors),
        *(zone.b_max_rms_t for zone in result.zones),
        *(receptor.limit_t for receptor in result.receptors),
        *(zone.limit_t for zone in result.zones),
    ]
    return Units.that_suit({FLUX_DENSITY: fields})


def shown_flux_density(result: Answers, value: float) -> str:
    """A flux density [T] with three digits, in the unit of the tables; its error stands there."""
    unit = result_units(result).of(FLUX_DENSITY, [value])
    return f"{plain(unit.of(value))}{GAP}{unit.symbol}"


def loss_units(result: Answers) -> Units:
    """One unit for the losses of all parts and their sums: that of the loss in all."""
    return Units.that_suit({LOSS_PER_LENGTH: [sum(loss.loss_w_per_m for loss in result.losses)]})
