"""The traverses as files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from studies.answers.fields.rows import TraverseResult
from studies.text.csv import csv_text
from studies.text.file_names import slugs


def traverse_files(traverses: Sequence[TraverseResult]) -> Mapping[str, Callable[[], str]]:
    """A table for each traverse, by name."""
    names = slugs(traverse.name for traverse in traverses)
    pairs = zip(names, traverses, strict=True)
    return {f"traverse_{slug}": partial(_traverse, traverse) for slug, traverse in pairs}


def _traverse(traverse: TraverseResult) -> str:
    columns = {
        "distance_m": traverse.distance_m,
        "x_m": traverse.points_m[:, 0],
        "y_m": traverse.points_m[:, 1],
        "b_rms_t": traverse.b_rms_t,
        "b_rms_error_t": traverse.b_rms_error_t,
        "b_major_axis_rms_t": traverse.b_major_axis_rms_t,
        "b_major_axis_rms_error_t": traverse.b_major_axis_rms_error_t,
        "line_formula_b_rms_t": traverse.line_formula_b_rms_t,
        "line_formula_shared_b_rms_t": traverse.line_formula_shared_b_rms_t,
    }
    return csv_text(list(columns), zip(*(column.tolist() for column in columns.values()), strict=True))
