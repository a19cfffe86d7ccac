"""The answer on plates that cables pass through."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.plates.compute import plate_results
from studies.answers.plates.rows import PlateResult
from studies.answers.plates.words import plate_rows, plate_section, plate_tables


def _plates(asked: Asked) -> tuple[PlateResult, ...]:
    return plate_results(asked.study, asked.solutions)


PLATES = Answer(
    "plates",
    "loss of plates that cables pass through",
    _plates,
    sections={"Plates that cables pass through": lambda seen, _: plate_section(seen)},
    brief=plate_tables,
    sheet=plate_rows,
)
