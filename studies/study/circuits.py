"""Circuits of the study file: cables, formation and currents, and what must agree within a circuit."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from math import isclose
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import Field, ValidationInfo, model_validator

from studies.study.direct_currents import DirectCurrent
from studies.study.entries import (
    ClearGap,
    Entry,
    KeyTable,
    Name,
    PhaseLabel,
    Point,
    Schema,
    Spacing,
    Word,
    input_error,
    input_errors,
    is_from_file,
    list_entry,
    measured,
    phases_entry,
    quantity_entry,
    word_entry,
)
from studies.study.findings import (
    Finding,
    Place,
    Plain,
    Reader,
    as_list,
    as_table,
    is_drawn,
    is_word,
    labels_of,
    repeated,
    unknown,
)
from studies.study.key_sets import KeySet, chosen, form_of, key_findings
from studies.study.net_currents import NetCurrent
from studies.study.phases import (
    HIGHEST_ORDER,
    LOWEST_ORDER,
    NO_CURRENT_NEEDED,
    PHASE_ANGLES,
    Harmonic,
    PhaseCurrent,
    angle_without_statement,
    balanced_angles,
    currents_of,
    distinct,
    harmonic_order,
    right_label,
    without_path,
)
from studies.study.quantities import RANGES, QuantityError, bounds
from studies.study.unit_patterns import quantity_schema

ARRANGEMENTS: Mapping[str, KeySet] = MappingProxyType(
    {
        "flat": KeySet(required=("phases", "rests_at"), one_of=("spacing", "clear_gap")),
        "trefoil": KeySet(required=("phases", "rests_at"), optional=("spacing", "group_clear_gap")),
        "positions": KeySet(required=("phases", "positions")),
        "drawing": KeySet(required=("drawn_on",), optional=("phases",)),
    }
)
"""Formations of circuits by name."""

HARMONICS_TABLE = '{ 3 = "12 %", 5 = ["20 %", "30 deg"] }'
POSITIONS_LIST = '[["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]'
LAYERS_TABLE = '{ L1 = "PHASE-1", L2 = "PHASE-2", L3 = "PHASE-3" }'


def _current(value: object, info: ValidationInfo) -> float | dict[str, PhaseCurrent]:
    if not isinstance(value, Mapping):
        try:
            return measured(value, "current", info)
        except QuantityError as error:
            raise input_error(error.wrong, f'{error.right}; or {{ L1 = "400 A", ... }}') from None

    def phase_current(entry: object) -> PhaseCurrent:
        if not isinstance(entry, list | tuple):
            return PhaseCurrent(measured(entry, "current", info))
        magnitude, angle = _two(entry, "is not a current and its angle", '"400 A" or ["390 A", "-118 deg"]')
        no_angle = angle is None and not is_from_file(info)
        return PhaseCurrent(measured(magnitude, "current", info), None if no_angle else measured(angle, "angle", info))

    return _each("current", value, str, phase_current)


def _harmonics(value: object, info: ValidationInfo) -> dict[int, Harmonic]:
    if not isinstance(value, Mapping):
        raise input_error("is not a table of orders", HARMONICS_TABLE)

    def harmonic(entry: object) -> Harmonic:
        if not isinstance(entry, list | tuple):
            return Harmonic(measured(entry, "harmonic share", info))
        wrong = "is not a share of the fundamental and its angle"
        share, angle = _two(entry, wrong, '"12 %" or ["20 %", "30 deg"]')
        return Harmonic(measured(share, "harmonic share", info), measured(angle, "angle", info))

    return _each("harmonics", value, harmonic_order, harmonic)


def _two(entry: Sequence[object], wrong: str, right: str) -> Sequence[object]:
    if len(entry) != 2:
        raise QuantityError(wrong, right)
    return entry


def _each(
    title: str, table: Mapping[Any, object], key: Callable[[Any], Any], entry: Callable[[object], Any]
) -> dict[Any, Any]:
    """Keys and values of a table of circuits' currents, or what is wrong with each of them."""
    found, findings = {}, []
    for name, value in table.items():
        try:
            found[key(name)] = entry(value)
        except QuantityError as error:
            findings.append(Finding((name if isinstance(name, str | int) else str(name),), error.wrong, error.right))
    if findings:
        raise input_errors(title, findings)
    return found


def _drawn_on(value: object, info: ValidationInfo) -> object:
    if not isinstance(value, Mapping) or not value:
        wrong = "is empty" if isinstance(value, Mapping) else "is not a table of phases and layers"
        raise input_error(wrong, LAYERS_TABLE)
    stray = [str(label) for label in value if label not in PHASE_ANGLES]
    if stray:
        raise input_errors("drawn_on", [Finding((at,), "is no known phase", right_label(at)) for at in stray])
    return value


def _by_phase(entry: Schema) -> Schema:
    """JSON Schema of a table by phase label."""
    return {"type": "object", "propertyNames": {"enum": list(PHASE_ANGLES)}, "additionalProperties": entry}


def _turned(name: str) -> Schema:
    """JSON Schema of a quantity, alone or with its angle."""
    pair = {"type": "array", "prefixItems": [quantity_schema(name), quantity_schema("angle")], "minItems": 2}
    return {"anyOf": [quantity_schema(name), {**pair, "maxItems": 2}]}


Current = Annotated[
    float | Mapping[str, PhaseCurrent],
    Entry(
        *(_current, "A, kA, mA: one rms magnitude, or a table by phase, each with an angle if any", '"400 A"'),
        schema=lambda _: {"anyOf": [quantity_schema("current"), _by_phase(_turned("current"))]},
    ),
]
BALANCED, COMMON_MODE = "balanced", "common"
"""Modes of a further current."""


class FurtherCurrent(KeyTable):
    """A current of any other frequency in the cables of a circuit, such as that of a drive's switching."""

    frequency: Annotated[float, quantity_entry("frequency")] = Field(examples=['"4 kHz"'])
    """its frequency, in any ratio to the fundamental"""
    current: Current = Field(examples=['"12 A"'])
    """rms, as that of the circuit; of the common mode the sum of all L phases"""
    mode: Annotated[str, word_entry("mode", (BALANCED, COMMON_MODE))] = BALANCED
    """common: in step in all L phases, back in PE if the circuit has one, else in the earth or far away"""


class Circuit(KeyTable):
    """One circuit: its cables, their formation and what they carry; `phases` left out are those of `drawn_on`."""

    name: Name
    """name of the circuit"""
    cable: Word = Field(examples=['"c240"'])
    """name of a cable construction"""
    arrangement: Annotated[str, word_entry("arrangement", ARRANGEMENTS)]
    """formation; it decides which of the keys below go with it"""
    phases: Annotated[tuple[PhaseLabel, ...], phases_entry('["L1", "L2", "L3"]', least=1)] = ()
    """phase labels left to right; trefoil: left, right, top; repeated labels are parallel cables"""
    current: Current
    """rms; without angles balanced; N returns the sum of the others, PE carries 0 unless stated"""
    frequency: Annotated[float, quantity_entry("frequency")] | None = None
    """frequency of the fundamental; without one, the study's"""
    harmonics: Annotated[
        Mapping[int, Harmonic],
        Entry(
            *(_harmonics, "table of orders 2 to 50: share of the fundamental, or share and angle", HARMONICS_TABLE),
            schema=lambda _: {
                "type": "object",
                "propertyNames": {"enum": [str(order) for order in range(LOWEST_ORDER, HIGHEST_ORDER + 1)]},
                "additionalProperties": _turned("harmonic share"),
            },
        ),
    ] = Field(default_factory=dict)
    """each phase carries the share of its fundamental at the order's multiple of its angle"""
    permitted_current: Annotated[float, quantity_entry("permitted current")] | None = None
    """of each cable as it is laid, by the code that applies; the loss of each is held against that alone with it"""
    further_currents: Annotated[
        tuple[FurtherCurrent, ...], list_entry('[{ frequency = "4 kHz", current = "12 A" }]', least=0)
    ] = Field(default=(), examples=['[{ frequency = "4 kHz", current = "12 A" }]'])
    """currents of other frequencies, of any ratio to the fundamental"""
    direct_current: DirectCurrent | None = None
    """beside current, which is then the ripple (0 A without one); its static field has limits of its own"""
    net_current: NetCurrent | None = Field(default=None, examples=['{ share = "1 %", returns_in = "T1" }'])
    """what of the current returns outside of the circuit; fields and losses with it stand beside those without"""
    spacing: Spacing | None = None
    """distance from axis to axis of neighbours"""
    clear_gap: ClearGap | None = None
    """distance from surface to surface of neighbours, in place of spacing"""
    group_clear_gap: ClearGap | None = Field(default=None, examples=['"2.15 diameter"'])
    """distance between trefoil groups; without one, 2.15 diameters"""
    rests_at: Point | None = Field(default=None, examples=['["0 mm", "0 mm"]'])
    """point under the middle of the formation, on its lowest tangent"""
    positions: Annotated[tuple[Point, ...], list_entry(POSITIONS_LIST, least=1)] | None = None
    """axes of the cables, one for each entry of phases"""
    drawn_on: (
        Annotated[
            Mapping[str, Word],
            Entry(
                *(_drawn_on, "table: layer of each phase label", LAYERS_TABLE),
                schema=lambda _: _by_phase({"type": "string"}),
            ),
        ]
        | None
    ) = None
    """layer of the drawing on which the cables of each phase are circles"""

    @model_validator(mode="before")
    @classmethod
    def _phases_of_the_drawing(cls, value: Any) -> Any:
        circuit = as_table(value)
        labels = [label for label in as_table(circuit.get("drawn_on")) if label in PHASE_ANGLES]
        return {**circuit, "phases": labels} if is_drawn(circuit) and "phases" not in circuit and labels else value


def phase_currents(circuit: Circuit) -> dict[str, complex]:
    """Net rms current phasor of each phase label of a circuit, as `currents_of` says. [A]"""
    return currents_of(circuit.phases, circuit.current)


def further_phase_currents(circuit: Circuit, further: FurtherCurrent) -> dict[str, complex]:
    """Net rms phasor of each phase label of a circuit at a further frequency. [A]

    The common mode is shared equally by the L phases, and PE carries it back; without a PE nothing in the circuit does.
    """
    if further.mode == BALANCED or not isinstance(further.current, float):
        return currents_of(circuit.phases, further.current)
    labels = distinct(circuit.phases)
    lines = [label for label in labels if label not in NO_CURRENT_NEEDED]
    own = {label: complex(further.current / len(lines)) if label in lines else 0j for label in labels}
    return own | ({"PE": complex(-further.current)} if "PE" in labels else {})


def circuit_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each circuit."""
    for index, circuit in reader.entries("circuits"):
        place: Place = ("circuits", index)
        cable, cables = circuit.get("cable"), reader.data.get("cables")
        if is_word(cable) and isinstance(cables, Mapping):
            yield from unknown((*place, "cable"), cable, cables, "known cable", "[cables.NAME]")
        yield from key_findings(place, circuit, Circuit, ARRANGEMENTS, circuit.get("arrangement"))
        yield from _one_of(place, circuit)
        yield from _cable_count(place, circuit)
        yield from _layers(place, circuit)
        labels = labels_of(circuit)
        if labels and "current" in circuit:
            yield from _currents(reader, (*place, "current"), labels, circuit["current"])
        yield from _harmonic_findings(reader, (*place, "harmonics"), labels, circuit)
        yield from _further_findings(reader, (*place, "further_currents"), labels, circuit)


def _one_of(place: Place, circuit: Plain) -> Iterator[Finding]:
    arrangement = chosen(ARRANGEMENTS, circuit.get("arrangement"))
    if arrangement is None:
        return
    given = [key for key in arrangement.one_of if key in circuit]
    if len(given) > 1 or (arrangement.one_of and not given and len(as_list(circuit.get("phases"))) > 1):
        wrong = f"is given twice, by {' and '.join(arrangement.one_of)}" if given else "is missing"
        right = "exactly one of " + " or ".join(form_of(Circuit, key) for key in arrangement.one_of)
        yield Finding((*place, arrangement.one_of[0]), wrong, right)


def _cable_count(place: Place, circuit: Plain) -> Iterator[Finding]:
    count, positions = len(as_list(circuit.get("phases"))), as_list(circuit.get("positions"))
    arrangement = circuit.get("arrangement")
    if arrangement == "trefoil" and count % 3:
        wrong = f"has {count} entr{'y' if count == 1 else 'ies'}, trefoil lays cables in threes"
        yield Finding((*place, "phases"), wrong, '["L1", "L2", "L3"], left, right, top of each group in turn')
    if arrangement == "positions" and count and positions and len(positions) != count:
        right = f"{count} positions, one for each entry of phases"
        yield Finding((*place, "positions"), f"has {len(positions)} positions for {count} phases", right)


def _layers(place: Place, circuit: Plain) -> Iterator[Finding]:
    """Phases stated beside those of a drawing, and layers that two phases share."""
    layers = circuit.get("drawn_on")
    if not is_drawn(circuit) or not isinstance(layers, Mapping):
        return
    labels = labels_of(circuit)
    if labels and set(labels) != set(layers):
        right = f"leave it out, or {', '.join(map(str, layers))}, as often as there are cables"
        yield Finding((*place, "phases"), "does not agree with the phases of drawn_on", right)
    stated = (((*place, "drawn_on", label), layer, str(label)) for label, layer in layers.items() if is_word(layer))
    for at, taken in repeated(stated):
        yield Finding(at, f"is already the layer of {taken}", "a layer of its own for each phase")


def _currents(reader: Reader, place: Place, labels: Sequence[str], current: object) -> Iterator[Finding]:
    needed = [label for label in distinct(labels) if label not in NO_CURRENT_NEEDED]
    if not isinstance(current, Mapping):
        if balanced_angles(labels) is None:
            table = ", ".join(f'{label} = ["400 A", "0 deg"]' for label in needed or distinct(labels))
            wrong = f"does not say what the phases {', '.join(distinct(labels))} carry"
            yield Finding(place, wrong, f"a current for each: {{ {table} }}")
        return
    for label, entry in current.items():
        if label not in labels:
            yield Finding((*place, label), "is no phase of this circuit", right_label(label, distinct(labels)))
        elif _lacks_angle(reader, label, labels, entry):
            wrong = f"has no angle, and {label} has none in a balanced circuit"
            yield Finding((*place, label), wrong, '["20 A", "-118 deg"]')
    strays = any(label not in labels for label in current)  # which may stand for those that are missing
    for label in needed:
        if label not in current and not strays:
            yield Finding((*place, label), "is missing, every phase needs a current", f'{label} = "400 A"')


def _lacks_angle(reader: Reader, label: str, labels: Sequence[str], entry: object) -> bool:
    if isinstance(entry, PhaseCurrent) or (reader.bare_numbers and isinstance(entry, list | tuple)):
        if len(entry) == 2 and entry[1] is not None:
            return False
        entry = entry[0] if entry else None
    elif isinstance(entry, list | tuple):
        return False
    return bool(reader.number(entry, "current")) and angle_without_statement(label, labels) is None


def _harmonic_findings(reader: Reader, place: Place, labels: Sequence[str], circuit: Plain) -> Iterator[Finding]:
    fundamental, highest = _fundamental(reader, circuit), bounds("frequency")[1]
    for key, order in _orders(as_table(circuit.get("harmonics"))):
        if fundamental is not None and order * fundamental > highest * (1 + 1e-12):  # rounded conversion
            wrong = f"is at {order * fundamental:g} Hz, above the highest frequency"
            yield Finding((*place, key), wrong, f"order times frequency up to {RANGES['frequency'].high}")
        if labels and without_path(order, labels):
            wrong = "has no path: it is in step in L1, L2 and L3, and the circuit has no N to return by"
            yield Finding((*place, key), wrong, 'an "N" among the phases, or an order that is no multiple of 3')


def _further_findings(reader: Reader, place: Place, labels: Sequence[str], circuit: Plain) -> Iterator[Finding]:
    base = _fundamental(reader, circuit)
    taken = (
        [] if base is None else [base * k for k in (1, *(n for _, n in _orders(as_table(circuit.get("harmonics")))))]
    )
    for index, further in enumerate(map(as_table, as_list(circuit.get("further_currents")))):
        frequency, current = reader.number(further.get("frequency"), "frequency"), further.get("current")
        if frequency is not None and any(isclose(frequency, other, rel_tol=1e-9) for other in taken):
            right = "each frequency of the circuit once"
            yield Finding((*place, index, "frequency"), "is a frequency of this circuit already", right)
        taken += [] if frequency is None else [frequency]
        if further.get("mode") != COMMON_MODE and labels and current is not None:
            yield from _currents(reader, (*place, index, "current"), labels, current)
        elif isinstance(current, Mapping):
            yield Finding((*place, index, "current"), "is a table, the common mode is one sum", '"2 A"')
        elif labels and set(labels) <= set(NO_CURRENT_NEEDED):
            yield Finding((*place, index, "mode"), "needs an L phase", f'mode = "{BALANCED}"')


def _fundamental(reader: Reader, circuit: Plain) -> float | None:
    return reader.number(circuit.get("frequency", reader.data.get("frequency")), "frequency")


def _orders(harmonics: Mapping[Any, object]) -> Iterator[tuple[str | int, int]]:
    for key in harmonics:
        with suppress(QuantityError):
            yield key, harmonic_order(key)


def stated_frequencies(reader: Reader) -> set[float]:
    """Every frequency at which currents flow, as far as it is sound. [Hz]"""
    found: set[float] = set()
    for _, circuit in reader.entries("circuits"):
        base = _fundamental(reader, circuit)
        if base is not None:
            found |= {base, *(order * base for _, order in _orders(as_table(circuit.get("harmonics"))))}
        further = map(as_table, as_list(circuit.get("further_currents")))
        known = (reader.number(entry.get("frequency"), "frequency") for entry in further)
        found |= {frequency for frequency in known if frequency is not None}
    return found
