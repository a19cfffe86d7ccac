"""The results of a study as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from studies.answers.fields.rows import MapResult as MapResult
from studies.answers.fields.rows import TraverseResult as TraverseResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fem.checks import Checks
    from fem.losses import ElementFields, Losses
    from fem.solve import UnitFields
    from fem.ties import Drive
    from studies.answers.charging.rows import ChargingResult
    from studies.answers.decisions import Decisions
    from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
    from studies.answers.orders.rows import OrderSearchResult
    from studies.answers.phases.rows import SequenceResult
    from studies.answers.reservations.rows import ReservationResult
    from studies.answers.route.rows import RouteFieldResult, RouteResult
    from studies.closed_forms.rung import Rung
    from studies.section.cross_section import CrossSection
    from studies.study.file import Study
    from studies.text.failures import Failure


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
        from studies.report.terminal import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """The same for a notebook."""
        from studies.report.terminal import summary_html

        return summary_html(self)

    def figures(self) -> dict[str, Figure]:
        """Every figure by the name of its file, drawn anew: yours to restyle, show and save.

        One that cannot be drawn is missing, and a warning says so.
        """
        from studies.output.figures import figure_set
        from studies.text.failures import collected, guarded

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
