"""What is kept of a solved case: its numbers, its phases and its cautions, as JSON that gives the same bits back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from studies.results import Result
from studies.sweep.compared import numbers_of
from studies.sweep.number import NOTHING, Number
from studies.sweep.phase_state import PhaseState, phase_states

KEPT = 3
"""Form in which cases are kept; another one is not read, and its cases are solved again."""


@dataclass(frozen=True)
class Measured:
    """The numbers of a solved case."""

    numbers: Mapping[str, Number]
    """Compared quantities by column, SI."""
    phases: tuple[PhaseState, ...]
    cautions: tuple[str, ...]

    def number(self, column_name: str) -> Number:
        """A compared quantity by its column; one without a value where the case has none."""
        return self.numbers.get(column_name, NOTHING)

    def text(self) -> str:
        """As JSON; numbers are written with as many digits as give the same bits back."""
        document = {
            "numbers": {
                name: [number.value, number.error, number.formula, number.place]
                for name, number in self.numbers.items()
            },
            "phases": [
                [
                    phase.circuit,
                    phase.phase,
                    _pair(phase.current_a),
                    _pair(phase.voltage_v_per_m),
                    phase.voltage_error_v_per_m,
                    _pair(phase.formula_voltage_v_per_m),
                ]
                for phase in self.phases
            ],
            "cautions": list(self.cautions),
        }
        return json.dumps(document, ensure_ascii=False, allow_nan=False)


def measure(result: Result) -> Measured:
    """What is kept of a result."""
    return Measured(numbers_of(result), phase_states(result), result.cautions)


def measured_from(text: str) -> Measured:
    """The numbers of a case from their JSON."""
    document: dict[str, Any] = json.loads(text)
    return Measured(
        {name: Number(*entry) for name, entry in document["numbers"].items()},
        tuple(
            PhaseState(circuit, phase, complex(*i), complex(*u), error, None if formula is None else complex(*formula))
            for circuit, phase, i, u, error, formula in document["phases"]
        ),
        tuple(document["cautions"]),
    )


def _pair(value: complex | None) -> tuple[float, float] | None:
    return None if value is None else (float(value.real), float(value.imag))
