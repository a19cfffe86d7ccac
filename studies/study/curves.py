"""Materials of the study with their magnetisation curves: built in, from a file of points, or by constants."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from studies.data.materials import HIGHEST_PERMEABILITY, MATERIALS, Material
from studies.study.materials import StudyMaterial
from studies.text.problems import Problem, StudyError

if TYPE_CHECKING:
    from fem.magnetisation import Curve

STUDY_FILE = "study file"


class StatesMaterials(Protocol):
    """A study, as far as its materials go."""

    @property
    def materials(self) -> Mapping[str, StudyMaterial]:
        """The materials that it states, by name."""

    @property
    def source_name(self) -> str:
        """The study file, in whose folder files of points are looked for."""


def material_from(name: str, own: StudyMaterial, source_name: str) -> Material:
    """The material that a study states under a name.

    Parameters
    ----------
    name : str
        Its name.
    own : StudyMaterial
        What is stated.
    source_name : str
        The study file, in whose folder a file of points is looked for.

    Returns
    -------
    material : Material
        With the curve's permeability at low field where a curve stands without a permeability.

    Raises
    ------
    StudyError
        Where a file of points is needed and cannot be read.
    """
    conductivity = own.conductivity if own.conductivity is not None else 1 / (own.resistivity or math.nan)
    permeability = own.relative_permeability
    if permeability is None:
        curve = _own_curve(name, own, source_name)
        # a file may rise more steeply before its first point than any material may be stated to
        permeability = min(curve.initial_relative_permeability, HIGHEST_PERMEABILITY) if curve else math.nan
    return Material(
        name,
        conductivity,
        own.temperature_coefficient,
        permeability,
        STUDY_FILE,
        "S",
        curve=_curve_words(own),
        loss_angle=own.loss_angle,
    )


def curve_of(study: StatesMaterials, name: str) -> Curve | None:
    """Magnetisation curve of the material of this name, of the study or built in; None for a linear one.

    A file of points that cannot be read, or holds no curve, raises `StudyError`.
    """
    own = study.materials.get(name)
    if own is not None:
        return _own_curve(name, own, study.source_name)
    built_in = MATERIALS[name].curve
    return None if built_in is None else _built_in(built_in)


def other_curve_of(study: StatesMaterials, name: str) -> tuple[str, Curve] | None:
    """Name and curve of another steel of the same use as the material of this name; None where none is known."""
    from fem.curve_data import CURVES  # heavy

    own = study.materials.get(name)
    curve = own.curve if own is not None else MATERIALS[name].curve
    other = CURVES[curve].other if curve is not None and curve in CURVES else ""
    return (other, CURVES[other].curve) if other else None


def _built_in(curve: str) -> Curve:
    from fem.curve_data import CURVES  # heavy

    return CURVES[curve].curve


def _own_curve(name: str, own: StudyMaterial, source_name: str) -> Curve | None:
    if own.curve is not None:
        return _built_in(own.curve)
    if own.brauer is not None:
        from fem.magnetisation import BrauerCurve  # heavy

        return BrauerCurve(own.brauer.k1, own.brauer.k2, own.brauer.k3)
    if own.curve_file is None:
        return None
    from fem.curve_data import COLUMNS, curve_from_csv  # heavy

    file = Path(own.curve_file)
    try:
        return curve_from_csv(Path(source_name).parent / file)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        if isinstance(error, ValueError) and (file.is_absolute() or ".." in file.parts):
            line = re.search(r"line \d+", reason)  # no number either of a file that is not the study's own
            reason = f"holds no curve{f', see its {line[0]}' if line else ''}"
        right = f"a readable file of at least three points, {','.join(COLUMNS)}"
        problem = Problem(source_name, f"materials.{name} → curve_file", f'"{own.curve_file}"', reason, right)
        raise StudyError([problem]) from None


def _curve_words(own: StudyMaterial) -> str | None:
    if own.brauer is not None:
        return f"k1 = {own.brauer.k1:g}, k2 = {own.brauer.k2:g}, k3 = {own.brauer.k3:g}"
    return own.curve or own.curve_file
