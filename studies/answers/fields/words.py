"""Receptors and traverses of a result as blocks."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from studies.answers import figure_names as names
from studies.answers.answers import Answers
from studies.answers.fields.exposure_words import exposure_blocks
from studies.answers.fields.receptor_table import receptor_table
from studies.answers.fields.rows import TraverseResult
from studies.answers.limits.verdicts import receptor_unit
from studies.answers.reservations.words import reservation_list
from studies.text.blocks import Block, Figure, Section, Text
from studies.text.grid import Grid, Head
from studies.text.numbers import percent, plain, quantity, with_error
from studies.text.units import FLUX_DENSITY


def receptor_section(result: Answers, figures: Mapping[str, bytes]) -> Section:
    """The receptors' fields beside their limits and formulas."""
    if not result.receptors:
        blocks = (Text(("The study names no receptor.",)), *exposure_blocks(result))
        return Section("Receptors", "receptors", blocks)
    found: list[Block] = [receptor_table(result), *reservation_list(result)]
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
