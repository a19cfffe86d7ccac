"""What is kept of a solved case: its numbers, its phases and its cautions, as JSON that gives the same bits back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from studies.results import Result
from studies.sweep.compared import Value, numbers_of, phase_states
from studies.sweep.phase_state import PhaseState


@dataclass(frozen=True)
class Measured:
    """The numbers of a solved case."""

    numbers: Mapping[str, Value]
    """Compared quantities by column, SI."""
    phases: tuple[PhaseState, ...]
    cautions: tuple[str, ...]

    def text(self) -> str:
        """As JSON; numbers are written with as many digits as give the same bits back."""
        document = {
            "numbers": dict(self.numbers),
            "phases": [
                [phase.circuit, phase.phase, _pair(phase.current_a), _pair(phase.voltage_v_per_m)]
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
        document["numbers"],
        tuple(PhaseState(circuit, phase, complex(*i), complex(*u)) for circuit, phase, i, u in document["phases"]),
        tuple(document["cautions"]),
    )


def _pair(value: complex) -> tuple[float, float]:
    return float(value.real), float(value.imag)
