"""The answer on the run in space."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.space.compute import space_result
from studies.answers.space.rows import SpaceLineResult, SpaceResult
from studies.answers.space.words import (
    PLAN,
    PieceShare,
    brief_space,
    line_stems,
    space_alarms,
    space_rows,
    space_section,
    space_verdicts,
)
from studies.text.csv import csv_text


def _space(asked: Asked) -> SpaceResult | None:
    if asked.study.course is None:
        return None
    asked.report_progress("following the run through space")
    return space_result(asked.study, asked.solutions, asked.report_progress)


def _figures(result: Answers) -> Mapping[str, Draw]:
    from studies.answers.space.figure import draw_plan, draw_space_line

    found = result.space
    if found is None:
        return {}
    lines = {
        stem: partial(draw_space_line, result, line) for stem, line in zip(line_stems(found), found.lines, strict=True)
    }
    return lines if found.plan is None else {PLAN: partial(draw_plan, result, found.plan)} | lines


def _files(found: SpaceResult | None) -> Mapping[str, Sequence[object] | Callable[[], str]]:
    """Receptors, shares, and a file for each line."""
    if found is None:
        return {}
    shares = [PieceShare(row.name, one.section, one.share) for row in found.receptors for one in row.shares]
    lines = {stem: partial(_line_file, line) for stem, line in zip(line_stems(found), found.lines, strict=True)}
    return {"space_receptors": found.receptors, "space_along": found.along, "space_shares": shares, **lines}


def _line_file(line: SpaceLineResult) -> str:
    x, y, z = line.points_m.T
    columns = {"distance_m": line.distance_m, "x_m": x, "y_m": y, "z_m": z}
    columns |= {name: values for name, values in vars(line).items() if name.endswith("_t")}
    return csv_text(list(columns), zip(*(column.tolist() for column in columns.values()), strict=True))


SPACE = Answer(
    "space",
    "run in space",
    _space,
    empty=None,
    files=_files,
    sections={"The run in space": space_section},
    brief=brief_space,
    alarms=space_alarms,
    verdicts=space_verdicts,
    sheet=space_rows,
    figures=_figures,
    sees=("receptors", "zones", "net_currents"),
)
