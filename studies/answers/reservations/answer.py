"""The answer on what the error estimates do not cover, beside each verdict."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.reservations.compute import reservation_results
from studies.answers.reservations.rows import ReservationResult
from studies.answers.reservations.words import only_as_drawn_line, reservation_list


def _reservations(asked: Asked) -> tuple[ReservationResult, ...]:
    done = asked.done
    places = (*done["receptors"], *done["zones"])
    others = (done["parts"], done["route"], done["space"], done["net_currents"])
    return reservation_results(asked.study, asked.solutions, places, *others)


RESERVATIONS = Answer(
    "reservations",
    "what the errors do not cover",
    _reservations,
    needs=("receptors", "zones", "parts", "route", "other_steel", "space", "net_currents"),
    brief=reservation_list,
    verdicts=only_as_drawn_line,
    sees=("receptors", "zones"),
)
