"""Circuits of the study file: their cables, their formation and what they carry."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, ValidationInfo, model_validator

from studies.study.checks.findings import Finding
from studies.study.entries import (
    ClearGap,
    Entry,
    Name,
    Point,
    Table,
    Word,
    fault,
    faults,
    is_from_file,
    list_entry,
    measured,
    quantity_entry,
    word_entry,
)
from studies.study.key_sets import ARRANGEMENTS, FORMS
from studies.study.phases import PHASE_ANGLES, Harmonic, PhaseCurrent, harmonic_order
from studies.study.quantities import QuantityError
from studies.text.problems import choice_of

CURRENT_TABLE = '{ L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }'
HARMONICS_TABLE = '{ 3 = "12 %", 5 = ["20 %", "30 deg"] }'
LAYERS_TABLE = FORMS["drawn_on"].partition(" = ")[2]


def _current(value: object, info: ValidationInfo) -> float | dict[str, PhaseCurrent]:
    if not isinstance(value, Mapping):
        try:
            return measured(value, "current", info)
        except QuantityError as error:
            raise fault(error.wrong, f'{error.right}; or {{ L1 = "400 A", ... }}') from None
    currents, findings = {}, []
    for label, entry in value.items():
        try:
            currents[label] = _phase_current(entry, info)
        except QuantityError as error:
            findings.append(Finding((label,), error.wrong, error.right))
    if findings:
        raise faults("current", findings)
    return currents


def _phase_current(entry: object, info: ValidationInfo) -> PhaseCurrent:
    if not isinstance(entry, list | tuple):
        return PhaseCurrent(measured(entry, "current", info))
    if len(entry) != 2:
        raise QuantityError("is not a current and its angle", '"400 A" or ["390 A", "-118 deg"]')
    magnitude = measured(entry[0], "current", info)
    angle = None if entry[1] is None and not is_from_file(info) else measured(entry[1], "angle", info)
    return PhaseCurrent(magnitude, angle)


def _harmonics(value: object, info: ValidationInfo) -> dict[int, Harmonic]:
    if not isinstance(value, Mapping):
        raise fault("is not a table of orders", HARMONICS_TABLE)
    harmonics, findings = {}, []
    for key, entry in value.items():
        try:
            harmonics[harmonic_order(key)] = _harmonic(entry, info)
        except QuantityError as error:
            findings.append(Finding((key if isinstance(key, str | int) else str(key),), error.wrong, error.right))
    if findings:
        raise faults("harmonics", findings)
    return harmonics


def _harmonic(entry: object, info: ValidationInfo) -> Harmonic:
    if not isinstance(entry, list | tuple):
        return Harmonic(measured(entry, "harmonic share", info))
    if len(entry) != 2:
        raise QuantityError("is not a share of the fundamental and its angle", '"12 %" or ["20 %", "30 deg"]')
    return Harmonic(measured(entry[0], "harmonic share", info), measured(entry[1], "angle", info))


def _drawn_on(value: object, info: ValidationInfo) -> object:
    if not isinstance(value, Mapping):
        raise fault("is not a table of phases and layers", LAYERS_TABLE)
    if not value:
        raise fault("is empty", LAYERS_TABLE)
    stray = [label for label in value if label not in PHASE_ANGLES]
    if stray:
        right = {str(label): choice_of(str(label), PHASE_ANGLES) for label in stray}
        raise faults("drawn_on", [Finding((label,), "is no known phase", right[label]) for label in right])
    return value


class Circuit(Table):
    """One circuit: its cables, their formation and what they carry.

    Phases left to right, in trefoil left, right, top; spacing axis to axis [m]; gaps as a length [m] or in diameters;
    rests_at and positions [m]; current as one rms magnitude [A] or by phase label. Repeated labels are parallel cables.
    Frequency of the fundamental [Hz], without one the study's; harmonics by their order. For a formation taken from
    a drawing `drawn_on` names the layer of each phase; `phases`, where left out, are its labels, each once.
    """

    name: Annotated[Name, Field(description="name of the circuit")]
    cable: Annotated[Word, Field(description="name of a cable construction", examples=['"c240"'])]
    arrangement: Annotated[
        str,
        word_entry("arrangement", ARRANGEMENTS),
        Field(description="formation; it decides which of the keys below go with it", examples=['"flat"']),
    ]
    phases: Annotated[
        tuple[Annotated[str, word_entry("phase", PHASE_ANGLES)], ...],
        list_entry('["L1", "L2", "L3"]', least=1),
        Field(description="phase labels left to right; trefoil: left, right, top; repeated labels are parallel cables"),
    ] = ()
    current: Annotated[
        float | Mapping[str, PhaseCurrent],
        Entry(_current, "A, kA, mA: one rms magnitude, or a table by phase, each with an angle if any", '"400 A"'),
        Field(description="rms; without angles balanced; N returns the sum of the others, PE carries 0 unless stated"),
    ]
    frequency: Annotated[
        Annotated[float, quantity_entry("frequency")] | None,
        Field(description="frequency of the fundamental; without one, the study's"),
    ] = None
    harmonics: Annotated[
        Mapping[int, Harmonic],
        Entry(_harmonics, "table of orders 2 to 50: share of the fundamental, or share and angle", HARMONICS_TABLE),
        Field(description="each phase carries the share of its fundamental at the order's multiple of its angle"),
    ] = Field(default_factory=dict)
    spacing: Annotated[
        Annotated[float, quantity_entry("spacing")] | None,
        Field(description="distance from axis to axis of neighbours"),
    ] = None
    clear_gap: Annotated[
        ClearGap | None, Field(description="distance from surface to surface of neighbours, in place of spacing")
    ] = None
    group_clear_gap: Annotated[
        ClearGap | None, Field(description="distance between trefoil groups; without one, 2.15 diameters")
    ] = None
    rests_at: Annotated[
        Point | None, Field(description="point under the middle of the formation, on its lowest tangent")
    ] = None
    positions: Annotated[
        Annotated[tuple[Point, ...], list_entry(FORMS["positions"].partition(" = ")[2], least=1)] | None,
        Field(description="axes of the cables, one for each entry of phases"),
    ] = None
    drawn_on: Annotated[
        Annotated[Mapping[str, Word], Entry(_drawn_on, "table: layer of each phase label", LAYERS_TABLE)] | None,
        Field(description="layer of the drawing on which the cables of each phase are circles"),
    ] = None

    @model_validator(mode="before")
    @classmethod
    def _phases_of_the_drawing(cls, value: Any) -> Any:
        if isinstance(value, Mapping) and value.get("arrangement") == "drawing" and "phases" not in value:
            layers = value.get("drawn_on")
            labels = [label for label in layers if label in PHASE_ANGLES] if isinstance(layers, Mapping) else []
            if labels:
                return {**value, "phases": labels}
        return value
