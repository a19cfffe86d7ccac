"""What is kept of a solved case: its numbers, its phases and its cautions, as JSON that gives the same bits back."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from studies.compare.case_numbers import NOTHING, CaseNumber
from studies.compare.phase_state import PhaseState, phase_states
from studies.compare.quantities import QUANTITIES, numbers_of
from studies.result import Result
from studies.text.failures import guarded

KEPT = 4
"""Form in which cases are kept; another one is not read, and its cases are solved again."""


@dataclass(frozen=True)
class Measured:
    """The numbers of a solved case."""

    numbers: Mapping[str, CaseNumber]
    """Compared quantities by column, SI."""
    phases: tuple[PhaseState, ...]
    cautions: tuple[str, ...]

    def number(self, column_name: str) -> CaseNumber:
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
    phases = guarded("voltages of the phases", lambda: phase_states(result), ())
    return Measured(numbers_of(result), phases, result.cautions)


def measured_from(text: str) -> Measured:
    """The numbers of a case from their JSON; text that no case was kept as raises `ValueError`."""
    try:
        document: dict[str, Any] = json.loads(text, parse_constant=_no_number)
        return Measured(
            {_column(name): _number(*entry) for name, entry in document["numbers"].items()},
            tuple(_phase(*entry) for entry in document["phases"]),
            tuple(_word(caution) for caution in document["cautions"]),
        )
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise ValueError(f"no numbers of a case ({type(error).__name__})") from None


def _column(name: str) -> str:
    if name.partition(".")[0] not in {quantity.key for quantity in QUANTITIES}:
        raise ValueError("no compared quantity")
    return name


def _number(value: object, error: object, formula: object, place: object) -> CaseNumber:
    own = value if isinstance(value, bool) else _known(value)
    return CaseNumber(own, _known(error), _known(formula), _word(place))


def _known(value: object) -> float | int | None:
    return None if value is None else _real(value)


def _phase(circuit: object, phase: object, i: object, u: object, error: object, formula: object) -> PhaseState:
    drop = None if formula is None else _phasor(formula)
    return PhaseState(_word(circuit), _word(phase), _phasor(i), _phasor(u), _real(error), drop)


def _phasor(value: object) -> complex:
    if not isinstance(value, list) or len(value) != 2:
        raise ValueError("no phasor")
    return complex(*map(_real, value))


def _real(value: object) -> float | int:
    if isinstance(value, bool) or not isinstance(value, float | int) or abs(value) > sys.float_info.max:
        raise ValueError("no number")
    return value


def _word(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError("no text")
    return value


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _pair(value: complex | None) -> tuple[float, float] | None:
    return None if value is None else (float(value.real), float(value.imag))
