"""Materials of the study file: their keys, what must agree among them, and the material or curve of a name."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Protocol

from pydantic import Field

from studies.data.materials import HIGHEST_PERMEABILITY, MATERIALS, Material
from studies.study.entries import (
    KeyTable,
    LossAngle,
    Permeability,
    number_entry,
    quantity_entry,
    text_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader, exactly_one, is_word, unknown
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.problems import Problem, StudyError, choice_of

if TYPE_CHECKING:
    from fem.magnetisation import Curve

STUDY_FILE = "study file"
CURVES = ("curve", "curve_file", "brauer")
"""Keys of which a material states one at most."""

LARGEST_CONSTANT = 1e6
"""Largest constant of a curve that can be stated. [m/H]"""

RELUCTIVITY_OF_AIR = 1 / (4e-7 * math.pi)
"""Reluctivity of air. [m/H]"""


def curve_names() -> Iterable[str]:
    """Names of the built-in magnetisation curves."""
    from fem.curve_data import CURVES  # heavy

    return tuple(CURVES)


class Brauer(KeyTable):
    """Constants of H = (k1 exp(k2 B^2) + k3) B: k1 [m/H], k2 [1/T^2], k3 [m/H]."""

    k1: Annotated[float, number_entry(0, LARGEST_CONSTANT, "3.8", above=True)]
    """k1 [m/H]"""
    k2: Annotated[float, number_entry(0, 100, "2.17", above=True)]
    """k2 [1/T^2]"""
    k3: Annotated[float, number_entry(0, LARGEST_CONSTANT, "396.2")]
    """k3 [m/H]"""


class StudyMaterial(KeyTable):
    """A material of the study."""

    relative_permeability: Permeability | None = None
    """relative permeability; with a curve it may be left out"""
    conductivity: Annotated[float, quantity_entry("conductivity")] | None = None
    """conductivity at 20 degC"""
    resistivity: Annotated[float, quantity_entry("resistivity")] | None = None
    """resistivity at 20 degC, in place of conductivity"""
    temperature_coefficient: Annotated[float, quantity_entry("temperature coefficient")] = 0.0
    """rise of the resistivity, relative to 20 degC"""
    curve: Annotated[str, word_entry("magnetisation curve", curve_names, '"mild-steel-curve"')] | None = None
    """built-in magnetisation curve"""
    curve_file: Annotated[str, text_entry('"steel.csv"')] | None = None
    """file of points H_A_per_m,B_T, path from the study file's folder"""
    brauer: Brauer | None = Field(default=None, examples=["{ k1 = 3.8, k2 = 2.17, k3 = 396.2 }"])
    """constants of H = (k1 exp(k2 B^2) + k3) B"""
    loss_angle: LossAngle = 0.0
    """angle of the complex permeability, for hysteresis; of steel sheet 15 to 20 deg at hundreds of A/m, less below"""


OTHER_NAMES = MappingProxyType(
    {"cu": "copper", "al": "aluminium", "alu": "aluminium", "pb": "lead", "ss": "stainless-304"}
)
"""What people write for a built-in material that is named otherwise here, in small letters; used in messages only."""


def material_findings(reader: Reader) -> Iterator[Finding]:
    """What is wrong with the study's materials and with the names by which they are used."""
    for name, table in reader.named("materials").items():
        yield from _own(("materials", name), name, table)
    known = [*reader.table("materials"), *MATERIALS]
    for place, table in _users(reader):
        if is_word(material := table.get("material")):
            meant = OTHER_NAMES.get(str(material).strip().casefold())
            also = "; or a [materials.NAME] of the study"
            if meant is not None and material not in known:
                yield Finding((*place, "material"), "is no known material", f'"{meant}"{also}')
            else:
                yield from unknown((*place, "material"), material, known, "known material", also=also)


def _own(place: Place, name: str, table: Plain) -> Iterator[Finding]:
    if name in MATERIALS:
        yield Finding(place, "is the name of a built-in material", f'"{name}-2" or another name')
    right = 'exactly one: conductivity = "6.0 MS/m" or resistivity'
    both = ("conductivity", "resistivity")
    yield from exactly_one(place, table, both, "both conductivity and resistivity", "no conductivity", right)
    curves = [key for key in CURVES if key in table]
    for key in curves[1:]:
        yield Finding((*place, key), f"is a second magnetisation curve, beside {curves[0]}", "one of them")
    if "relative_permeability" not in table and not curves:
        right = 'relative_permeability = 300, or a curve such as curve = "mild-steel-curve"'
        yield Finding((*place, "relative_permeability"), "is missing", right)
    if "loss_angle" in table and not curves and table.get("relative_permeability") == 1:
        wrong = "is a hysteresis loss of a material without magnetisation"
        yield Finding((*place, "loss_angle"), wrong, "leave it out, or a relative_permeability above 1")
    yield from _brauer((*place, "brauer"), table.get("brauer"))


def _brauer(place: Place, brauer: object) -> Iterator[Finding]:
    if not isinstance(brauer, Mapping):
        return
    constants = [brauer.get("k1"), brauer.get("k3")]
    numbers = [float(k) for k in constants if isinstance(k, int | float) and 0 <= k <= LARGEST_CONSTANT]
    total, least = sum(numbers), RELUCTIVITY_OF_AIR / HIGHEST_PERMEABILITY
    if len(numbers) < len(constants) or not brauer.get("k1"):
        return
    if total > RELUCTIVITY_OF_AIR:
        wrong = f"has k1 + k3 = {total:.6g} m/H, above the reluctivity of air"
        yield Finding(place, wrong, f"k1 + k3 up to {RELUCTIVITY_OF_AIR:.6g} m/H, H in A/m and B in T")
    elif total < least:
        wrong = f"has k1 + k3 = {total:.6g} m/H, a relative permeability above {HIGHEST_PERMEABILITY:g}"
        yield Finding(place, wrong, f"{least:.6g} m/H or above, H in A/m and B in T")


def _users(reader: Reader) -> Iterator[tuple[Place, Plain]]:
    for name, cable in reader.named("cables").items():
        for layer in (CONDUCTOR, *METAL_LAYERS):
            part = cable.get(layer)
            if isinstance(part, Mapping):
                yield ("cables", name, layer), part
    for key in ("trays", "metalwork", "plates"):
        for index, table in reader.entries(key):
            yield (key, index), table
            cover = table.get("cover") if key == "trays" else None
            if isinstance(cover, Mapping):
                yield (key, index, "cover"), cover


def resistivity_of(reader: Reader, name: object) -> float | None:
    """Resistivity of a material of the study or a built-in one, if it is sound. [ohm m]"""
    if not isinstance(name, str):
        return None
    own = reader.named("materials").get(name)
    if own is None:
        return 1 / MATERIALS[name].conductivity if name in MATERIALS else None
    conductivity = reader.number(own.get("conductivity"), "conductivity")
    return reader.number(own.get("resistivity"), "resistivity") if conductivity is None else 1 / conductivity


class StatesMaterials(Protocol):
    """A study, as far as its materials go."""

    @property
    def materials(self) -> Mapping[str, StudyMaterial]:
        """The materials that it states, by name."""

    @property
    def source_name(self) -> str:
        """The study file, in whose folder files of points are looked for."""


def material_of(study: StatesMaterials, name: str) -> Material:
    """The material of this name, of the study or built in.

    The relative permeability of one with a magnetisation curve is the stated one, else the curve's at low field.
    """
    own = study.materials.get(name)
    if own is not None:
        return _material(name, own, study.source_name)
    if name not in MATERIALS:
        raise KeyError(f"no material {name}: {choice_of(name, [*study.materials, *MATERIALS])}")
    return MATERIALS[name]


def _material(name: str, own: StudyMaterial, source_name: str) -> Material:
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
    """Name and curve of another steel of the same use as the material of this name; None if none is known."""
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
