"""Formulas beside numbers as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from studies.closed_forms.validity import ClosedForm


@dataclass(frozen=True)
class FormulaBeside:
    """The value of a formula beside the finite-element value."""

    quantity: str
    """field, resistance, inductance, screen loss, sheath loss or tray loss."""
    subject: str
    """Name of the receptor, part or phase."""
    formula: str
    source: str
    unit: str
    """Unit of the two values, SI."""
    value_in_unit: float
    """Not a number if the formula failed, which `outside_range` then reports."""
    finite_element_in_unit: float
    outside_range: tuple[str, ...]
    """Why the formula is less exact here than it claims; empty within its range."""

    @property
    def difference(self) -> float:
        """Formula / finite element - 1. [-]"""
        return self.value_in_unit / self.finite_element_in_unit - 1 if self.finite_element_in_unit else float("nan")


def rows_beside(
    quantity: str, subject: str, unit: str, element: float, formulas: Iterable[ClosedForm]
) -> list[FormulaBeside]:
    """A row for each formula of one number, whose finite-element value is `element`."""
    return [
        FormulaBeside(quantity, subject, form.name, form.source, unit, form.value, element, form.outside_range)
        for form in formulas
    ]
