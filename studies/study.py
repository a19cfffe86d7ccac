"""The study: everything the study file says, as frozen models with SI numbers.

From a file every quantity is text with a unit. From Python a model takes the same text or a bare SI number
(temperatures in degC, tolerance as a ratio); both are checked against the same ranges.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Annotated, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, ValidationInfo, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from studies.consistency import ARRANGEMENTS, Finding, inconsistencies
from studies.materials import MATERIALS, Material
from studies.phases import PHASE_ANGLES, PhaseCurrent, currents_of
from studies.problems import choice_of
from studies.quantities import RANGES, Gap, QuantityError, gap, in_range, quantity

FROM_FILE = "from_file"
"""Key of the validation context; true while a study file is read, where bare numbers are errors."""

PROFILES = ("channel",)
COVERS = ("closed",)
LONGEST_NAME = 60
MOST_POINTS = 100_001
HIGHEST_PERMEABILITY = 1e6


def _fault(wrong: str, right: str) -> PydanticCustomError:
    return PydanticCustomError("study", "{wrong}; right: {right}", {"wrong": wrong, "right": right})


def _faults(title: str, findings: Iterable[Finding]) -> ValidationError:
    lines = [InitErrorDetails(type=_fault(f.wrong, f.right), loc=f.place, input=None) for f in findings]
    return ValidationError.from_exception_data(title, lines)


def _from_file(info: ValidationInfo) -> bool:
    return bool(info.context and info.context.get(FROM_FILE))


def _number(value: object, name: str, info: ValidationInfo) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool) and not _from_file(info):
        return in_range(float(value), name)
    return quantity(value, name)


def _quantity(name: str) -> BeforeValidator:
    def check(value: object, info: ValidationInfo) -> float:
        try:
            return _number(value, name, info)
        except QuantityError as error:
            raise _fault(error.wrong, error.right) from None

    return BeforeValidator(check)


def _example(name: str) -> str:
    return f'"{RANGES[name].example}"'


def _gap(value: object, info: ValidationInfo) -> Gap:
    if isinstance(value, Gap):
        return value
    try:
        if isinstance(value, int | float) and not isinstance(value, bool) and not _from_file(info):
            return Gap(in_range(float(value), "clear gap"))
        return gap(value)
    except QuantityError as error:
        raise _fault(error.wrong, error.right) from None


def _word(what: str, known: Iterable[str]) -> BeforeValidator:
    words = tuple(known)

    def check(value: object) -> str:
        if not isinstance(value, str) or value not in words:
            raise _fault(f"is no known {what}", choice_of(value if isinstance(value, str) else "", words))
        return value

    return BeforeValidator(check)


def _text(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _fault("is empty" if isinstance(value, str) else "is not text in quotes", "some words in quotes")
    return value


def _name(value: object) -> str:
    right = f'letters, digits, spaces, "-" and "_", at most {LONGEST_NAME}, such as "F1"'
    if not isinstance(value, str):
        raise _fault("is not text in quotes", right)
    if not value.strip():
        raise _fault("is empty", right)
    if value != value.strip() or len(value) > LONGEST_NAME or not re.fullmatch(r"[\w \-]+", value):
        raise _fault("is not a name", right)
    return value


def _list(example: str, least: int, of_tables: bool = False) -> BeforeValidator:
    def check(value: object) -> list[object]:
        if isinstance(value, Mapping) and of_tables:
            raise _fault("is a table, not a list of tables", f"{example} with double brackets")
        if not isinstance(value, list | tuple):
            raise _fault("is not a list", example)
        if len(value) < least:
            raise _fault("is empty" if not value else f"has fewer than {least} entries", example)
        return list(value)

    return BeforeValidator(check)


def _tables(example: str) -> BeforeValidator:
    def check(value: object) -> object:
        if not isinstance(value, Mapping):
            raise _fault("is not a set of named tables", f"{example} with single brackets and a name")
        return value

    return BeforeValidator(check)


def _pair(example: str) -> BeforeValidator:
    def check(value: object) -> object:
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise _fault("is not a list of two", example)
        return value

    return BeforeValidator(check)


def _current(value: object, info: ValidationInfo) -> float | dict[str, PhaseCurrent]:
    if not isinstance(value, Mapping):
        try:
            return _number(value, "current", info)
        except QuantityError as error:
            raise _fault(error.wrong, f'{error.right}; or {{ L1 = "400 A", ... }}') from None
    currents, findings = {}, []
    for label, entry in value.items():
        try:
            currents[label] = _phase_current(entry, info)
        except QuantityError as error:
            findings.append(Finding((label,), error.wrong, error.right))
    if findings:
        raise _faults("current", findings)
    return currents


def _phase_current(entry: object, info: ValidationInfo) -> PhaseCurrent:
    if not isinstance(entry, list | tuple):
        return PhaseCurrent(_number(entry, "current", info))
    if len(entry) != 2:
        raise QuantityError("is not a current and its angle", '"400 A" or ["390 A", "-118 deg"]')
    magnitude = _number(entry[0], "current", info)
    angle = None if entry[1] is None and not _from_file(info) else _number(entry[1], "angle", info)
    return PhaseCurrent(magnitude, angle)


def _plain_number(low: float, high: float, whole: bool, example: str) -> BeforeValidator:
    def check(value: object) -> int | float:
        right = f"a {'whole ' if whole else ''}number from {low:g} to {high:g} without quotes, such as {example}"
        if isinstance(value, bool) or not isinstance(value, int if whole else int | float):
            raise _fault("is not a plain number" if not whole else "is not a whole number", right)
        if not low <= value <= high:
            raise _fault(f"is outside {low:g} to {high:g}", right)
        return value

    return BeforeValidator(check)


Name = Annotated[str, BeforeValidator(_name), Field(examples=['"F1"'])]
Title = Annotated[str, BeforeValidator(_text), Field(examples=['"Feeder above the laboratory"'])]
Word = Annotated[str, BeforeValidator(_text)]
Thickness = Annotated[float, _quantity("thickness"), Field(examples=[_example("thickness")])]
Coordinate = Annotated[float, _quantity("coordinate"), Field(examples=[_example("coordinate")])]
Point = Annotated[
    tuple[Coordinate, Coordinate], _pair('["1.5 m", "0.5 m"], x and y'), Field(examples=['["0 mm", "0 mm"]'])
]
Temperature = Annotated[float, _quantity("temperature"), Field(examples=[_example("temperature")])]
MaterialName = Annotated[Word, Field(examples=['"copper"'])]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", validate_by_name=True, validate_by_alias=True)


class Conductor(_Table):
    """Conductor of a cable.

    Material by name; nominal area [m^2]; temperature [degC]; outside diameter of the strands [m], without one that of
    the circle with the nominal area; stated dc resistance at 20 degC [ohm/m].
    """

    material: MaterialName
    area: Annotated[float, _quantity("area"), Field(examples=[_example("area")])]
    temperature: Temperature
    diameter: Annotated[float, _quantity("diameter")] | None = None
    dc_resistance: Annotated[float, _quantity("dc resistance")] | None = None


class Screen(_Table):
    """Screen of a cable, a tube over the insulation: material by name, thickness [m], temperature [degC].

    Without a temperature of its own it has the conductor's.
    """

    material: MaterialName
    thickness: Thickness
    temperature: Temperature | None = None


class Cable(_Table):
    """Cable construction from the inside out; radial thicknesses of insulation and jacket [m], jacket 0 without one."""

    conductor: Annotated[
        Conductor, Field(examples=['{ material = "copper", area = "240 mm^2", temperature = "70 degC" }'])
    ]
    insulation: Thickness
    screen: Annotated[Screen | None, Field(examples=['{ material = "copper", thickness = "0.2 mm" }'])] = None
    jacket: Thickness | None = None


class Circuit(_Table):
    """One circuit: its cables, their formation and what they carry.

    Phases left to right, in trefoil left, right, top; spacing axis to axis [m]; gaps as a length [m] or in diameters;
    rests_at and positions [m]; current as one rms magnitude [A] or by phase label. Repeated labels are parallel cables.
    """

    name: Name
    cable: Annotated[Word, Field(examples=['"c240"'])]
    arrangement: Annotated[str, _word("arrangement", ARRANGEMENTS), Field(examples=['"flat"'])]
    phases: Annotated[
        tuple[Annotated[str, _word("phase", PHASE_ANGLES)], ...],
        _list('["L1", "L2", "L3"]', least=1),
        Field(examples=['["L1", "L2", "L3"]']),
    ]
    current: Annotated[
        float | Mapping[str, PhaseCurrent], BeforeValidator(_current), Field(examples=[_example("current")])
    ]
    spacing: Annotated[float, _quantity("spacing")] | None = None
    clear_gap: Annotated[Gap, BeforeValidator(_gap)] | None = None
    group_clear_gap: Annotated[Gap, BeforeValidator(_gap)] | None = None
    rests_at: Point | None = None
    positions: Annotated[tuple[Point, ...], _list('[["-56 mm", "28 mm"], ["0 mm", "28 mm"], ...]', least=1)] | None = (
        None
    )


class Tray(_Table):
    """A tray: profile, middle of its inside floor [m], inside width, height and thickness [m], material, cover."""

    name: Name
    profile: Annotated[str, _word("profile", PROFILES), Field(examples=['"channel"'])]
    rests_at: Point
    inside_width: Annotated[float, _quantity("tray width"), Field(examples=[_example("tray width")])]
    inside_height: Annotated[float, _quantity("tray height"), Field(examples=[_example("tray height")])]
    thickness: Thickness
    material: Annotated[Word, Field(examples=['"mild-steel"'])]
    cover: Annotated[str, _word("cover", COVERS)] | None = None


class StudyMaterial(_Table):
    """A material of the study.

    Conductivity [S/m] or resistivity [ohm m] at 20 degC, relative permeability [-], temperature coefficient [1/K].
    """

    relative_permeability: Annotated[
        float, _plain_number(1, HIGHEST_PERMEABILITY, False, "300"), Field(examples=["300"])
    ]
    conductivity: Annotated[float, _quantity("conductivity")] | None = None
    resistivity: Annotated[float, _quantity("resistivity")] | None = None
    temperature_coefficient: Annotated[float, _quantity("temperature coefficient")] = 0.0


class Bond(_Table):
    """Parts tied together at both ends of the run, by part name or as "F1 screens" for every screen of a circuit."""

    parts: Annotated[tuple[Word, ...], _list('["F1 screens", "T1"]', least=1), Field(examples=['["F1 screens", "T1"]'])]


class Receptor(_Table):
    """A point where the field is asked for [m], with a limit of the resultant rms flux density [T] if any."""

    name: Name
    at: Point
    limit: Annotated[float, _quantity("limit")] | None = None


class Traverse(_Table):
    """A straight line of points, both ends included: `start` and `end` [m], "from" and "to" in the file."""

    name: Name
    start: Annotated[Point, Field(validation_alias="from", serialization_alias="from")]
    end: Annotated[Point, Field(validation_alias="to", serialization_alias="to")]
    points: Annotated[int, _plain_number(2, MOST_POINTS, True, "121"), Field(examples=["121"])] = 121


class MapWindow(_Table):
    """The rectangle of the field map, lower left and upper right corner. [m]"""

    window: Annotated[
        tuple[Point, Point],
        _pair('[["-2 m", "-1 m"], ["2 m", "2 m"]], lower left and upper right'),
        Field(examples=['[["-2 m", "-1 m"], ["2 m", "2 m"]]']),
    ]


class Accuracy(_Table):
    """Asked numerical accuracy: relative tolerance of every reported number. [-]"""

    tolerance: Annotated[float, _quantity("tolerance")] = 0.005


class StudyFile(_Table):
    """Every key of a study file."""

    title: Title
    frequency: Annotated[float, _quantity("frequency"), Field(examples=[_example("frequency")])]
    cables: Annotated[Mapping[Name, Cable], _tables("[cables.c240]"), Field(examples=["[cables.c240]"])]
    circuits: Annotated[
        tuple[Circuit, ...], _list("[[circuits]]", least=1, of_tables=True), Field(examples=["[[circuits]]"])
    ]
    trays: Annotated[tuple[Tray, ...], _list("[[trays]]", least=0, of_tables=True)] = ()
    materials: Annotated[Mapping[Name, StudyMaterial], _tables("[materials.test-steel]")] = Field(default_factory=dict)
    bonds: Annotated[tuple[Bond, ...], _list("[[bonds]]", least=0, of_tables=True)] = ()
    receptors: Annotated[tuple[Receptor, ...], _list("[[receptors]]", least=0, of_tables=True)] = ()
    traverses: Annotated[tuple[Traverse, ...], _list("[[traverses]]", least=0, of_tables=True)] = ()
    map: Annotated[MapWindow | None, Field(examples=['[map] with window = [["-2 m", "-1 m"], ["2 m", "2 m"]]'])] = None
    accuracy: Annotated[Accuracy, Field(examples=['[accuracy] with tolerance = "0.5 %"'])] = Accuracy()

    @model_validator(mode="after")
    def _consistent(self, info: ValidationInfo) -> Self:
        # the reader of files looks for these itself, so that they stand beside the errors of single fields
        if not _from_file(info):
            findings = inconsistencies(self.model_dump(by_alias=True, exclude_none=True), bare_numbers=True)
            if findings:
                raise _faults(type(self).__name__, findings)
        return self


class Study(StudyFile):
    """A study: the keys of the file, and the file's name and text for the report (empty from Python)."""

    source_name: str = ""
    source_text: str = ""


def phase_currents(circuit: Circuit) -> dict[str, complex]:
    """Net rms current phasor of each phase label of a circuit, in the order of first appearance. [A]

    One magnitude means a balanced positive sequence, or go and return for two labels; N and PE then carry no net
    current beside L1, L2 and L3. A current of a table without an angle takes the angle of the balanced circuit.
    """
    return currents_of(circuit.phases, circuit.current)


def material_of(study: StudyFile, name: str) -> Material:
    """The material of this name, of the study or built in."""
    own = study.materials.get(name)
    if own is None:
        if name not in MATERIALS:
            raise KeyError(f"no material {name}: {choice_of(name, [*study.materials, *MATERIALS])}")
        return MATERIALS[name]
    conductivity = own.conductivity if own.conductivity is not None else 1 / (own.resistivity or float("nan"))
    return Material(name, conductivity, own.temperature_coefficient, own.relative_permeability, "study file", "S")


def screen_temperature(cable: Cable) -> float:
    """Temperature of the cable's screen, by default that of its conductor. [degC]"""
    own = cable.screen.temperature if cable.screen else None
    return cable.conductor.temperature if own is None else own
