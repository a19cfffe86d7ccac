"""The run in space in words: tables, section of the report, rows of the sheet, sentences."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fem.constants import mu_0
from studies.answers.answers import Answers
from studies.answers.figure_names import without_net_currents
from studies.answers.reservations.rows import BEND
from studies.answers.reservations.words import TURNED
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.answers.space.rows import AlongCourseResult, SpaceFieldResult, SpaceResult
from studies.section.enclosure import is_magnetic
from studies.study.course import ENDS, OtherRun
from studies.text.blocks import Block, Figure, First, Section, Text
from studies.text.file_names import slugs
from studies.text.grid import Tone
from studies.text.numbers import plain, stated, value_with_error, with_unit
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, LENGTH, METRE, NUMBER, PER_CENT

PLAN = "space_plan"
NOTE = (
    "Resultant, rms over all frequencies, of the run as its course lies in space. Cables are polylines with their "
    "computed currents; trays, screens and currents off the axes are filaments that follow them, from the solution of "
    "the cross-section, so that a straight run has its field exactly. ±: the numerical error, and the larger of two "
    "doubts of the metal at bends and ends: the difference to the second form, and the metal's part times (half width "
    "of the run/distance from the bend or end)²; of magnetic metal, which is magnetised along itself there, times "
    "twice that ratio. Second form: the field of the cables alone times what the metal "
    "does beside the nearest piece. Cross-section alone: the field if the nearest piece were straight without end."
)
SHARE_NOTE = (
    "Share: field of a piece along the field of the whole run, over it; the shares of a place sum to 100 %. A negative "
    "share weakens the field."
)
ALONG_NOTE = (
    "Each receptor of the cross-section stands beside every piece of the course in turn, where no other is nearer; "
    "this is its highest field, near a bend mostly. Straight run: the field of the cross-section."
)
NET_NOTE = (
    " Net currents add: at most about this, 1.71 times the field beside a straight run, as inside a right-angled bend; "
    "of places of the course all of them as line currents at the nearest path, without their return."
)
BEYOND = "laying, net current, {steel}what else lies along the run"
ABOVE_LIMIT, WITHIN_LIMIT, IN_ERROR = "above the limit", "within the limit", "limit within the error"


Judged = SpaceFieldResult | AlongCourseResult


@dataclass(frozen=True)
class PieceShare:
    """A row of the table of shares."""

    place: str
    section: str
    share: float


def space_table(result: Answers, found: SpaceResult) -> Table[SpaceFieldResult]:
    """The field of the run in space at each receptor."""
    columns: tuple[Column[SpaceFieldResult], ...] = (
        Column("Place", lambda r: r.name, brief=True),
        Column("Field", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Second form", lambda r: r.second_b_rms_t, FLUX_DENSITY),
        Column("Cables alone", lambda r: r.cables_b_rms_t, FLUX_DENSITY),
        Column("Nearest", lambda r: r.nearest, brief=True),
        Column("Away", lambda r: r.distance_m, METRE, digits=3),
        Column("Cross-section alone", lambda r: r.nearest_b_rms_t, FLUX_DENSITY, brief=True),
        Column("Field over it", lambda r: r.ratio, NUMBER, digits=3, brief=True),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True, optional=True),
        *_verdicts(result),
    )
    caption, note = f"The run in space{without_net_currents(result)}", NOTE + _net_note(result)
    return Table(caption, columns, found.receptors, note, units=result_units(result))


def along_table(result: Answers, found: SpaceResult) -> Table[AlongCourseResult]:
    """The highest field of each receptor of the cross-section along the course."""
    columns: tuple[Column[AlongCourseResult], ...] = (
        Column("Receptor", lambda r: r.name, brief=True),
        Column("Straight run", lambda r: r.straight_b_rms_t, FLUX_DENSITY, brief=True),
        Column("Highest", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Over straight", lambda r: r.ratio, NUMBER, digits=3, brief=True),
        Column("Beside", lambda r: r.section, brief=True),
        Column("x", lambda r: r.x_m, METRE, digits=3),
        Column("y", lambda r: r.y_m, METRE, digits=3),
        Column("z", lambda r: r.z_m, METRE, digits=3),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True, optional=True),
        *_verdicts(result),
    )
    caption = f"Receptors of the cross-section along the course{without_net_currents(result)}"
    return Table(caption, columns, found.along, ALONG_NOTE + _net_note(result), units=result_units(result))


def share_table(found: SpaceResult) -> Table[PieceShare]:
    """What each straight piece and bend adds to the field at each receptor."""
    rows = [PieceShare(r.name, one.section, one.share) for r in found.receptors for one in r.shares]
    columns: tuple[Column[PieceShare], ...] = (
        Column("Place", lambda r: r.place),
        Column("Piece", lambda r: r.section),
        Column("Share", lambda r: r.share, PER_CENT),
    )
    return Table("Shares of the pieces of the run", columns, rows, SHARE_NOTE)


def _verdicts(result: Answers) -> tuple[Column[Any], ...]:
    """The verdict, and what net currents may make of it."""
    return (
        Column("Verdict", lambda r: _told(result, r), tone=lambda r: _tone(result, r), brief=True, optional=True),
        Column("Net currents add", lambda r: _net_field(result, r), FLUX_DENSITY, brief=True, optional=True),
    )


def _net_note(result: Answers) -> str:
    return NET_NOTE if result.net_currents is not None else ""


def _net_field(result: Answers, row: Judged) -> float | None:
    """At most about this of all net currents, by a line current inside a right-angled bend; None without any. [T]"""
    found = result.net_currents
    if found is None:
        return None
    if isinstance(row, AlongCourseResult):
        alone = [own.net_b_rms_t for own in found.fields if own.kind == "receptor" and own.place == row.name]
        return BEND * max(alone) if alone else None
    current = sum(own.current_a for own in found.currents)
    return BEND * mu_0 * current / (2 * math.pi * row.distance_m) if row.distance_m > 0 else None


def _with_net(result: Answers, row: Judged) -> float:
    """Field over its limit, or exposure index, with error and with what net currents may add. [-]"""
    share, added = _share_of_limit(row), _net_field(result, row)
    if share is None or row.limit_t is None or added is None or row.b_rms_t == 0:
        return 0.0
    return share * (row.b_rms_t + row.b_rms_error_t + added) / row.b_rms_t


def _told(result: Answers, row: Judged) -> str | None:
    """The verdict, with whether net currents may turn it."""
    turned = row.within_limit and _with_net(result, row) > 1
    words = f" without net currents, may be {TURNED} with them" if turned else ""
    return None if row.within_limit is None else f"{space_verdict(row)}{words}"


def _tone(result: Answers, row: Judged) -> Tone:
    return "bad" if row.within_limit and _with_net(result, row) > 1 else space_tone(row)


def space_verdict(row: Judged) -> str | None:
    """The verdict of a receptor in words; None without a limit."""
    if row.within_limit is None:
        return None
    if row.within_limit:
        return WITHIN_LIMIT
    return ABOVE_LIMIT if (_share_of_limit(row) or 0.0) > 1 else IN_ERROR


def space_tone(row: Judged) -> Tone:
    """How its verdict stands out."""
    return "" if row.within_limit is None else "good" if row.within_limit else "bad"


def _share_of_limit(row: Judged) -> float | None:
    """Field over its limit, or the exposure index; None without a limit. [-]"""
    if row.limit_t is None:
        return None
    return row.b_rms_t / row.limit_t if row.exposure_index is None else row.exposure_index


def _margin(row: Judged) -> float | str | None:
    """Remainder to the limit with the error counted against it, over the limit [-]; its multiple if it is exceeded."""
    share = _share_of_limit(row)
    if share is None or row.limit_t is None:
        return None
    error = row.b_rms_error_t / row.limit_t if row.exposure_error is None else row.exposure_error
    left = 1 - share - error
    return (
        left
        if left >= 0
        else f"{'up to ' if share <= 1 else ''}{plain(share if share > 1 else 1 - left)} times the limit"
    )


def space_rows(result: Answers) -> list[SheetRow]:
    """Each receptor of the run in space on the sheet to sign."""
    found = result.space
    if found is None:
        return []
    net = without_net_currents(result)
    rows = [_row(result, f"Run in space at “{row.name}”{net}", row) for row in found.receptors]
    return rows + [_row(result, f"Highest along the course at “{row.name}”{net}", row) for row in found.along]


def _row(result: Answers, of: str, row: Judged) -> SheetRow:
    unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t])
    limit = None if row.limit_t is None else stated(row.limit_t, unit)
    if row.limit_name is not None:
        limit = row.limit_name if row.exposure_index is None else f"index 1 of {row.limit_name}"
    value = value_with_error(row.b_rms_t, row.b_rms_error_t, unit)
    if row.exposure_index is not None:
        value += f", exposure index {value_with_error(row.exposure_index, row.exposure_error or 0.0, NUMBER)}"
    steel = any(part.steel is not None or is_magnetic(part) for part in result.cross_section.parts)
    margin = None if row.within_limit and _with_net(result, row) > 1 else _margin(row)
    beyond = BEYOND.format(steel="steel's permeability, " * steel)
    return SheetRow(of, value, limit, margin, _told(result, row), _tone(result, row), beyond, "space")


def space_verdicts(result: Answers) -> tuple[str, ...]:
    """The places of the course that are above their limit, at the head of the report."""
    found = () if result.space is None else result.space.receptors
    above = ", ".join(f"“{row.name}”, {_margin(row)}" for row in found if row.within_limit is False)
    lines: list[str] = [First(f"ABOVE the limit in the run in space: {above}.")] if above else []
    rows: list[Judged] = [] if result.space is None else [*result.space.receptors, *result.space.along]
    turned = ", ".join(f"“{row.name}”" for row in rows if row.within_limit and _with_net(result, row) > 1)
    said = f"Within the limit in the run in space, may be above it with net currents: {turned}."
    lines += [First(said)] if turned else []
    return tuple(lines)


def space_alarms(result: Answers) -> tuple[str, ...]:
    """Where the cross-section alone gives too low a field, without which its verdicts should not be read."""
    found = result.space
    if found is None:
        return ()
    lines = []
    for row in found.receptors:
        if not row.is_too_low:
            continue
        unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t, row.nearest_b_rms_t])
        times = "" if row.ratio is None else f", {plain(row.ratio)} times as much"
        share = row.nearest_b_rms_t / row.b_rms_t * (_share_of_limit(row) or 0.0)
        changed = row.within_limit is False and share <= 1
        lines.append(
            f"The cross-section alone is too low at “{row.name}”: it gives "
            f"{plain(unit.of(row.nearest_b_rms_t))}\u202f{unit.symbol} beside {row.nearest}, the run in space "
            f"{value_with_error(row.b_rms_t, row.b_rms_error_t, unit)}{times}."
            + (" By the cross-section alone the limit would be met." if changed else "")
        )
    for one in found.along:
        if not one.is_higher or one.ratio is None:
            continue
        share = (_share_of_limit(one) or 0.0) / one.ratio
        if one.within_limit is False and share <= 1:
            lines.append(
                f"The limit at “{one.name}” is met beside a straight run, not along the whole course: "
                f"beside {one.section} the field is {plain(one.ratio)} times that of the cross-section."
            )
    return tuple(lines)


def space_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Tables and figures of the run in space; None without a course."""
    found, course = result.space, result.study.course
    if found is None or course is None:
        return None
    ends = f"The first end {course.first_end}, the last {course.last_end}"
    corner = (
        "mitred corners" if course.bend_radius is None else f"a bend radius of {with_unit(course.bend_radius, LENGTH)}"
    )
    pieces = len(course.path) - 1
    if ENDS in (course.first_end, course.last_end):
        ends += (
            "; there the cables stop, without what they go on to, and eddy currents of metal turn back across the run"
        )
    told = (
        f"The course has {pieces} straight piece{'s' if pieces > 1 else ''}"
        + (f" and {corner}" if pieces > 1 else "")
        + f". {ends}. The cross-section is as seen along the path; x and y of places lie in plan, z is the height."
    )
    further = [
        f"The circuit {name} turns once in {with_unit(length, LENGTH)}; what it induces in metal turns with it and is "
        "left out. The ± holds as large a share of its field as metal adds beside straight cables."
        for name, length in course.twisted.items()
    ]
    if result.study.route:
        further.append(
            "The sections of the route follow each other from its first point on, with the currents of the whole run. "
            "The last goes on to its end. Where two meet, each cable goes across to its place in the next."
        )
    if course.other_runs:
        names = ", ".join(run.name + _frequency(run) for run in course.other_runs)
        further.append(
            f"Beside it run {names}, as line currents without metal. Fields of one frequency add with their phases, as "
            "from one supply; those of different ones as the root of the sum of the squares."
        )
    blocks: list[Block] = [Text((told, *further))]
    if found.receptors:
        blocks += [space_table(result, found), share_table(found)]
    if found.along:
        blocks.append(along_table(result, found))
    if PLAN in figures and found.plan is not None:
        height = with_unit(found.plan.height_m, LENGTH)
        caption = (
            f"Field of the run seen from above, at the height {height}: x to the right, y up the page. "
            "Solid line: path of the run, along its arrow. Dashed: other runs. Contours: the limits"
            f"{without_net_currents(result)}."
        )
        blocks.append(Figure(caption, "Map of the field in plan with the path of the run.", figures[PLAN]))
    for stem, line in zip(line_stems(found), found.lines, strict=True):
        if stem in figures:
            caption = (
                f"Field of the run along “{line.name}”, beside that of the cross-section of its nearest piece alone."
            )
            blocks.append(Figure(caption, "Curves of the field along a line in space.", figures[stem]))
    return Section("The run in space", "space", tuple(blocks))


def _frequency(run: OtherRun) -> str:
    return "" if run.frequency is None else f" ({run.frequency:g}\u202fHz)"


def line_stems(found: SpaceResult) -> list[str]:
    """File stem of the figure of each line."""
    return [f"space_{slug}" for slug in slugs(line.name for line in found.lines)]


def brief_space(result: Answers) -> Sequence[Table[Any]]:
    """Its tables in a terminal."""
    found = result.space
    if found is None:
        return ()
    tables: tuple[Table[Any], ...] = (space_table(result, found), along_table(result, found))
    return tuple(table for table in tables if table.rows)
