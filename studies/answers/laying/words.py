"""Laying tolerance in words: tables, verdicts that name the drawn run and the 95th percentile, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.laying.rows import LayingResult, ToleratedField, ToleratedLoss, ToleratedShare
from studies.answers.result_units import result_units
from studies.answers.sheet_row import SheetRow
from studies.study.laying import CLEATS, FAR, NORMAL, SPREADS
from studies.text.blocks import Block, Figure, First, Section, Text
from studies.text.grid import Tone
from studies.text.numbers import count, per_cent, plain, stated, value_with_error
from studies.text.table import Column, Table
from studies.text.units import DEGREE, FLUX_DENSITY, LOSS_PER_LENGTH, MILLIMETRE, PER_CENT

FIGURE = "laying_tolerance"
"""Stem of the histograms."""
NAMES = {
    "across": "place to the side",
    "up": "height",
    "within": "place in the cleat",
    "current": "phase currents",
    "angle": "angles of the currents",
    "permeability": "permeability of trays and metalwork",
    "conductivity": "conductivity of trays and metalwork",
    "temperature": "temperature of the cables",
}
"""What is spread, in words."""
SHARE_NOTE = "Share: current of the cable over an equal share of its phase."
VARIANCE_NOTE = (
    "Variance by input: with that input spread alone, over that of all together; what is missing to 100 %, or is too "
    "much, is of several together, and of the lot."
)
P95_NOTE = (
    "95 of 100 layings are at or below the 95th percentile, which the verdict is of. Its ±: numerical error, the lot "
    "of the samples, and the largest difference of the layings that were solved again. The worst is that of the "
    "samples, no bound."
)


def laid_field_table(result: Answers) -> Table[ToleratedField]:
    """The field of each place as drawn and over all layings."""
    found = result.laying_tolerance
    rows = () if found is None else found.fields
    columns: tuple[Column[ToleratedField], ...] = (
        Column("Place", lambda r: r.place if r.kind == "receptor" else f"{r.place}, highest", brief=True),
        Column("As drawn", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t, brief=True),
        Column("Median", lambda r: r.median_b_rms_t, FLUX_DENSITY),
        Column("95th percentile", lambda r: r.p95_b_rms_t, FLUX_DENSITY, lambda r: r.p95_b_rms_error_t, brief=True),
        Column("Worst sampled", lambda r: r.worst_b_rms_t, FLUX_DENSITY, brief=True),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, optional=True, brief=True),
        Column("Verdict", _verdict, tone=_tone, brief=True),
        Column("Solved again differs", lambda r: r.largest_difference, PER_CENT, digits=2),
        *(_variance(name) for name in SPREADS),
    )
    note = f"{P95_NOTE} Solved again differs: at most, over the field as drawn. {VARIANCE_NOTE}"
    caption = f"Field over all layings{names.with_net_currents(result)}"
    return Table(caption, columns, rows, note, units=result_units(result), brief_note=P95_NOTE)


def _variance(name: str) -> Column[ToleratedField]:
    return Column(f"Variance by {NAMES[name]}", lambda r: _of_input(r, name), PER_CENT, digits=2, optional=True)


def _of_input(row: ToleratedField, name: str) -> float | None:
    return next((own.variance_ratio for own in row.variance if own.input == name), None)


def _verdict(row: ToleratedField) -> str:
    if row.p95_within_limit is None:
        return "no limit stated"
    return "within the limit" if row.p95_within_limit else "above the limit"


def _tone(row: ToleratedField) -> Tone:
    return "" if row.p95_within_limit is None else "good" if row.p95_within_limit else "bad"


def laid_share_table(result: Answers) -> Table[ToleratedShare]:
    """The share of each parallel cable as drawn and over all layings."""
    found = result.laying_tolerance
    columns: tuple[Column[ToleratedShare], ...] = (
        Column("Cable", lambda r: r.part.removesuffix(".conductor"), brief=True),
        Column("Phase", lambda r: r.phase, brief=True),
        Column("As drawn", lambda r: r.share, PER_CENT, brief=True),
        Column("Median", lambda r: r.median_share, PER_CENT),
        Column("95th percentile", lambda r: r.p95_share, PER_CENT, brief=True),
        Column("Worst sampled", lambda r: r.worst_share, PER_CENT, brief=True),
        Column("Solved again differs", lambda r: r.largest_difference, PER_CENT, digits=2),
    )
    rows = () if found is None else found.shares
    return Table("Shares of parallel cables over all layings", columns, rows, SHARE_NOTE)


def laid_loss_table(result: Answers) -> Table[ToleratedLoss]:
    """The losses by kind as drawn and over the layings that were solved again."""
    found = result.laying_tolerance
    rows = () if found is None else found.losses
    columns: tuple[Column[ToleratedLoss], ...] = (
        Column("Parts", lambda r: f"{r.kind} parts" if r.kind != "all" else "all", brief=True),
        Column("As drawn", lambda r: r.loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("Median", lambda r: r.median_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("95th percentile", lambda r: r.p95_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
        Column("Worst of these", lambda r: r.worst_loss_w_per_m, LOSS_PER_LENGTH, brief=True),
    )
    return Table(
        "Loss over the layings that were solved again", columns, rows, _loss_note(found), units=result_units(result)
    )


def _loss_note(found: LayingResult | None) -> str:
    """How sure the worst of a few layings is: all of n lie below the 95th percentile with a chance of 0.95^n."""
    if found is None or not found.solves:
        return ""
    sure = 1 - 0.95**found.solves
    return (
        f"Of {count(found.solves)} layings alone. The worst of them is above the 95th percentile with "
        f"{per_cent(sure, signed=False)} confidence; solves = 59 gives 95 %."
    )


def verdicts_as_laid(result: Answers) -> tuple[str, ...]:
    """One sentence for each limit: the field as drawn and at the 95th percentile."""
    found = result.laying_tolerance
    return () if found is None else tuple(_sentence(result, row) for row in found.fields if row.limit_t is not None)


def _sentence(result: Answers, row: ToleratedField) -> str:
    unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t])
    drawn = value_with_error(row.b_rms_t, row.b_rms_error_t, unit)
    laid = value_with_error(row.p95_b_rms_t, row.p95_b_rms_error_t, unit)
    states = (row.within_limit, row.p95_within_limit)
    words = (
        {
            (True, True): "within the limit in both",
            (True, False): "within the limit as drawn, ABOVE it at the 95th percentile",
            (False, False): "above the limit in both",
            (False, True): "above the limit as drawn, within it at the 95th percentile",
        }.get((bool(states[0]), bool(states[1])), "")
        if None not in states
        else "not judged"
    )
    net = names.with_net_currents(result)
    said = f"“{row.place}” as installed{net}: {drawn} as drawn, {laid} at the 95th percentile of the layings: {words}."
    return First(said) if False in states else said


def laying_rows(result: Answers) -> list[SheetRow]:
    """The 95th percentile of each place on the sheet to sign, with the field as drawn."""
    found = result.laying_tolerance
    beyond = "what is not spread"
    if found is not None and found.held == CLEATS:
        beyond += ", cables between their cleats"
    return [] if found is None else [_sheet_row(result, row, beyond) for row in found.fields]


def _sheet_row(result: Answers, row: ToleratedField, beyond: str) -> SheetRow:
    unit = result_units(result).of(FLUX_DENSITY, [row.b_rms_t])
    value = value_with_error(row.p95_b_rms_t, row.p95_b_rms_error_t, unit)
    highest = "Highest field in" if row.kind == "zone" else "Field at"
    margin: float | str | None = None
    if row.limit_t is not None and row.p95_within_limit is not None:
        share = (row.p95_b_rms_t + row.p95_b_rms_error_t) / row.limit_t
        margin = 1 - share if share <= 1 else f"{plain(share)} times the limit"
    return SheetRow(
        f"{highest} “{row.place}” as laid, 95th percentile{names.with_net_currents(result)}",
        f"{value}; as drawn {value_with_error(row.b_rms_t, row.b_rms_error_t, unit)}",
        None if row.limit_t is None else stated(row.limit_t, unit),
        margin,
        None if row.p95_within_limit is None else _verdict(row),
        _tone(row),
        beyond,
        "laying",
    )


def laying_lines(result: Answers) -> tuple[str, ...]:
    """What was spread, how it was computed and how far direct solutions differ."""
    found = result.laying_tolerance
    if found is None:
        return ()
    lines = [f"Laying tolerance: {spread_words(found)}. {laid_words(found)}", agreement_words(found)]
    if found.fields:
        worst = max(found.fields, key=lambda row: row.p95_b_rms_t / row.b_rms_t if row.b_rms_t > 0 else 0.0)
        if worst.variance and worst.b_rms_t > 0:
            most = max(worst.variance, key=lambda own: own.variance_ratio)
            lines.append(
                f"The field rises most at “{worst.place}”: the 95th percentile is "
                f"{plain(worst.p95_b_rms_t / worst.b_rms_t)} times the field as drawn. "
                f"{NAMES[most.input].capitalize()} alone makes {per_cent(most.variance_ratio, signed=False)} of its "
                "variance."
            )
    return tuple(lines)


def spread_words(found: LayingResult) -> str:
    """What was spread and how far."""
    how = "standard deviations, normal" if found.distribution == NORMAL else "half-widths, uniform"
    units = {"across": MILLIMETRE, "up": MILLIMETRE, "within": MILLIMETRE, "angle": DEGREE}
    texts = [
        f"{NAMES[own.input]} "
        + (f"{own.value_in_unit:g} K" if own.unit == "K" else stated(own.value_in_unit, units.get(own.input, PER_CENT)))
        for own in found.spreads
    ]
    return f"{', '.join(texts)} ({how}); {count(found.samples)} layings, seed {found.seed}"


def laid_words(found: LayingResult) -> str:
    """How cables move, and where the sum of the scattered currents returns."""
    spread = {own.input for own in found.spreads}
    touching = "Cables are pushed apart until none overlaps another or enters what bears it."
    if found.held == CLEATS:
        own = "each with its play besides" if "within" in spread else "without play (state within if they have any)"
        touching = (
            f"The cables of each trefoil move together, as cleats hold them, {own}; between cleats they are taken to "
            f"lie as in them, and all other cables move singly. {touching}"
        )
    if not {"current", "angle"}.intersection(spread):
        return touching
    if found.residual == FAR:
        return f"{touching} The sum of the scattered currents of a circuit returns far away, or through the earth."
    return f"{touching} The scattered currents of each circuit keep their sum: nothing of them returns elsewhere."


def agreement_words(found: LayingResult) -> str:
    """How far the layings that were solved again lie from the same ones by reciprocity."""
    if not found.solves:
        return "No laying could be meshed and solved again: the fields over all layings are not confirmed."
    texts = [f"{count(found.solves)} of the layings were meshed and solved again"]
    if found.fields:
        largest = max(row.largest_difference for row in found.fields)
        rms = max(row.rms_difference for row in found.fields)
        texts.append(
            f"their fields differ from those by reciprocity by {per_cent(largest, signed=False)} of the field as drawn "
            f"at most, {per_cent(rms, signed=False)} rms"
        )
    if found.shares:
        largest = max(row.largest_difference for row in found.shares)
        texts.append(f"their shares by {per_cent(largest, signed=False)} at most")
    words = f"{'; '.join(texts)}."
    if found.saturating:
        words += " By reciprocity steel keeps its permeability as drawn; solved again it has its own."
    if found.unsolved:
        words += f" {count(found.unsolved)} further ones could not be meshed or solved."
    return words[0].upper() + words[1:]


def laying_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Sentences, tables and histograms; None if the study does not ask."""
    found = result.laying_tolerance
    if found is None:
        return None
    blocks: list[Block] = [Text((*verdicts_as_laid(result), *laying_lines(result)))]
    blocks += [
        table for table in (laid_field_table(result), laid_share_table(result), laid_loss_table(result)) if table.rows
    ]
    if FIGURE in figures:
        blocks.append(
            Figure(
                "How often each field occurs among the layings, with the field as drawn, the 95th percentile and the "
                "limit.",
                "Histograms of the field at each place over all layings.",
                figures[FIGURE],
            )
        )
    return Section("Laying tolerance", "laying", tuple(blocks))


def laying_tables(result: Answers) -> Sequence[Table[ToleratedField] | Table[ToleratedShare] | Table[ToleratedLoss]]:
    """The tables of a terminal."""
    return [
        table for table in (laid_field_table(result), laid_share_table(result), laid_loss_table(result)) if table.rows
    ]
