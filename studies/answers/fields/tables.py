"""Tables of fields: receptors, frequencies, exposure and reference levels, and the files of traverses."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from studies.answers.answers import Answers
from studies.answers.fields.rows import FieldComponent, ReceptorResult, TraverseResult
from studies.answers.figure_names import frequencies
from studies.answers.limits.verdicts import Limited, margin_or_times, tone, verdict
from studies.answers.reservations.words import beside_verdicts
from studies.answers.result_units import result_units
from studies.data.exposure import ORIENTATION, RULE, exposure_index
from studies.data.reference_levels import Level, reference_level
from studies.section.parts import parallel_conductors
from studies.text.csv import csv_text
from studies.text.file_names import slugs
from studies.text.marks import LEGEND, WORDS
from studies.text.numbers import DIFFERENCE
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, HERTZ, METRE, NUMBER, PER_CENT

RECEPTOR_NOTE = (
    "Resultant: square root of |Bx|² + |By|², rms. Major axis: rms along the longest axis of the field's ellipse; it "
    "equals the resultant only if the field does not rotate, and the ± of the resultant holds for it too. "
    "Line formula: line currents at the conductors' axes, "
    f"no tray and no screens, parallel cables sharing equally. Difference, of the formula before it: {DIFFERENCE}. "
    "Limit: compared with the resultant; of a reference level, its value at the first frequency, and the exposure "
    "index counts if there are several frequencies. Margin: remainder to the limit after field and error, over the "
    "limit; a field above the limit is given as a multiple of it."
)
SHARES_NOTE = (
    " Closed-form shares: the line formula with the currents that the impedance matrix of line currents gives parallel "
    "cables. The two formulas differ by the unequal sharing; the second still leaves out shielding, proximity, and the "
    "effect of the metal on the sharing."
)


def receptor_table(result: Answers) -> Table[ReceptorResult]:
    """The field at each receptor beside its formulas and its limit."""
    parallel, beside = bool(parallel_conductors(result.cross_section)), beside_verdicts(result, "but see below")
    shares: tuple[Column[ReceptorResult], ...] = (
        Column("Closed-form shares", lambda r: r.line_formula_shared_b_rms_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_shared_b_rms_t, lambda r: r.b_rms_t, brief=True),
    )
    columns: tuple[Column[ReceptorResult], ...] = (
        Column("Receptor", lambda r: r.name, brief=True),
        Column("x", lambda r: r.x_m, METRE, digits=3),
        Column("y", lambda r: r.y_m, METRE, digits=3),
        Column(
            *("Resultant", lambda r: r.b_rms_t, FLUX_DENSITY, lambda r: r.b_rms_error_t),
            missed=lambda r: not r.within_tolerance,
            brief=True,
        ),
        Column("Major axis", lambda r: r.b_major_axis_rms_t, FLUX_DENSITY),
        Column("Line formula", lambda r: r.line_formula_b_rms_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_b_rms_t, lambda r: r.b_rms_t, brief=True),
        *(shares if parallel else ()),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True),
        Column("Level", lambda r: r.limit_name, brief=True, optional=True),
        Column(
            *("Index", lambda r: r.exposure_index if len(r.spectrum) > 1 else None, NUMBER),
            digits=3,
            brief=True,
            optional=True,
        ),
        Column("Margin", margin_or_times, PER_CENT, signed=True, unit_in_cells=True),
        Column(
            "Verdict",
            lambda r: verdict(r, beside.get(r.name, "")),
            tone=lambda r: tone(r, beside.get(r.name, "")),
            brief=True,
        ),
    )
    note = RECEPTOR_NOTE + (SHARES_NOTE if parallel else "")
    return Table("Flux density at the receptors, rms", columns, result.receptors, note, units=result_units(result))


def spectrum_table(result: Answers) -> Table[tuple[str, FieldComponent]]:
    """The field at each receptor frequency by frequency."""
    columns: tuple[Column[tuple[str, FieldComponent]], ...] = (
        Column("Receptor", lambda row: row[0]),
        Column("Frequency", lambda row: row[1].frequency_hz, HERTZ, stated=True),
        Column("Resultant", lambda row: row[1].b_rms_t, FLUX_DENSITY, lambda row: row[1].b_rms_error_t),
    )
    rows = [(receptor.name, part) for receptor in result.receptors for part in receptor.spectrum]
    note = "The resultant of a receptor is the root of the sum of the squares over the frequencies."
    return Table("Flux density by frequency", columns, rows, note, units=result_units(result))


def exposure_tables(result: Answers) -> tuple[Table[Limited], Table[tuple[str, float, Level]]] | tuple[()]:
    """Exposure index of every receptor and zone that has a reference level, and the levels; nothing without one."""
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    having, beside = (
        [entry for entry in entries if entry.limit_name is not None],
        beside_verdicts(result, "but see below"),
    )
    if not having:
        return ()
    columns: tuple[Column[Limited], ...] = (
        Column("Place", lambda e: e.name),
        Column("Level", lambda e: e.limit_name),
        Column("Exposure index", lambda e: e.exposure_index, NUMBER, lambda e: e.exposure_error),
        Column("Root of squares", _root_of_squares, NUMBER, digits=3),
        Column(
            "Verdict",
            lambda e: verdict(e, beside.get(e.name, "")),
            tone=lambda e: tone(e, beside.get(e.name, "")),
        ),
    )
    note = f"Exposure index: {RULE}. 1 is what the level allows. Root of squares: {ORIENTATION}."
    return Table("Exposure against reference levels", columns, having, note), _level_table(result, having)


def _root_of_squares(entry: Limited) -> float | None:
    if not isinstance(entry, ReceptorResult) or entry.limit_name is None or len(entry.spectrum) < 2:
        return None
    if entry.exposure_index is None:
        return None
    spectrum = [(part.frequency_hz, part.b_rms_t, part.b_rms_error_t) for part in entry.spectrum]
    return exposure_index(spectrum, entry.limit_name).root_sum_square


def _level_table(result: Answers, having: Sequence[Limited]) -> Table[tuple[str, float, Level]]:
    names = dict.fromkeys(entry.limit_name or "" for entry in having if entry.exposure_index is not None)
    rows = [(name, frequency, reference_level(name, frequency)) for name in names for frequency in frequencies(result)]
    columns: tuple[Column[tuple[str, float, Level]], ...] = (
        Column("Level", lambda row: row[0]),
        Column("Frequency", lambda row: row[1], HERTZ, stated=True),
        Column("Flux density", lambda row: row[2].value_t, FLUX_DENSITY),
        Column("Source", lambda row: _source(row[2])),
    )
    return Table("Reference levels, rms", columns, rows, LEGEND)


def _source(level: Level) -> str:
    return f"{level.source} [{WORDS[level.mark]}]" + (f"; {level.note}" if level.note else "")


def traverse_files(traverses: Sequence[TraverseResult]) -> Mapping[str, Callable[[], str]]:
    """A file for each traverse, by name."""
    names = slugs(traverse.name for traverse in traverses)
    pairs = zip(names, traverses, strict=True)
    return {f"traverse_{slug}": partial(_traverse_file, traverse) for slug, traverse in pairs}


def _traverse_file(traverse: TraverseResult) -> str:
    x, y = traverse.points_m.T
    columns = {"distance_m": traverse.distance_m, "x_m": x, "y_m": y}
    columns |= {name: values for name, values in vars(traverse).items() if name.endswith("_t")}
    return csv_text(list(columns), zip(*(column.tolist() for column in columns.values()), strict=True))
