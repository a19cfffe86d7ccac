"""Receptors and traverses of a result as blocks."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.fields.exposure_words import exposure_blocks
from studies.answers.fields.rows import ReceptorResult, TraverseResult
from studies.answers.limits.verdicts import margin, receptor_unit, verdict_cell
from studies.answers.reservations.words import HEADING, reservation_lines
from studies.section.cross_section import parallel_conductors
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Cell, Grid, Head, error_cell
from studies.text.numbers import NONE, difference, percent, plain, quantity, significant, stated, with_error
from studies.text.units import FLUX_DENSITY, Unit

NOTE = (
    "Resultant: square root of |Bx|² + |By|², rms. Major axis: rms along the longest axis of the field's ellipse; it "
    "equals the resultant only where the field does not rotate, and the ± of the resultant holds for it too. "
    "Line formula: line currents at the conductors' axes, "
    "no tray and no screens, parallel cables sharing equally. Difference: the formula before it over finite element "
    "less one. Margin: what is left to the limit after field and error, over the limit. The limit is held against the "
    "resultant; of a reference level, which is given at the first frequency of the tables, the exposure index is what "
    "counts where there are several frequencies."
)
SHARES = (
    " Closed-form shares: the line formula with the currents that the impedance matrix of line currents gives parallel "
    "cables. Between the two formulas lies what unequal sharing does; what the second is still off is shielding, "
    "proximity, and what the metal does to the sharing."
)


def receptor_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """The receptors' fields beside their limits and formulas."""
    if not result.receptors:
        blocks = (Text(("The study names no receptor.",)), *exposure_blocks(result))
        return Section("Receptors", "receptors", blocks)
    symbol, parallel = receptor_unit(result).symbol, bool(parallel_conductors(result.cross_section))
    table = Grid(
        "Flux density at the receptors",
        (
            Head("Receptor"),
            Head("x", "m"),
            Head("y", "m"),
            Head("Resultant", symbol),
            Head("±", symbol),
            Head("Major axis", symbol),
            Head("Line formula", symbol),
            Head("Difference", "%"),
            *((Head("Closed-form shares", symbol), Head("Difference", "%")) if parallel else ()),
            Head("Limit", symbol),
            Head("Margin", "%"),
            Head("Verdict"),
        ),
        tuple(_row(result, receptor, parallel) for receptor in result.receptors),
        NOTE
        + (SHARES if parallel else "")
        + _mark_note(any(not receptor.within_tolerance for receptor in result.receptors)),
    )
    found: list[Block] = [table]
    if lines := reservation_lines(result):
        found.append(Text((f"{HEADING}:", *lines), "list"))
    if names.has_spectrum(result):
        found.append(_spectrum_table(result))
        if names.SPECTRUM in figures:
            found.append(
                Figure(
                    "Resultant flux density at the receptors, frequency by frequency; where a reference level is the "
                    "limit, its value at each frequency alone.",
                    "Bars of the flux density of each frequency at each receptor.",
                    figures[names.SPECTRUM],
                )
            )
    return Section("Receptors", "receptors", (*found, *exposure_blocks(result)))


def traverse_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """The traverses; None where there are none."""
    stems = names.traverse_stems(result)
    blocks = [
        _traverse_figure(traverse, figures[stem], result.accuracy.tolerance)
        for stem, traverse in zip(stems, result.traverses, strict=True)
        if stem in figures
    ]
    return Section("Traverses", "traverses", tuple(blocks)) if blocks else None


def map_section(result: Answers, figures: Mapping[str, bytes]) -> Section | None:
    """Maps of the field and of where the formula holds; None without a picture of them."""
    captions = {
        names.FIELD_MAP: (
            (
                "Resultant flux density, rms, on a logarithmic scale. The contours are the limits of receptors and "
                "zones: outside such a contour the limit is met. A cross marks the highest field of a zone."
            ),
            "Map of the flux density around the cables with receptors, zones and the contours of their limits.",
        ),
        names.FIELD_CLOSE: (
            "The same in and around the cables and trays, from the elements of the mesh.",
            "Close-up of the flux density in and around the cables and trays.",
        ),
        names.FORMULA_DIFFERENCE: (
            (
                "Where the line formula holds: line formula over finite element less one. Solid contours: the formula "
                "is above; dashed: below. Beside each receptor its own difference."
            ),
            "Map of the difference between line formula and finite-element field in per cent.",
        ),
    }
    blocks = [Figure(*texts, figures[stem]) for stem, texts in captions.items() if stem in figures]
    return Section("Field maps", "maps", tuple(blocks)) if blocks else None


def _spectrum_table(result: Answers) -> Grid:
    unit = receptor_unit(result)
    return Grid(
        "Flux density by frequency",
        (Head("Receptor"), Head("Frequency", "Hz"), Head("Resultant", unit.symbol), Head("±", unit.symbol)),
        tuple(
            (receptor.name, f"{part.frequency_hz:g}", *with_error(part.b_rms_t, part.b_rms_error_t, unit))
            for receptor in result.receptors
            for part in receptor.spectrum
        ),
        "The resultant of a receptor is the root of the sum of the squares over the frequencies.",
    )


def _traverse_figure(traverse: TraverseResult, png: bytes, tolerance: float) -> Figure:
    peak = int(traverse.b_rms_t.argmax())
    value = quantity(float(traverse.b_rms_t[peak]), FLUX_DENSITY)
    place = f"{plain(float(traverse.distance_m[peak]))}\u202fm from its start"
    with np.errstate(divide="ignore", invalid="ignore"):
        errors = np.nan_to_num(traverse.b_rms_error_t / traverse.b_rms_t, posinf=0.0)
    worst = float(errors.max(initial=0.0))
    over = (
        f", above what was asked at {int((errors > tolerance).sum())} of {len(errors)} points"
        if worst > tolerance
        else ""
    )
    return Figure(
        f"Traverse “{traverse.name}”: resultant flux density by finite elements and by the line formula; below, their "
        f"difference. The largest error estimate along it is {percent(worst, signed=False)} % of the local "
        f"field{over}.",
        f"Curve of the flux density along the traverse {traverse.name}; the largest value is {value}, {place}.",
        png,
    )


def _row(result: Answers, receptor: ReceptorResult, parallel: bool) -> tuple[str | Cell, ...]:
    unit = receptor_unit(result)
    value, error = with_error(receptor.b_rms_t, receptor.b_rms_error_t, unit)
    return (
        receptor.name,
        plain(receptor.x_m, 3),
        plain(receptor.y_m, 3),
        value,
        error_cell(error, receptor.within_tolerance),
        significant(receptor.b_major_axis_rms_t, unit),
        significant(receptor.line_formula_b_rms_t, unit),
        percent(difference(receptor.line_formula_b_rms_t, receptor.b_rms_t)),
        *(_shared(receptor, unit) if parallel else ()),
        NONE if receptor.limit_t is None else stated(receptor.limit_t, unit).split("\u202f")[0],
        percent(margin(receptor)),
        verdict_cell(receptor),
    )


def _shared(receptor: ReceptorResult, unit: Unit) -> tuple[str, str]:
    formula = receptor.line_formula_shared_b_rms_t
    return significant(formula, unit), percent(difference(formula, receptor.b_rms_t))


def _mark_note(marked: bool) -> str:
    return " * The error estimate is above what was asked." if marked else ""
