"""Everything computed for a study as plain data; the names are the keys of results.json."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from fem.checks import Checks
from fem.losses import ElementFields, Losses
from fem.solve import UnitFields
from fem.ties import Drive
from studies.answers.causes.rows import CauseResult
from studies.answers.charging.rows import ChargingResult
from studies.answers.direct_currents.rows import DirectCurrents, DirectFieldResult
from studies.answers.energy.rows import EnergyResult
from studies.answers.faults.compute import StatedFault
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.fields.readings import FieldReadings
from studies.answers.fields.rows import MapResult, ReceptorResult, TraverseResult
from studies.answers.formulas_beside.rows import FormulaBeside
from studies.answers.laying.rows import LayingResult, ToleratedField
from studies.answers.limits.rows import LimitDistanceResult, ZoneResult
from studies.answers.loops.rows import LoopResult
from studies.answers.losses.rows import LossResult, PartResult
from studies.answers.net_currents.rows import NetCurrents, NetFieldResult
from studies.answers.orders.rows import OrderSearchResult
from studies.answers.permitted.rows import PermittedCable, PermittedResult
from studies.answers.phases.rows import PhaseResult, SequenceResult
from studies.answers.plates.rows import PlateResult
from studies.answers.remedies.rows import RemedyResult
from studies.answers.reservations.rows import ReservationResult
from studies.answers.route.compute import RouteSolution
from studies.answers.route.rows import RouteFieldResult, RouteResult
from studies.answers.shielding.compute import ShieldingResult
from studies.answers.shields.rows import ShieldResult
from studies.answers.space.rows import AlongCourseResult, SpaceFieldResult, SpaceResult
from studies.answers.stated_limits.rows import StatedLimitResult
from studies.answers.steel.rows import SaturationResult, SweepPoint
from studies.answers.survey.rows import SurveyResult
from studies.section.parts import CrossSection
from studies.solve.levels import AccuracyResult
from studies.study.file import Study
from studies.text.failures import Failure


@dataclass(frozen=True)
class Answers:
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
    ladder: tuple[FormulaBeside, ...]
    checks: Checks
    accuracy: AccuracyResult
    cautions: tuple[str, ...]
    fields: UnitFields = field(repr=False)
    drive: Drive = field(repr=False)
    loss_fields: Losses = field(repr=False)
    element_fields: ElementFields = field(repr=False)
    fault_forces: tuple[StatedFault, ...] = field(repr=False, default=())
    """Forces of each stated fault over time, for their figures."""
    route_solution: RouteSolution | None = field(repr=False, default=None)
    """The run with its maps, for its figures."""
    reservations: tuple[ReservationResult, ...] = ()
    """What the error estimates do not cover, for every verdict."""
    shielding: tuple[ShieldingResult, ...] = ()
    """Field without trays, covers and metalwork over the field with them, at receptors and along traverses."""
    laying_tolerance: LayingResult | None = None
    """Fields, shares and losses of the run as it may be installed, over all layings."""
    net_currents: NetCurrents | None = None
    """Fields and losses if some of a circuit's current returns outside of it."""
    direct_currents: DirectCurrents | None = None
    """Static fields, losses and total currents of direct currents."""
    loops: tuple[LoopResult, ...] = ()
    """Voltages induced in pairs and loops of other circuits."""
    space: SpaceResult | None = None
    """Field of the run in space; None without a course."""
    remedies: tuple[RemedyResult, ...] = ()
    """Changes of the study that may bring what is above its limit below it, each solved."""
    stated_limits: tuple[StatedLimitResult, ...] = ()
    """Limits in the terms of their makers and codes, with the field in the same terms."""
    permitted: PermittedResult | None = None
    """Current and loss of each cable beside the permitted current that is stated for it."""
    causes: tuple[CauseResult, ...] = ()
    """Differences from the formulas, split by cause."""
    survey: SurveyResult | None = None
    """Readings of a survey beside the computed field, and what explains them."""
    shields: tuple[ShieldResult, ...] = ()
    """Plates that may shield the receptors, each solved."""
    energy: EnergyResult | None = None
    """Energy of the losses over a year, and its price."""
    plates: tuple[PlateResult, ...] = ()
    """Loss of plates that cables pass through, by closed forms."""
    readings: Callable[[], FieldReadings] | None = field(repr=False, compare=False, default=None)
    """The field on grids for the reader of a page, computed when it is called."""
    failures: tuple[Failure, ...] = ()
    """What was asked and could not be made; all else stands."""

    def exceeded(self) -> tuple[ReceptorResult | ZoneResult, ...]:
        """Receptors and zones where the field, with its error estimate, is above the limit by the study's or the other
        steel."""
        entries: list[ReceptorResult | ZoneResult] = [*self.receptors, *self.zones]
        return tuple(e for e in entries if e.within_limit is False or e.other_steel_within_limit is False)

    def judged_elsewhere(self) -> tuple[LoopResult | StatedLimitResult | DirectFieldResult, ...]:
        """Loops with their induced voltage, limits as stated, and static fields."""
        static = () if self.direct_currents is None else self.direct_currents.fields
        return (*self.loops, *self.stated_limits, *static)

    def exceeded_elsewhere(self) -> tuple[LoopResult | StatedLimitResult | DirectFieldResult, ...]:
        """Those of them that are above their limit with their error estimate."""
        entries = self.judged_elsewhere()
        return tuple(entry for entry in entries if entry.within_limit is False)

    def unjudged(self) -> tuple[str, ...]:
        """Receptors and zones with a limit that have no verdict, because their field or its comparison failed."""
        judged = {entry.name for entry in self.receptors if entry.within_limit is not None}
        judged |= {entry.name for entry in self.zones if entry.within_limit is not None}
        asked = [receptor.name for receptor in self.study.receptors if receptor.limit is not None]
        asked += [zone.name for zone in self.study.zones if zone.limit is not None]
        if self.study.course is not None:
            judged |= {entry.name for entry in self.space.receptors} if self.space is not None else set()
            asked += [place.name for place in self.study.course.receptors if place.limit is not None]
        return tuple(name for name in asked if name not in judged)

    def exceeded_along_route(self) -> tuple[RouteFieldResult, ...]:
        """Receptors and sections of the route where the field, with its error estimate, is above the limit."""
        fields = () if self.route is None else self.route.fields
        return tuple(entry for entry in fields if entry.within_limit is False)

    def exceeded_in_space(self) -> tuple[SpaceFieldResult | AlongCourseResult, ...]:
        """Places in space, and receptors of the cross-section along the course, with a field above the limit."""
        found = self.space
        places: list[SpaceFieldResult | AlongCourseResult] = []
        places += [] if found is None else [*found.receptors, *found.along]
        return tuple(place for place in places if place.within_limit is False)

    def exceeded_as_laid(self) -> tuple[ToleratedField, ...]:
        """Receptors and zones within their limit as drawn whose 95th percentile over all layings is above it."""
        found = () if self.laying_tolerance is None else self.laying_tolerance.fields
        return tuple(row for row in found if row.within_limit and row.p95_within_limit is False)

    def exceeded_with_net_currents(self) -> tuple[NetFieldResult, ...]:
        """Receptors and zones within their limit that net currents take above it."""
        found = () if self.net_currents is None else self.net_currents.fields
        return tuple(row for row in found if row.taken_above)

    def above_permitted(self) -> tuple[PermittedCable, ...]:
        """Cables whose current, with its error estimate, is above the permitted one."""
        found = () if self.permitted is None else self.permitted.cables
        return tuple(row for row in found if row.current_ratio + row.current_ratio_error > 1)

    def loss_total(self, kind: str) -> float:
        """Summed loss of all parts of a kind (conductor, screen, sheath, armour, tray, metalwork). [W/m]"""
        return sum(loss.loss_w_per_m for loss in self.losses if loss.kind == kind)
