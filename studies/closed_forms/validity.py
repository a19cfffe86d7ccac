"""Closed forms with their sources, and the conditions of a study that they neglect."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from studies.formulas.formula import outside_range, registered
from studies.section.parts import METALWORK, TRAY, CrossSection
from studies.text.failures import Failure, rescued

TRAY_NEAR = "a tray is near, which the formula leaves out"
METALWORK_NEAR = "metalwork is near, which the formula leaves out"
BONDED = "bonded parts carry currents, which the formula leaves out"
OTHER_CIRCUITS = "other circuits lie near, which the formula leaves out"


@dataclass(frozen=True)
class ClosedForm:
    """The value of a formula, with what it neglects here."""

    name: str
    source: str
    value: float
    """In SI; not a number if the formula failed, which `outside_range` then reports."""
    outside_range: tuple[str, ...]
    """Why the value is less exact than the formula claims; empty within its range."""


def tried(formula: str, make: Callable[[], ClosedForm | None]) -> list[ClosedForm]:
    """The closed form in a list, which is empty if there is none here; one that fails reports the failure."""
    found = rescued(f"formula “{formula}”", make, partial(failed_form, formula))
    return [] if found is None else [found]


def failed_form(formula: str, failure: Failure) -> ClosedForm:
    """A closed form without a value."""
    return ClosedForm(formula, "", math.nan, (f"could not be computed: {failure.why}",))


def metal_near(section: CrossSection) -> list[str]:
    """Trays and metalwork of a section, which formulas of cables neglect."""
    near = {part.kind for part in section.parts}
    return [sentence for kind, sentence in ((TRAY, TRAY_NEAR), (METALWORK, METALWORK_NEAR)) if kind in near]


def neglected_metal(section: CrossSection) -> tuple[str, ...]:
    """Metal of a section that formulas of lone conductors neglect."""
    found = metal_near(section)
    if any(tie.impedance is not None or (tie.current == 0 and len(tie.parts) > 1) for tie in section.ties):
        found.append(BONDED)
    return tuple(found)


def reasons(function: Callable[..., Any], **inputs: Any) -> tuple[str, ...]:
    """Why inputs lie outside the registered range of a formula."""
    return tuple(outside_range(function, **inputs))


def outside_of(*found: str) -> tuple[str, ...]:
    """The failures of limits among these, which are empty within the range."""
    return tuple(reason for reason in found if reason)


def source(function: Callable[..., Any]) -> str:
    """Registered source of a formula."""
    return registered(function).source
