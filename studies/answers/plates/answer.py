"""The answer on plates that cables pass through."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.plates.compute import plate_results
from studies.answers.plates.rows import PlateResult
from studies.answers.plates.words import FIGURE, drawn_ways, plate_rows, plate_section, plate_tables, plate_verdicts


def _plates(asked: Asked) -> tuple[PlateResult, ...]:
    return plate_results(asked.study, asked.solutions)


def _figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.plates.figure import draw_plates

    return {FIGURE: partial(draw_plates, seen)} if drawn_ways(seen) else {}


PLATES = Answer(
    "plates",
    "loss of plates that cables pass through",
    _plates,
    sections={"Plates that cables pass through": plate_section},
    figures=_figures,
    brief=plate_tables,
    verdicts=plate_verdicts,
    sheet=plate_rows,
)
