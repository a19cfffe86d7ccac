"""The field without some metal over the field with it, from a solution without the metal of the same tolerance."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from fem.arrays import Floats
from geometry.shapes import Tube
from studies.answers.fields.compute import receptor_results, traverse_results
from studies.answers.fields.rows import ReceptorResult, TraverseResult
from studies.answers.solutions import solved_variant
from studies.formulas.formula import outside_range
from studies.formulas.shielding import cylinder_shielding_factor
from studies.section.parts import METALWORK, TRAY, is_of
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.parts import COVER
from studies.text.failures import guarded
from studies.text.progress import Progress

ALL = "trays and metalwork"
"""All of them together, as results call them."""
FAR_OUTSIDE = 20.0
"""Distance over that of the farthest cable from the axis, from which a group of cables acts as a dipole. [-]

The closed form holds for the dipole alone: the next term of the field is at most about a twentieth of it there.
"""
NEGLIGIBLE = 1e-6
"""Net currents below this share of the largest current are rounding. [-]"""


@dataclass(frozen=True)
class ShieldingResult:
    """Shielding factor of some metal at a receptor, or at that of a traverse's points at which it is least."""

    metal: str
    place: str
    """Name of the receptor or traverse."""
    x_m: float
    y_m: float
    distance_m: float | None
    """From the first point of the traverse; None at a receptor."""
    b_without_rms_t: float
    """Resultant without the metal, over all frequencies."""
    b_without_rms_error_t: float
    b_rms_t: float
    """Resultant of the study as stated."""
    b_rms_error_t: float
    shielding_factor: float | None
    """Field without the metal over field with it; below 1 the metal raises the field. None if there is no field."""
    shielding_factor_error: float | None
    """Estimate of its numerical error: the relative errors of both fields add."""
    formula_shielding_factor: float | None = None
    """Of a long thin-walled tube around all cables; None if the metal is another or the formula does not hold."""
    along_distance_m: tuple[float, ...] = ()
    """Points of a traverse; empty at a receptor."""
    along_shielding_factor: tuple[float, ...] = ()
    """At each of them; not a number if there is no field."""
    along_shielding_factor_error: tuple[float, ...] = ()


def shielding_results(
    study: Study,
    solutions: tuple[Solution, ...],
    receptors: Sequence[ReceptorResult],
    traverses: Sequence[TraverseResult],
    report_progress: Progress,
) -> tuple[ShieldingResult, ...]:
    """Shielding factor of each group of metal at every receptor and along every traverse.

    `solutions`: one for each frequency.
    `receptors`, `traverses`: their fields with all metal.

    Metal by metal, receptors first; metal that fails costs only itself.
    """
    groups = shielding_groups(study)
    found: list[ShieldingResult] = []
    for number, (name, pieces) in enumerate(groups.items(), 1):
        what = f"shielding factor of {name}"
        if receptors or traverses:
            report_progress(f"{what}: solving without this metal, {number} of {len(groups)}")
            one = partial(_of_metal, study, solutions, receptors, traverses, report_progress, name, pieces)
            found += guarded(what, one, ())
    return tuple(found)


def shielding_groups(study: Study) -> Mapping[str, tuple[str, ...]]:
    """Pieces of metal that are taken away together, by what results call them: all together, then each alone.

    A tray goes with its cover; a cover that is named `T1.cover` goes alone.
    """
    if study.shielding is None:
        return {}
    owners = [*(tray.name for tray in study.trays), *(work.name for work in study.metalwork)]
    covers = [f"{tray.name}.{COVER}" for tray in study.trays if tray.cover is not None]
    named = list(study.shielding.of or (*owners, *covers))
    alone = {name: (name,) for name in named}
    together = [name for name in named if name in owners or name.removesuffix(f".{COVER}") not in named]
    if len(together) < 2:
        return alone
    return {ALL if set(owners) <= set(named) else " + ".join(together): tuple(together)} | alone


def without_metal(study: Study, pieces: Sequence[str]) -> Study:
    """The study without some trays, covers and metalwork.

    Bonds lose the parts that are gone; a bond that has no other parts goes with them. Cables and screens stay.
    """
    kept = [tray for tray in study.trays if tray.name not in pieces]
    trays = (t.model_copy(update={"cover": None}) if f"{t.name}.{COVER}" in pieces else t for t in kept)
    bonds = []
    for bond in study.bonds:
        parts = tuple(part for part in bond.parts if not any(is_of(part, piece) for piece in pieces))
        bonds += [bond.model_copy(update={"parts": parts})] if parts else []
    return study.model_copy(
        update={
            "trays": tuple(trays),
            "metalwork": tuple(work for work in study.metalwork if work.name not in pieces),
            "bonds": tuple(bonds),
        }
    )


def shielding_factor(without: Floats, without_error: Floats, b: Floats, b_error: Floats) -> tuple[Floats, Floats]:
    """Shielding factor and its error from both fields and their errors [T], not a number without a field, shape (n,).

    S = B0/B, and to first order dS = (dB0 + S dB)/B: the relative errors add, as if they pointed in opposite ways.
    """
    field = np.where(b > 0, b, np.nan)
    factor: Floats = without / field
    return factor, (without_error + factor * b_error) / field


def _of_metal(
    study: Study,
    solutions: tuple[Solution, ...],
    receptors: Sequence[ReceptorResult],
    traverses: Sequence[TraverseResult],
    report_progress: Progress,
    name: str,
    pieces: Sequence[str],
) -> tuple[ShieldingResult, ...]:
    """Rows of one group of metal: receptors first, then traverses."""
    bare = without_metal(study, pieces)
    others = solved_variant(bare, lambda message: report_progress(f"without {name}: {message}"), zones=False)
    fields = {one.name: one for one in receptor_results(bare, others)}
    lines = {one.name: one for one in traverse_results(bare, others)}
    formula = partial(_of_tube, solutions, pieces)
    return (
        *(_at_receptor(name, own, fields[own.name], formula((own.x_m, own.y_m))) for own in receptors),
        *(_along(name, own, lines[own.name], formula) for own in traverses if own.name in lines),
    )


def _at_receptor(name: str, own: ReceptorResult, bare: ReceptorResult, formula: float | None) -> ShieldingResult:
    fields = (bare.b_rms_t, bare.b_rms_error_t, own.b_rms_t, own.b_rms_error_t)
    factor, error = shielding_factor(*(np.array([value]) for value in fields))
    return ShieldingResult(name, own.name, own.x_m, own.y_m, None, *fields, *_known(factor[0], error[0]), formula)


def _along(
    name: str, own: TraverseResult, bare: TraverseResult, formula: Callable[[tuple[float, float]], float | None]
) -> ShieldingResult:
    arrays = (bare.b_rms_t, bare.b_rms_error_t, own.b_rms_t, own.b_rms_error_t)
    factors, errors = shielding_factor(*arrays)
    least = int(np.argmin(np.where(np.isfinite(factors), factors, np.inf)))
    x, y = own.points_m[least].tolist()
    without, without_error, field, field_error = (float(values[least]) for values in arrays)
    factor, error = _known(factors[least], errors[least])
    return ShieldingResult(
        metal=name,
        place=own.name,
        x_m=x,
        y_m=y,
        distance_m=float(own.distance_m[least]),
        b_without_rms_t=without,
        b_without_rms_error_t=without_error,
        b_rms_t=field,
        b_rms_error_t=field_error,
        shielding_factor=factor,
        shielding_factor_error=error,
        formula_shielding_factor=formula((x, y)),
        along_distance_m=tuple(own.distance_m.tolist()),
        along_shielding_factor=tuple(factors.tolist()),
        along_shielding_factor_error=tuple(errors.tolist()),
    )


def _known(factor: float, error: float) -> tuple[float | None, float | None]:
    return (float(factor), float(error)) if np.isfinite(factor) else (None, None)


def _of_tube(solutions: tuple[Solution, ...], pieces: Sequence[str], at: tuple[float, float]) -> float | None:
    """Closed form of a tube around all cables, far outside of it; None if it does not hold.

    By reciprocity a tube weakens the field of a dipole on its axis, seen from outside, as much as it weakens a uniform
    transverse field inside. Needs one frequency, no net current, linear steel and no other metal.
    """
    section = solutions[0].section
    metal = [part for part in section.parts if part.kind in (TRAY, METALWORK)]
    if len(metal) != 1 or not isinstance(metal[0].shape, Tube) or not any(is_of(metal[0].name, one) for one in pieces):
        return None
    tube, material = metal[0].shape, metal[0].material
    reach = max(float(np.hypot(*np.subtract(cable.axis, tube.centre))) for cable in section.cables)
    away = float(np.hypot(*np.subtract(at, tube.centre)))
    largest = max(abs(tie.current) for tie in section.ties)
    alone = len(solutions) == 1 and metal[0].steel is None and section.earth is None
    plain = complex(material.relative_permeability).imag == 0
    enclosing = reach < tube.inner_radius < tube.outer_radius < away and away >= FAR_OUTSIDE * reach
    if not (alone and plain and enclosing and abs(section.net_current()) <= NEGLIGIBLE * largest):
        return None
    inputs = {
        "mean_radius": (tube.inner_radius + tube.outer_radius) / 2,
        "thickness": tube.outer_radius - tube.inner_radius,
        "conductivity": material.conductivity,
        "frequency": section.frequency,
        "relative_permeability": complex(material.relative_permeability).real,
    }
    if outside_range(cylinder_shielding_factor, **inputs):
        return None
    return float(cylinder_shielding_factor(**inputs))
