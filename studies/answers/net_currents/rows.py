"""Fields and losses with net currents as plain data; the names are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass

from fem.arrays import Floats


@dataclass(frozen=True)
class NetCurrentResult:
    """A net current as it was taken."""

    circuit: str
    current_a: float
    """Rms."""
    share: float | None
    """Over the largest phase current of the circuit; None if that is 0, and of a harmonic."""
    frequency_hz: float
    carried_by: tuple[str, ...]
    """Labels of the conductors in which it flows, in equal parts and in step."""
    returns_in: str
    """Part or parts of the study, earth, or far away."""
    angle_rad: float | None
    """As stated of the fundamental; None for the worst of each number."""


@dataclass(frozen=True)
class NetFieldResult:
    """Field at a receptor or in a zone with all net currents, beside that without."""

    kind: str
    """receptor, zone or traverse."""
    place: str
    x_m: float
    """Of a zone or traverse where the field with net currents is highest."""
    y_m: float
    b_without_rms_t: float
    """Resultant of the study's phase currents, over all frequencies; of a zone or traverse the highest."""
    b_without_rms_error_t: float
    net_b_rms_t: float
    """Resultant of the net currents alone."""
    b_rms_t: float
    """With net currents."""
    b_rms_error_t: float
    line_formula_b_rms_t: float
    """Of line currents with net currents, a return in metal as a line in its middle; no tray, no screens."""
    angles_rad: tuple[float, ...]
    """Of each net current, in the order of `currents`."""
    limit_t: float | None = None
    limit_name: str | None = None
    exposure_index: float | None = None
    exposure_error: float | None = None
    within_limit: bool | None = None
    """With net currents."""
    within_limit_without: bool | None = None

    @property
    def taken_above(self) -> bool:
        """Whether it is the net currents that take the field above its limit."""
        return self.within_limit is False and self.within_limit_without is True


@dataclass(frozen=True)
class NetLossResult:
    """Loss of a part, or of all, with net currents, beside that without."""

    part: str
    loss_without_w_per_m: float
    loss_without_error_w_per_m: float
    loss_w_per_m: float
    loss_error_w_per_m: float
    angles_rad: tuple[float, ...]
    """Of each net current, in the order of `currents`."""


@dataclass(frozen=True)
class NetDistanceResult:
    """How far a limit reaches in any direction, with and without net currents; counted from the outline."""

    limit_t: float
    limit_name: str | None
    of: tuple[str, ...]
    """Receptors and zones that have this limit."""
    without_state: str
    """met, not exceeded, or not met (within a kilometre)."""
    without_from_outline_m: float | None
    state: str
    from_outline_m: float | None
    error_m: float | None


@dataclass(frozen=True)
class NetTraverseResult:
    """The field along a traverse with net currents, each point at its own worst angles."""

    name: str
    highest_m: float
    """From the first point to the highest field, also between points."""
    b_rms_t: Floats
    """At the points of the traverse, shape (n,)."""


@dataclass(frozen=True)
class NetCurrents:
    """Everything with net currents."""

    currents: tuple[NetCurrentResult, ...]
    fields: tuple[NetFieldResult, ...]
    distances: tuple[NetDistanceResult, ...]
    losses: tuple[NetLossResult, ...]
    """Of each tray and piece of metalwork, and of all parts of the study together, each at its own worst angles."""
    traverses: tuple[NetTraverseResult, ...] = ()
