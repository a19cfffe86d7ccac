"""Reference levels and the exposure to all frequencies together as blocks."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.figure_names import frequencies
from studies.answers.limits.verdicts import Limited, verdict_cell
from studies.data.exposure import ORIENTATION, RULE, exposure_index
from studies.data.reference_levels import reference_level
from studies.text.blocks import Block
from studies.text.grid import Cell, Grid, Head
from studies.text.marks import LEGEND, WORDS
from studies.text.numbers import NONE, plain, with_error
from studies.text.units import FLUX_DENSITY, Unit, common_unit

RATIO = Unit("", 1.0)


def exposure_blocks(result: Answers) -> tuple[Block, ...]:
    """Exposure index of every receptor and zone that has a reference level, and the levels; nothing without one."""
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    having = [entry for entry in entries if entry.limit_name is not None]
    if not having:
        return ()
    table = Grid(
        "Exposure against reference levels",
        (
            Head("Place"),
            Head("Level"),
            Head("Exposure index", "–"),
            Head("±", "–"),
            Head("Root of squares", "–"),
            Head("Verdict"),
        ),
        tuple(_row(entry) for entry in having),
        f"Exposure index: {RULE}. 1 is what the level allows. Root of squares: {ORIENTATION}.",
    )
    return table, _levels(result, tuple(dict.fromkeys(entry.limit_name or "" for entry in having)))


def _row(entry: Limited) -> tuple[str | Cell, ...]:
    index, spread = with_error(entry.exposure_index or 0.0, entry.exposure_error or 0.0, RATIO)
    squares = NONE
    if isinstance(entry, ReceptorResult) and entry.limit_name is not None:
        spectrum = [(part.frequency_hz, part.b_rms_t, part.b_rms_error_t) for part in entry.spectrum]
        if len(spectrum) > 1:
            squares = plain(exposure_index(spectrum, entry.limit_name).root_sum_square, 3)
    return entry.name, entry.limit_name or NONE, index, spread, squares, verdict_cell(entry)


def _levels(result: Answers, names: tuple[str, ...]) -> Grid:
    found = [(name, frequency, reference_level(name, frequency)) for name in names for frequency in frequencies(result)]
    unit = common_unit([level.value_t for _, _, level in found], FLUX_DENSITY)
    rows = []
    for name, frequency, level in found:
        source = f"{level.source} [{WORDS[level.mark]}]" + (f"; {level.note}" if level.note else "")
        rows.append((name, f"{frequency:g}", plain(unit.of(level.value_t), 4), source))
    return Grid(
        "Reference levels, rms",
        (Head("Level"), Head("Frequency", "Hz"), Head("Flux density", unit.symbol), Head("Source")),
        tuple(rows),
        LEGEND,
    )
