"""Losses and currents in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents, in_words
from studies.section.cross_section import parallel_conductors
from studies.study.parts import CONDUCTOR, plural
from studies.text.numbers import percent, plain, quantity
from studies.text.units import LOSS_PER_LENGTH


def doubt_line(result: Answers) -> str:
    """Currents that no conductor of the area can carry for long."""
    return in_words(doubtful_currents(result.study, result.cross_section, computed_currents(result.parts))) or ""


def bond_line(result: Answers) -> str:
    """The largest circulating current and standing voltage."""
    carriers = [part for part in result.parts if part.kind != CONDUCTOR and part.current_rms_a > 0]
    lines = []
    if carriers:
        most = max(carriers, key=lambda part: part.current_rms_a)
        lines.append(f"Circulating currents: up to {plain(most.current_rms_a, 3)}\u202fA, in {most.part}.")
    loose = [(part.standing_voltage_v_per_100m, part.part) for part in result.parts if part.standing_voltage_v_per_100m]
    if loose:
        volts, name = max(loose)
        lines.append(f"Standing voltage: up to {plain(volts, 3)}\u202fV for each 100\u202fm of run, on {name}.")
    return " ".join(lines)


def loss_line(result: Answers) -> str:
    """The loss of all parts and of each kind."""
    total = sum(loss.loss_w_per_m for loss in result.losses)
    shares = [
        f"{plural(kind)} {quantity(result.loss_total(kind), LOSS_PER_LENGTH)}"
        for kind in dict.fromkeys(loss.kind for loss in result.losses)
    ]
    return f"Loss: {quantity(total, LOSS_PER_LENGTH)} in all; {', '.join(shares)}."


def sharing_line(result: Answers) -> str:
    """The largest and the smallest share of parallel cables."""
    parallel = parallel_conductors(result.cross_section)
    shares = [
        (part.share_of_phase, part.part)
        for part in result.parts
        if part.part in parallel and part.share_of_phase is not None
    ]
    if not shares:
        return ""
    (least, least_name), (most, most_name) = min(shares), max(shares)
    return (
        f"Parallel cables: {most_name} carries {percent(most, signed=False)} % of an equal share, {least_name} "
        f"{percent(least, signed=False)} %."
    )
