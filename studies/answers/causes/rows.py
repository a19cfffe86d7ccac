"""Differences by cause as plain data; the names of the fields are the keys of results.json."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

FIELDS, LOSSES, INDUCTANCES = "fields", "losses", "inductances"
"""What is split, as the study file names it."""
KEYS = {
    FIELDS: ("b_rms_t", "b_rms_error_t"),
    LOSSES: ("loss_w_per_m", "loss_error_w_per_m"),
    INDUCTANCES: ("inductance_h_per_m", "inductance_error_h_per_m"),
}
"""Where a value of each and its error stand."""
CAUSES = ("sharing", "proximity_and_skin", "screens", "tray_conduction", "tray_permeability")
"""In the order in which they are added to the formula."""
FORMULA, REST, COMPUTED = "formula", "rest", "computed"
"""What stands beside the causes."""


@dataclass(frozen=True)
class CauseResult:
    """Formula, what one cause adds to it, or computed value; one of the three kinds of number, the others None."""

    of: str
    """fields, losses or inductances."""
    place: str
    """Receptor; circuit; for losses all conductors together."""
    cause: str
    """A cause, or formula, rest, computed; formula, causes and rest add up to computed."""
    b_rms_t: float | None = None
    b_rms_error_t: float | None = None
    """Of what a cause adds: from its change between the last two meshes."""
    loss_w_per_m: float | None = None
    loss_error_w_per_m: float | None = None
    inductance_h_per_m: float | None = None
    inductance_error_h_per_m: float | None = None


@dataclass(frozen=True)
class DifferenceSplit:
    """Finite-element value over its formula, as parts that add up to the whole difference; all in T, W/m or H/m."""

    of: str
    """fields, losses or inductances."""
    place: str
    """Receptor; circuit; for losses all conductors together."""
    formula: float
    """Line currents at the axes, shared equally; I^2 R with the factors of IEC 60287-1-1; logarithm of distances."""
    sharing: float
    """With the currents of parallel cables as they share by resistance and line inductance, less with equal ones."""
    sharing_error: float
    proximity_and_skin: float
    """With the currents where they flow within the conductors; of losses beyond the formula's own factors."""
    proximity_and_skin_error: float
    screens: float
    """With screens, sheaths, armours and conductors whose current a bond decides."""
    screens_error: float
    tray_conduction: float
    """With trays and metalwork that conduct but have the permeability of air."""
    tray_conduction_error: float
    tray_permeability: float
    """With their permeability, and saturation where it is stated."""
    tray_permeability_error: float
    rest: float
    """Of the mesh, and of an earth, which the formula of fields leaves out."""
    computed: float
    """By finite elements, as in all other tables."""

    def parts(self) -> tuple[float, ...]:
        """The part of each cause, in their order."""
        return (self.sharing, self.proximity_and_skin, self.screens, self.tray_conduction, self.tray_permeability)

    def rows(self) -> tuple[CauseResult, ...]:
        """One row for the formula, each cause, the rest and the computed value."""
        value, error = KEYS[self.of]
        found = []
        for cause in (FORMULA, *CAUSES, REST, COMPUTED):
            numbers = {value: getattr(self, cause), error: getattr(self, f"{cause}_error", None)}
            found.append(CauseResult(self.of, self.place, cause, **numbers))
        return tuple(found)


def splits(rows: Iterable[CauseResult]) -> tuple[DifferenceSplit, ...]:
    """The rows of each number together again."""
    groups: dict[tuple[str, str], dict[str, float]] = {}
    for row in rows:
        value, error = (getattr(row, key) for key in KEYS[row.of])
        own = groups.setdefault((row.of, row.place), {})
        own[row.cause] = value
        if row.cause in CAUSES:
            own[f"{row.cause}_error"] = error
    return tuple(DifferenceSplit(of, place, **own) for (of, place), own in groups.items())
