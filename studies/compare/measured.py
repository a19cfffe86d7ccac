"""What is kept of a solved case: its numbers, its phases and its cautions, as JSON that gives the same bits back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import BaseModel, Field

from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.contours import Contours, limit_contours
from studies.compare.phase_state import PhaseState, phase_states
from studies.compare.quantities import QUANTITIES, numbers_of
from studies.result import Result
from studies.text.failures import guarded

KEPT = 6
"""Form in which cases are kept; another one is not read, and its cases are solved again."""
Phasor = tuple[float, float]
Count = Annotated[int, Field(ge=0, lt=1 << 63)]


class Form(BaseModel, strict=True, allow_inf_nan=False):
    """The JSON of a case."""

    numbers: dict[str, tuple[bool | Count | float | None, float | None, float | None, str]]
    """Value, error, closed form and place of each quantity."""
    phases: list[tuple[str, str, Phasor, Phasor, float, Phasor | None]]
    """Circuit, phase, current, drop, error of the drop, drop by the formula."""
    cautions: list[str]
    contours: list[tuple[float, list[list[tuple[float, float]]]]]
    """Each limit with the lines on which the field equals it."""


@dataclass(frozen=True)
class Measured:
    """The numbers of a solved case."""

    numbers: Mapping[str, CaseNumber]
    """Compared quantities by column, SI."""
    phases: tuple[PhaseState, ...]
    cautions: tuple[str, ...]
    contours: Contours = field(default_factory=dict)
    """Lines on which the field equals each limit; of a transposed run those of all its sections."""

    def number(self, column_name: str) -> CaseNumber:
        """A compared quantity by its column; one without a value where the case has none."""
        return self.numbers.get(column_name, NOTHING)

    def text(self) -> str:
        """As JSON; numbers are written with as many digits as give the same bits back."""
        document: dict[str, object] = {
            "numbers": {name: (one.value, one.error, one.formula, one.place) for name, one in self.numbers.items()},
            "phases": [
                (
                    *(one.circuit, one.phase, _pair(one.current_a), _pair(one.voltage_v_per_m)),
                    one.voltage_error_v_per_m,
                    None if one.formula_voltage_v_per_m is None else _pair(one.formula_voltage_v_per_m),
                )
                for one in self.phases
            ],
            "cautions": list(self.cautions),
            "contours": list(self.contours.items()),
        }
        return json.dumps(document, ensure_ascii=False, allow_nan=False)


def measure(result: Result) -> Measured:
    """What is kept of a result."""
    phases = guarded("voltages of the phases", lambda: phase_states(result), ())
    contours = guarded("contours of the limits", lambda: limit_contours(result), {})
    return Measured(numbers_of(result), phases, result.cautions, contours)


def measured_from(text: str) -> Measured:
    """The numbers of a case from their JSON; text that no case was kept as raises `ValueError`."""
    kept = Form.model_validate_json(text)
    if {name.partition(".")[0] for name in kept.numbers} - {quantity.key for quantity in QUANTITIES}:
        raise ValueError("a number of no compared quantity")
    return Measured(
        {name: CaseNumber(*number) for name, number in kept.numbers.items()},
        tuple(
            PhaseState(circuit, phase, complex(*i), complex(*u), error, None if drop is None else complex(*drop))
            for circuit, phase, i, u, error, drop in kept.phases
        ),
        tuple(kept.cautions),
        {limit: tuple(map(tuple, lines)) for limit, lines in kept.contours},
    )


def _pair(value: complex) -> Phasor:
    return float(value.real), float(value.imag)
