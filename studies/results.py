"""The results of a study as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from studies.field_lines import MapResult as MapResult
from studies.field_lines import TraverseResult as TraverseResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fem.checks import Checks
    from fem.losses import ElementFields, Losses
    from fem.solve import UnitFields
    from fem.ties import Drive
    from studies.comparison.decisions import Decisions
    from studies.cross_section import CrossSection
    from studies.decided import (
        ChargingResult,
        FaultDesignResult,
        FaultForceResult,
        FaultPairResult,
        OrderSearchResult,
        ReservationResult,
    )
    from studies.failures import Failure
    from studies.ladder.rung import Rung
    from studies.route.result import RouteFieldResult, RouteResult
    from studies.sequence_result import SequenceResult
    from studies.study import Study


@dataclass(frozen=True)
class FieldComponent:
    """Field at a receptor at one frequency."""

    frequency_hz: float
    b_rms_t: float
    b_rms_error_t: float


@dataclass(frozen=True)
class ReceptorResult:
    """Field at a receptor beside the field of line currents."""

    name: str
    x_m: float
    y_m: float
    b_rms_t: float
    """Resultant, sqrt(|Bx|^2 + |By|^2)."""
    b_rms_error_t: float
    """Estimate of its numerical error."""
    b_major_axis_rms_t: float
    b_major_axis_rms_error_t: float
    """As large as that of the resultant: the change of a vector bounds that of its largest part."""
    b_minor_axis_rms_t: float
    bx_t: complex
    by_t: complex
    line_formula_b_rms_t: float
    """Resultant of line currents at the conductor axes, parallel cables sharing equally, no tray and no screens."""
    line_formula_shared_b_rms_t: float
    """The same with parallel cables sharing as the impedance matrix of line currents has them; equal without any."""
    limit_t: float | None
    """The limit as stated, or the reference level at the study's own frequency."""
    limit_name: str | None
    """Name of the reference level, if the limit is one."""
    exposure_index: float | None
    """Sum of B over its level, over the frequencies, of a reference level; 1 is allowed."""
    exposure_error: float | None
    within_limit: bool | None
    """Whether the resultant (or the exposure index) and its error estimate together stay at or under the limit."""
    within_tolerance: bool
    """Whether the error estimate meets the asked tolerance."""
    inside: str | None
    """The cable or metal that the place lies in, where the verdict is of the field in the material; None in air."""
    spectrum: tuple[FieldComponent, ...]
    """The field at each frequency; b_rms_t is the root of the sum of their squares, bx_t and by_t are of the first."""
    third_harmonic_b_rms_t: float | None = None
    """At most this field at three times the frequency comes out of saturating steel; it is in no other number."""
    other_steel_b_rms_t: float | None = None
    """Resultant with the curve of another steel of the same use."""
    other_steel_within_limit: bool | None = None
    """The verdict with that steel."""


@dataclass(frozen=True)
class ZoneResult:
    """Highest field in a rectangle, in the air outside cables and metal, and apart from it in the metal."""

    name: str
    x0_m: float
    y0_m: float
    x1_m: float
    y1_m: float
    x_m: float
    """Where it is highest in air."""
    y_m: float
    where: str
    """The same in words: an edge of the zone, or beside which cable or metal."""
    b_max_rms_t: float
    b_max_rms_error_t: float
    """Estimate of its numerical error, from the change of the field between the last two meshes."""
    limit_t: float | None
    limit_name: str | None
    within_limit: bool | None
    """Whether the highest field in air (or the exposure index) and its error estimate stay at or under the limit."""
    exposure_index: float | None
    """The highest in air; of several frequencies its place may be another than that of the highest field."""
    exposure_error: float | None
    within_tolerance: bool
    """Whether the error estimate meets the asked tolerance."""
    solids: tuple[str, ...]
    """Cables and metal in the zone or at its edge."""
    clearance_m: float | None
    """Least distance from them of the air that is judged."""
    metal: str | None
    """The part of the zone's metal in which the flux density is highest; it is not judged."""
    metal_x_m: float | None
    metal_y_m: float | None
    metal_b_max_rms_t: float | None
    metal_b_max_rms_error_t: float | None
    """From the jump across the edges of triangles and the change between the last two meshes."""
    other_steel_b_max_rms_t: float | None = None
    """At the same place with the curve of another steel of the same use."""
    other_steel_within_limit: bool | None = None


@dataclass(frozen=True)
class LimitDistanceResult:
    """Where the field falls to a limit in one direction, counted from the rectangle about all cables and metal."""

    limit_t: float
    limit_name: str | None
    of: tuple[str, ...]
    """Receptors and zones that have this limit."""
    direction: str
    """right, up, left, down, from the middle of that side; overall: the largest of all directions."""
    state: str
    """met, not exceeded (nowhere outside the rectangle), or not met (within a kilometre)."""
    from_outline_m: float | None
    error_m: float | None
    from_centre_m: float | None
    far_form_from_centre_m: float | None
    """By the far form of line currents, without tray and screens."""


@dataclass(frozen=True)
class SaturationResult:
    """How a part of saturating steel was magnetised."""

    part: str
    peak_b_t: float
    """Largest of all triangles; grows at sharp corners as the mesh is refined."""
    mean_peak_b_t: float
    """Mean over the part's area of the peak over the cycle."""
    relative_permeability: float
    """Of the linear answer."""
    loss_w_per_m: float
    linear_loss_w_per_m: float
    """With that permeability, constant."""
    solves: int
    rule_error: float = 0.0
    """Largest relative error of the loss by the rule of effective permeability at this saturation. [-]"""
    curve: str = ""
    """Magnetisation curve, in words."""
    other_curve: str = ""
    """Of another steel of the same use, with which the study is solved once more; empty where none is known."""


@dataclass(frozen=True)
class SweepPoint:
    """The study at other currents."""

    factor: float
    """Of all currents."""
    tray_loss_w_per_m: float
    conductor_loss_w_per_m: float
    quadratic_tray_loss_w_per_m: float
    """The tray loss of factor 1, times the square of the factor."""
    receptor_b_rms_t: tuple[float, ...]


@dataclass(frozen=True)
class LossResult:
    """Loss of a part beside its formula."""

    part: str
    kind: str
    phase: str | None
    loss_w_per_m: float
    loss_error_w_per_m: float
    magnetic_loss_w_per_m: float
    """The part of it that is hysteresis."""
    formula_loss_w_per_m: float | None
    """By the closed form of its kind: I^2 R of a conductor, IEC 60287-1-1 of a screen or sheath, an infinite plate like
    the floor of an open tray; None where there is none."""
    formula: str
    within_tolerance: bool
    formula_outside_range: str
    """Why the formula is not as good here as it claims; empty inside its range."""
    rule_error_w_per_m: float = 0.0
    """Part of the error estimate that the rule of effective permeability of saturating steel adds."""
    other_steel_loss_w_per_m: float | None = None
    """With the curve of another steel of the same use."""


@dataclass(frozen=True)
class PartResult:
    """Electrical state of a part."""

    part: str
    kind: str
    phase: str | None
    current_a: complex
    """At the fundamental of the cable's circuit, of trays and metalwork at the study's own frequency; so are voltage,
    resistance and share."""
    current_rms_a: float
    """Over all frequencies."""
    current_error_a: float
    """Estimate of the numerical error of current_a; rounding where the current is given."""
    formula_current_rms_a: float | None
    """Of a conductor with parallel ones, over all frequencies: as the matrix of line impedances shares the phase's
    current, with ac resistance, geometric mean radius and axis distances, no tray and no screens. Of a rail that rungs
    join to another: by the loop of the two rails as thin strips under the line currents."""
    voltage_v_per_m: complex
    voltage_error_v_per_m: float
    standing_voltage_v_per_100m: float | None
    """Of a part without net current and in no bond, over all frequencies: between its open end and the other, per
    100 m of run."""
    r_dc_ohm_per_m: float
    r_ac_ohm_per_m: float | None
    """Loss over current squared; none where the part carries no net current."""
    r_ac_error_ohm_per_m: float | None
    formula_r_ac_ohm_per_m: float | None
    share_of_phase: float | None
    """|current| over an equal share of the phase current; 1 where a conductor has no parallel one."""
    resistance_source: str


@dataclass(frozen=True)
class PhaseResult:
    """Impedance of a phase of a circuit, u/i with the study's currents."""

    circuit: str
    phase: str
    current_a: complex
    voltage_v_per_m: complex
    z_ohm_per_m: complex | None
    """None where the phase carries no current."""
    z_error_ohm_per_m: float | None
    inductance_h_per_m: float | None
    formula_z_ohm_per_m: complex | None
    """Line currents at the axes, each phase with its own distances."""
    formula_inductance_h_per_m: float | None
    """Imaginary part of the same over w."""
    gmd_inductance_h_per_m: float | None
    """Averaged over the phases: (mu0/2 pi) ln(GMD/GMR)."""
    within_tolerance: bool


@dataclass(frozen=True)
class Level:
    """One mesh of the refinement."""

    fineness: float
    unknowns: int
    triangles: int
    worst_change: float | None
    """Largest relative change of a requested number from the mesh before. [-]"""


@dataclass(frozen=True)
class AccuracyResult:
    """How the asked tolerance was met."""

    tolerance: float
    worst_error: float
    """Largest relative error estimate of the requested numbers. [-]"""
    met: bool
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class Result:
    """Everything computed for a study."""

    study: Study
    cross_section: CrossSection
    receptors: tuple[ReceptorResult, ...]
    losses: tuple[LossResult, ...]
    parts: tuple[PartResult, ...]
    phases: tuple[PhaseResult, ...]
    sequence_impedance: tuple[SequenceResult, ...]
    zones: tuple[ZoneResult, ...]
    limit_distances: tuple[LimitDistanceResult, ...]
    saturation: tuple[SaturationResult, ...]
    current_sweep: tuple[SweepPoint, ...]
    order_search: OrderSearchResult | None
    route: RouteResult | None
    charging: tuple[ChargingResult, ...]
    faults: tuple[FaultForceResult, ...]
    fault_pairs: tuple[FaultPairResult, ...]
    fault_design: tuple[FaultDesignResult, ...]
    traverses: tuple[TraverseResult, ...]
    map: MapResult | None
    ladder: tuple[Rung, ...]
    checks: Checks
    accuracy: AccuracyResult
    cautions: tuple[str, ...]
    fields: UnitFields = field(repr=False)
    drive: Drive = field(repr=False)
    loss_fields: Losses = field(repr=False)
    element_fields: ElementFields = field(repr=False)
    decisions: Decisions = field(repr=False)
    """Route, charging and forces with what their figures need."""
    reservations: tuple[ReservationResult, ...] = ()
    """What the error estimates do not cover, for every verdict."""
    failures: tuple[Failure, ...] = ()
    """What was asked and could not be made; all else stands."""

    def __str__(self) -> str:
        """The main numbers as tables for a terminal."""
        from studies.summary import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """The same for a notebook."""
        from studies.summary import summary_html

        return summary_html(self)

    def figures(self) -> dict[str, Figure]:
        """Every figure by the name of its file, drawn anew: yours to restyle, show and save.

        One that cannot be drawn is missing, and a warning says so.
        """
        from studies.failures import collected, guarded
        from studies.figures.catalogue import figure_set

        with collected() as failures:
            drawn = {name: guarded(f"figure {name}", draw, None) for name, draw in figure_set(self).items()}
        for failure in failures:
            warnings.warn(str(failure), stacklevel=2)
        return {name: figure for name, figure in drawn.items() if figure is not None}

    def exceeded(self) -> tuple[ReceptorResult | ZoneResult, ...]:
        """Receptors and zones where the field, with its error estimate, is above the limit by the study's or the other
        steel."""
        entries: list[ReceptorResult | ZoneResult] = [*self.receptors, *self.zones]
        return tuple(e for e in entries if e.within_limit is False or e.other_steel_within_limit is False)

    def unjudged(self) -> tuple[str, ...]:
        """Receptors and zones with a limit that have no verdict, because their field or its comparison failed."""
        judged = {entry.name for entry in self.receptors if entry.within_limit is not None}
        judged |= {entry.name for entry in self.zones if entry.within_limit is not None}
        asked = [receptor.name for receptor in self.study.receptors if receptor.limit is not None]
        asked += [zone.name for zone in self.study.zones if zone.limit is not None]
        return tuple(name for name in asked if name not in judged)

    def exceeded_along_route(self) -> tuple[RouteFieldResult, ...]:
        """Receptors and sections of the route where the field, with its error estimate, is above the limit."""
        fields = () if self.route is None else self.route.fields
        return tuple(entry for entry in fields if entry.within_limit is False)

    def loss_total(self, kind: str) -> float:
        """Summed loss of all parts of a kind (conductor, screen, sheath, armour, tray, metalwork). [W/m]"""
        return sum(loss.loss_w_per_m for loss in self.losses if loss.kind == kind)
