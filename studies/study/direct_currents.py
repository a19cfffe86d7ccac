"""Direct currents of circuits and limits of the static field, and what must agree with them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated

from pydantic import ValidationInfo

from studies.data.static_levels import STATIC_LEVELS
from studies.study.entries import Entry, input_errors, measured
from studies.study.findings import Finding, Place, Reader, labels_of
from studies.study.phases import NO_CURRENT_NEEDED, PHASE_ANGLES, balanced_angles, distinct, right_label
from studies.study.quantities import QuantityError
from studies.study.unit_patterns import quantity_schema
from studies.text.numbers import stated
from studies.text.problems import choice_of
from studies.text.units import AMPERE

TABLE = '{ L1 = "800 A", L2 = "-800 A" }'


def _direct(value: object, info: ValidationInfo) -> float | dict[str, float]:
    if not isinstance(value, Mapping):
        return measured(value, "direct current", info)
    found, findings = {}, []
    for label, entry in value.items():
        try:
            found[str(label)] = measured(entry, "direct current", info)
        except QuantityError as error:
            findings.append(Finding((str(label),), error.wrong, error.right))
    if findings:
        raise input_errors("direct_current", findings)
    return found


def _limit(value: object, info: ValidationInfo) -> float | str:
    if isinstance(value, str) and value in STATIC_LEVELS:
        return value
    try:
        return measured(value, "limit", info)
    except QuantityError as error:
        named = isinstance(value, str) and value.strip()[:1].isalpha()
        raise QuantityError(
            "is no known static level" if named else error.wrong,
            f'{choice_of(str(value) if named else "", STATIC_LEVELS)}; or a flux density such as "1 mT"',
        ) from None


DirectCurrent = Annotated[
    float | Mapping[str, float],
    Entry(
        *(_direct, "A, kA, mA: go and return of two conductors, or a table by phase with signs", '"800 A"'),
        "direct current",
        schema=lambda _: {
            "anyOf": [
                quantity_schema("direct current"),
                {
                    "type": "object",
                    "propertyNames": {"enum": list(PHASE_ANGLES)},
                    "additionalProperties": quantity_schema("direct current"),
                },
            ]
        },
    ),
]
StaticLimit = Annotated[
    float | str,
    Entry(
        *(_limit, "uT, mT, mG, G, T; or the name of a static level", '"1 mT"'),
        schema=lambda _: {"anyOf": [{"enum": list(STATIC_LEVELS)}, quantity_schema("limit")]},
    ),
]


def direct_phase_currents(phases: Sequence[str], current: float | Mapping[str, float] | None) -> dict[str, float]:
    """Direct current of each phase label, in the order of first appearance; its parallel cables share it. [A]

    One current goes in the first of two conductors (not N or PE) and returns in the other. In a table, an N without one
    returns the sum of those stated, and a PE without one carries none.
    """
    labels = distinct(phases)
    if current is None:
        return dict.fromkeys(labels, 0.0)
    if isinstance(current, Mapping):
        total = sum(current.values())
        return {label: current.get(label, -total if label == "N" else 0.0) for label in labels}
    angles = balanced_angles(phases) or {}
    return {label: 0.0 if (at := angles.get(label)) is None else current if at == 0 else -current for label in labels}


def direct_words(phases: Sequence[str], current: float | Mapping[str, float] | None) -> str:
    """The direct currents of a circuit, once if they go and return, before its alternating ones; else nothing."""
    found = direct_phase_currents(phases, current)
    sizes = {phase: stated(own, AMPERE) for phase, own in found.items() if own != 0}
    if not sizes:
        return ""
    if len(sizes) == 2 and sum(found.values()) == 0:
        return f"{next(iter(sizes.values()))} direct, "
    return f"{', '.join(f'{phase} {size}' for phase, size in sizes.items())} direct, "


def direct_current_findings(reader: Reader) -> Iterator[Finding]:
    """Direct currents that do not say what flows where, and what does not go with them."""
    circuits = [(index, circuit) for index, circuit in reader.entries("circuits") if "direct_current" in circuit]
    for index, circuit in circuits:
        place: Place = ("circuits", index, "direct_current")
        labels = labels_of(circuit)
        if labels:
            yield from _by_phase(place, labels, circuit["direct_current"])
        if "permitted_current" in circuit:
            right = "leave it out: the total rms current of each conductor stands with the direct currents"
            yield Finding(("circuits", index, "permitted_current"), "does not go with direct_current", right)
    if circuits and "energy" in reader.data:
        right = "leave it out: losses of direct currents are not in it"
        yield Finding(("energy",), "does not go with direct_current of a circuit", right)
    for key in () if circuits else ("receptors", "zones"):
        for index, entry in reader.entries(key):
            if "static_limit" in entry:
                right = 'direct_current = "800 A" of a circuit, or leave it out'
                yield Finding((key, index, "static_limit"), "has no direct current to judge", right)


def _by_phase(place: Place, labels: Sequence[str], current: object) -> Iterator[Finding]:
    if not isinstance(current, Mapping):
        angles = balanced_angles(labels) or {}
        if sum(angle is not None for angle in angles.values()) != 2:
            wrong = f"does not say what each of {', '.join(distinct(labels))} carries"
            yield Finding(place, wrong, f"a table with signs: {TABLE}")
        return
    for label in current:
        if label not in labels:
            wrong = "is no phase of this circuit"
            yield Finding((*place, str(label)), wrong, right_label(str(label), distinct(labels)))
    for label in distinct(labels):
        if label not in current and label not in NO_CURRENT_NEEDED and all(own in labels for own in current):
            yield Finding((*place, label), "is missing, every phase needs a direct current", f'{label} = "0 A"')
