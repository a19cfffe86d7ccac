"""The field map and the traverses as a reader of the page asks them point by point: what the page's script takes."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Sequence

import numpy as np

from fem.arrays import Floats
from geometry.shapes import boundary_loops
from studies.answers.answers import Answers
from studies.answers.fields.readings import FieldReadings, GridReadings
from studies.answers.fields.rows import ReceptorResult, TraverseResult
from studies.answers.figure_names import several_frequencies
from studies.answers.limits.compute import outer_rectangle
from studies.answers.limits.verdicts import limit_words
from studies.answers.result_units import result_units
from studies.section.parts import CrossSection
from studies.text.blocks import Figure, Readable
from studies.text.units import FLUX_DENSITY

STEPS = 65534
"""A layer is packed in 16 bits: 0 is no value, 1 its least and 65535 its largest."""
COLOURS = 96
"""Colours of a scale."""
WIDEST_DIFFERENCES = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
"""Ends that the scale of differences may have; the least with nine tenths of the map is taken. [-]"""
DIFFERENCE = "line formula / finite element − 1"
NOTE = (
    "Readings are rms over all frequencies; the ± holds the numerical error and that of reading between grid points. "
    "It does not hold ends, bends, laying, the permeability of steel and load: see Receptors and Cautions. Readings "
    "inside cables and metal are coarse."
)

NET_NOTE = " Readings hold the net currents at their worst angle at each point; the table of receptors does not."


def readable_map(result: Answers, figure: Figure) -> Readable | Figure:
    """The figure of the field map with what its reader may ask; the figure alone if the result has no readings."""
    if result.readings is None:
        return figure
    return Readable("map", figure, _json(_data(result, result.readings(), figure)))


def readable_traverse(result: Answers, traverse: TraverseResult, figure: Figure) -> Readable:
    """The figure of a traverse with its numbers, under a cursor."""
    from studies.answers.fields.traverse_figure import ACROSS

    unit = result_units(result).of(FLUX_DENSITY, map(float, traverse.b_rms_t))
    columns = (traverse.distance_m, traverse.b_rms_t, traverse.b_rms_error_t, traverse.line_formula_b_rms_t)
    data = {
        "name": traverse.name,
        "area": ACROSS,
        "unit": {"symbol": unit.symbol, "size": unit.size},
        "difference": DIFFERENCE,
        "rows": [
            [float(f"{value:.6g}") if np.isfinite(value) else None for value in row]
            for row in zip(*columns, strict=True)
        ],
    }
    return Readable("line", figure, _json(data))


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if np.isfinite(value) else None


def _json(data: object) -> str:
    return json.dumps(data, separators=(",", ":"), ensure_ascii=True)


def _data(result: Answers, readings: FieldReadings, figure: Figure) -> dict[str, object]:
    """What `studies/text/reader.js` reads."""
    from studies.drawing.colour_scales import log_norm
    from studies.drawing.style import differences, magnitude_colours

    widest = readings.grids[0]
    norm = log_norm(widest.b_rms_t)
    low, high = float(norm.vmin or 0.0), float(norm.vmax or 0.0)
    unit = result_units(result).of(FLUX_DENSITY, (low, high))
    spread = np.abs(widest.line_formula_b_rms_t / np.where(widest.b_rms_t > 0, widest.b_rms_t, np.nan) - 1)
    usual = float(np.nanquantile(spread, 0.9)) if np.isfinite(spread).any() else 0.0
    outline = outer_rectangle(result.cross_section)
    middle, size = outline.centre, 2.6 * outline.half
    return {
        "description": figure.description,
        "note": NOTE + (NET_NOTE if result.study.has_net_currents() else ""),
        "difference": DIFFERENCE,
        "unit": {"symbol": unit.symbol, "size": unit.size},
        "colours": _colours(magnitude_colours()(np.linspace(0, 1, COLOURS))),
        "differences": _colours(differences()(np.linspace(0.08, 0.92, COLOURS))),
        "widest": next((end for end in WIDEST_DIFFERENCES if usual <= end), WIDEST_DIFFERENCES[-1]),
        "grids": [_grid(grid) for grid in readings.grids],
        "levels": [k for _, k in readings.limits if k is not None],
        "limits": [
            {
                "name": "index 1" if k is not None else limit_words(result, value),
                "places": list(names),
                "value": value,
                "index": k,
            }
            for (value, k), names in zip(readings.limits, readings.places, strict=True)
        ],
        "marks": _marks(result),
        "zones": [{"name": zone.name, "box": [zone.x0_m, zone.y0_m, zone.x1_m, zone.y1_m]} for zone in result.zones],
        "start": _start(result, middle),
        "solids": _solids(result.cross_section),
        "close": dict(
            zip(("x0", "y0", "x1", "y1"), map(float, (*(middle - size / 2), *(middle + size / 2))), strict=True)
        ),
    }


def _colours(rgba: Floats) -> list[str]:
    return ["#" + "".join(f"{round(255 * part):02x}" for part in colour[:3]) for colour in rgba]


def _grid(grid: GridReadings) -> dict[str, object]:
    """A grid with its layers packed; errors relative to their values."""
    layers = {
        "b": _log(grid.b_rms_t),
        "error": _log(_relative(grid.b_rms_error_t, grid.b_rms_t)),
        "across": _packed(grid.across),
    }
    if np.isfinite(grid.line_formula_b_rms_t).any():
        layers["formula"] = _log(grid.line_formula_b_rms_t)
    for k, (index, error) in enumerate(zip(grid.indices, grid.index_errors, strict=True)):
        layers[f"index{k}"], layers[f"indexerror{k}"] = _log(index), _log(_relative(error, index))
    return {
        "x0": float(grid.x_m[0]),
        "y0": float(grid.y_m[0]),
        "dx": float(grid.x_m[1] - grid.x_m[0]),
        "dy": float(grid.y_m[1] - grid.y_m[0]),
        "nx": len(grid.x_m),
        "ny": len(grid.y_m),
        "layers": layers,
    }


def _relative(errors: Floats, values: Floats) -> Floats:
    return np.asarray(np.maximum(errors / np.where(values > 0, values, np.nan), 1e-9))


def _log(values: Floats) -> dict[str, object]:
    return _packed(np.log(np.where(values > 0, values, np.nan)))


def _packed(values: Floats) -> dict[str, object]:
    """Values (ny, nx) in 16 bits each, as differences along rows and columns, which pack small."""
    finite = np.isfinite(values)
    low, high = (float(values[finite].min()), float(values[finite].max())) if finite.any() else (0.0, 1.0)
    span = high - low or 1.0
    levels = np.where(finite, 1 + np.round((np.where(finite, values, low) - low) / span * STEPS), 0).astype(np.int64)
    padded = np.pad(levels, ((1, 0), (1, 0)))
    steps = padded[1:, 1:] - padded[:-1, 1:] - padded[1:, :-1] + padded[:-1, :-1]
    packed = zlib.compress((steps % 65536).astype("<u2").tobytes(), 9)
    return {"low": low, "high": low + span, "packed": base64.b64encode(packed).decode("ascii")}


def _marks(result: Answers) -> list[dict[str, object]]:
    """The receptors; of one frequency with the numbers of the results, which the page shows there."""
    exact = not several_frequencies(result) and not result.study.has_net_currents()
    return [
        {"name": one.name, "x": one.x_m, "y": one.y_m, **(_numbers(one) if exact else {})} for one in result.receptors
    ]


def _numbers(receptor: ReceptorResult) -> dict[str, object]:
    return {
        "b": receptor.b_rms_t,
        "error": receptor.b_rms_error_t,
        "bx": abs(receptor.bx_t),
        "by": abs(receptor.by_t),
        "formula": receptor.line_formula_b_rms_t,
    }


def _start(result: Answers, middle: Floats) -> Sequence[float]:
    """Where the reading point stands first: at the receptor that is nearest to its limit or furthest above it."""
    limited = [r for r in result.receptors if r.limit_t]
    worst = max(limited or result.receptors, key=lambda r: r.b_rms_t / (r.limit_t or 1.0), default=None)
    return (float(middle[0]), float(middle[1])) if worst is None else (worst.x_m, worst.y_m)


def _solids(section: CrossSection) -> list[dict[str, object]]:
    """Outlines: metal filled, cables by their outer circle and their conductor."""
    from studies.drawing.style import INK, METALWORK

    found: list[dict[str, object]] = []
    for part in section.parts:
        if part.cable is None:
            outer, holes = boundary_loops(part.shape)
            loops = [_points(loop) for loop in (outer, *holes)]
            found.append({"name": part.name, "colour": METALWORK, "filled": True, "loops": loops})
    for cable in section.cables:
        for radius in (cable.layers.outer_radius, cable.layers.conductor_radius):
            turn = np.linspace(0, 2 * np.pi, 49)[:-1]
            ring = np.asarray(cable.axis) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
            found.append({"name": cable.label, "colour": INK, "filled": False, "loops": [_points(ring)]})
    return found


def _points(loop: Floats) -> list[list[float]]:
    return [[round(float(x), 5), round(float(y), 5)] for x, y in loop]
