"""Loss of plates in words: tables, and the row of the sheet to sign."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studies.answers.answers import Answers
from studies.answers.plates.rows import ONE_OPENING, OTHER_METAL, SLOTTED, STATED, PlateCable, PlateResult, PlateWay
from studies.answers.sheet_row import SheetRow
from studies.study.plates import ONE_FOR_ALL
from studies.text.blocks import Block, Figure, Section
from studies.text.numbers import stated, with_unit
from studies.text.table import Column, Table
from studies.text.units import AMPERE, LOSS, MILLIMETRE, PER_CENT, WATT

FIGURE = "plates"
CLOSED_FORM = (
    "By closed forms alone: no finite-element solution of the plate stands behind them, and no temperature follows "
    "from them. The currents are those of the solution. Reckon with the larger of both losses where steel may "
    "saturate."
)
CABLE_NOTE = (
    f"{CLOSED_FORM} Of one plate. Net current: of conductor, screen, sheath and armour together. Each cable is taken "
    "as alone in a round plate out to the stated edge, at both faces of which the field is I/(2πr). Loss: of "
    "constant permeability, with the rims of hole and edge. Saturated: of steel magnetised "
    "to the stated saturation wherever the field is, its faces; real steel loses less if its curve stays below."
)
WAY_NOTE = (
    "Of all such plates. Each alone, and saturated: the sum over the cables. In one large plate: the fields of all "
    "cables add up in it; balanced currents lose less than each alone if the edge is further than the geometric mean "
    "distance of the holes, cables of one phase side by side lose more. Slots: from the hole to the edge or to the "
    "next hole; the loss is an upper figure, the least leaves out the flux about the slot, and is too low. One "
    "opening: as the cables lie in the run, by the multipoles of their currents; its diameter is that of a circle "
    "about their holes. Cables are taken to pass straight through, at right angles: where they bend close to a plate "
    "that is not magnetic, its loss is more than this, and still small."
)
BEYOND = "the whole number: closed form alone; shape of the plate, permeability, temperature"


@dataclass(frozen=True)
class ThroughPlate:
    """A cable through a plate."""

    plate: PlateResult
    cable: PlateCable


@dataclass(frozen=True)
class WayThrough:
    """A way of passing the cables through a plate."""

    plate: PlateResult
    way: PlateWay


def plate_tables(result: Answers) -> Sequence[Table[ThroughPlate] | Table[WayThrough]]:
    """Cables through each plate, and the ways of passing them through."""
    if not result.plates:
        return ()
    return (_ways(result), _cables(result))


def _cables(result: Answers) -> Table[ThroughPlate]:
    rows = [ThroughPlate(plate, cable) for plate in result.plates for cable in plate.cables]
    columns: tuple[Column[ThroughPlate], ...] = (
        Column("Plate", lambda r: r.plate.name, brief=True),
        Column("Cable", lambda r: r.cable.cable, brief=True),
        Column("Phase", lambda r: r.cable.phase),
        Column("Net current", lambda r: r.cable.current_rms_a, AMPERE, lambda r: r.cable.current_error_a, brief=True),
        Column("Loss", lambda r: r.cable.loss_w, WATT, brief=True, optional=True, digits=3),
        Column("Saturated", lambda r: r.cable.saturated_loss_w, WATT, brief=True, optional=True, digits=3),
    )
    return Table("Loss of plates about single cables", columns, rows, CABLE_NOTE, brief_note=CLOSED_FORM)


def _ways(result: Answers) -> Table[WayThrough]:
    rows = [WayThrough(plate, way) for plate in result.plates for way in plate.ways]
    columns: tuple[Column[WayThrough], ...] = (
        Column("Plate", lambda r: r.plate.name, brief=True),
        Column("Way", _way_words, brief=True),
        Column("Opening", lambda r: 2 * r.way.opening_radius_m, MILLIMETRE, digits=3),
        Column("Each alone", lambda r: r.way.loss_w, WATT, brief=True, digits=3),
        Column("In one large plate", lambda r: r.way.shared_loss_w, WATT, brief=True, optional=True, digits=3),
        Column("Least", lambda r: r.way.least_loss_w, WATT, optional=True, digits=3),
        Column("Saturated", lambda r: r.way.saturated_loss_w, WATT, brief=True, optional=True, digits=3),
        Column("Of the stated", _share, PER_CENT, brief=True, digits=3),
    )
    return Table("Ways of passing cables through plates", columns, rows, WAY_NOTE)


def _share(row: WayThrough) -> float | None:
    stated_loss = row.plate.ways[0].loss_w
    return row.way.loss_w / stated_loss if stated_loss > 0 else None


def _way_words(row: WayThrough) -> str:
    plate, way = row.plate, row.way
    if way.way == SLOTTED and plate.slot_width_m is not None:
        return f"slots of {stated(plate.slot_width_m, MILLIMETRE)}"
    if way.way == OTHER_METAL:
        return f"{way.material} instead"
    if way.way == ONE_OPENING:
        return "one opening for all"
    opening = "one opening for all" if plate.openings == ONE_FOR_ALL else "a hole for each"
    return f"{STATED}: {way.material}, {opening}"


@dataclass(frozen=True)
class DrawnWay:
    """A bar of the figure."""

    name: str
    loss_w: float
    saturated: bool


def drawn_ways(result: Answers) -> list[DrawnWay]:
    """Bars of the figure: each way, that of saturated steel below the same of constant permeability."""
    found = []
    for plate in result.plates:
        for way in plate.ways:
            name = f"{plate.name}\n{_way_words(WayThrough(plate, way))}"
            found.append(DrawnWay(name, way.loss_w, saturated=False))
            if way.saturated_loss_w is not None:
                found.append(DrawnWay(f"{plate.name}\n{way.way}, saturated", way.saturated_loss_w, saturated=True))
    return [row for row in found if row.loss_w > 0]


def plate_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Both tables and the figure; None without a plate."""
    if not result.plates:
        return None
    blocks: list[Block] = [*plate_tables(result)]
    if FIGURE in figures:
        caption = "Loss of all such plates by the way of passing the cables through, by closed forms; logarithmic axis."
        bars = "; ".join(f"{row.name}: {with_unit(row.loss_w, LOSS)}".replace("\n", ", ") for row in drawn_ways(result))
        blocks.append(Figure(caption, f"Bars of the loss. {bars}.", figures[FIGURE]))
    return Section("Plates that cables pass through", "plates", tuple(blocks))


def plate_rows(result: Answers) -> list[SheetRow]:
    """Each plate on the sheet to sign."""
    return [_row(plate) for plate in result.plates if plate.ways]


def plate_verdicts(result: Answers) -> tuple[str, ...]:
    """The loss of each plate, and by how much the best of the other ways would lower it."""
    return tuple(_verdict(plate) for plate in result.plates if plate.ways)


def _verdict(plate: PlateResult) -> str:
    own, *others = plate.ways
    largest, saturates = _larger_loss(own), _larger_loss(own) > own.loss_w
    closed = ", closed around single cables," if plate.encloses_single else ""
    found = f"“{plate.name}”{closed} loses {'up to ' if saturates else ''}{with_unit(largest, LOSS)} by closed forms."
    least = min(others, key=_larger_loss, default=own)
    if _larger_loss(least) >= largest:
        return found
    way = _way_words(WayThrough(plate, least))
    return f"{found} Least of the other ways: {way}, {with_unit(_larger_loss(least), LOSS)}."


def _larger_loss(way: PlateWay) -> float:
    """The loss to reckon with. [W]"""
    return max(way.loss_w, way.saturated_loss_w or 0.0)


def _row(plate: PlateResult) -> SheetRow:
    own = plate.ways[0]
    value = with_unit(own.loss_w, LOSS)
    if own.saturated_loss_w is not None:
        larger = "up to " if own.saturated_loss_w > own.loss_w else ""
        value = f"{larger}{with_unit(own.saturated_loss_w, LOSS)} saturated, {value} at constant permeability"
    others = [f"{_way_words(WayThrough(plate, way))} {with_unit(way.loss_w, LOSS)}" for way in plate.ways[1:]]
    value += "".join(f"; {other}" for other in others)
    of = f"Loss of “{plate.name}”" + (f", {plate.count} plates" if plate.count > 1 else "")
    return SheetRow(of, f"{value} (closed forms)", beyond=BEYOND, section="plates")
