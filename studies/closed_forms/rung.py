"""One formula's answer for one number of a study."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from studies.formulas.formula import outside_range, registered
from studies.section.cross_section import METALWORK, TRAY, CrossSection
from studies.text.failures import rescued

TRAY_NEAR = "a tray lies near, which the formula does not know"
METALWORK_NEAR = "metalwork lies near, which the formula does not know"
BONDED = "bonded parts carry currents, which the formula does not know"
OTHER_CIRCUITS = "other circuits lie near, which the formula does not know"


Entry = tuple[str, str, float, tuple[str, ...]]
"""A formula's name, source, value and reasons not to trust it here."""


@dataclass(frozen=True)
class Rung:
    """A formula's value beside the finite-element value."""

    quantity: str
    """field, resistance, inductance, screen loss, sheath loss or tray loss."""
    subject: str
    """The receptor, part or phase it is of."""
    formula: str
    source: str
    unit: str
    """Unit of the two values, SI."""
    value_in_unit: float
    """Not a number where the formula failed, which stands among the reasons."""
    finite_element_in_unit: float
    outside_range: tuple[str, ...]
    """Why the formula is not as good as it claims here; empty inside its stated range."""

    @property
    def difference(self) -> float:
        """Formula less finite element, over finite element. [-]"""
        return self.value_in_unit / self.finite_element_in_unit - 1 if self.finite_element_in_unit else float("nan")


def tried(formula: str, make: Callable[[], Entry | None]) -> list[Entry]:
    """The entry of a formula, if it has one here; of a formula that fails an entry without a value that says so."""
    entry = rescued(
        f"formula “{formula}”",
        make,
        lambda failure: (formula, "", float("nan"), (f"could not be computed: {failure.why}",)),
    )
    return [] if entry is None else [entry]


def surroundings(section: CrossSection) -> tuple[str, ...]:
    """What of a section no formula of lone conductors knows."""
    found = [TRAY_NEAR] if any(part.kind == TRAY for part in section.parts) else []
    if any(part.kind == METALWORK for part in section.parts):
        found.append(METALWORK_NEAR)
    if any(tie.impedance is not None or (tie.current == 0 and len(tie.parts) > 1) for tie in section.ties):
        found.append(BONDED)
    return tuple(found)


def reasons(function: Callable[..., Any], **inputs: Any) -> tuple[str, ...]:
    """Why inputs lie outside the registered range of a formula."""
    return tuple(outside_range(function, **inputs))


def source(function: Callable[..., Any]) -> str:
    """Registered source of a formula."""
    return registered(function).source
