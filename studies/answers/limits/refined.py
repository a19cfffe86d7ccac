"""Zones and limit distances while a study is refined, so that they hold to the asked tolerance as all else does."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from studies.answers.limits.compute import limit_distance_results, outer_rectangle, zone_results
from studies.answers.limits.rows import MET, LimitDistanceResult, ZoneResult
from studies.closed_forms.lines import line_model
from studies.section.air import CLEARANCES
from studies.section.parts import CrossSection
from studies.solve.accuracy import Estimate, Solved
from studies.solve.levels import AccuracyResult
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.text.failures import guarded

SMALL_DISTANCE = 0.1
"""Distances below this share of the diagonal of all solids are held to the tolerance of this share. [-]"""
FINE_ENOUGH = 1e-3
"""A distance with an error below this needs no finer mesh: nobody lays cables to less (common practice, no source).

Half a per cent of 5 mm beside a steel tray costs many times the work of all other numbers. [m]
"""


@dataclass
class DerivedNumbers:
    """Zones and limit distances of one frequency, kept from one mesh to the next question about the same mesh."""

    study: Study
    section: CrossSection
    with_distances: bool = True
    """Not at harmonics, whose limits are those of all frequencies together."""
    _of: Solved | None = field(default=None, init=False)
    _zones: tuple[ZoneResult, ...] = field(default=(), init=False)
    _distances: tuple[LimitDistanceResult, ...] = field(default=(), init=False)

    def worst_error(self, solved: Solved, estimate: Estimate) -> float:
        """Largest error estimate over its number. [-]

        Air and crossings nearer to metal than the clearance of zones take no part: they settle as slowly as the field
        in metal, and are returned with their estimate.
        """
        if self._of is not solved:
            unknown = AccuracyResult(self.study.accuracy.tolerance, math.nan, False, ())  # this is what is asked
            solution = Solution(self.section, solved, estimate, unknown, line_model(self.section))
            self._zones = guarded("zones", lambda: zone_results(self.study, (solution,)), ())
            self._distances = ()
            if self.with_distances:
                self._distances = guarded(
                    "limit distances", lambda: limit_distance_results(self.study, (solution,)), ()
                )
            self._of = solved
        return max(self._ratios(), default=0.0)

    def _ratios(self) -> Iterator[float]:
        for zone in self._zones:
            if zone.b_max_rms_t > 0 and zone.clearance_m in (None, CLEARANCES[0]):
                yield zone.b_max_rms_error_t / zone.b_max_rms_t
        least = SMALL_DISTANCE * outer_rectangle(self.section).diagonal
        for row in self._distances:
            away = row.from_outline_m
            if row.state == MET and row.error_m is not None and away is not None and away > CLEARANCES[0]:
                yield row.error_m / max(away, least) if row.error_m > FINE_ENOUGH else 0.0

    def zones_of(self, solutions: tuple[Solution, ...]) -> tuple[ZoneResult, ...] | None:
        """Of these solutions, where they are the one that was asked last; else None."""
        return self._zones if self._is_of(solutions) else None

    def distances_of(self, solutions: tuple[Solution, ...]) -> tuple[LimitDistanceResult, ...] | None:
        """Of these solutions, where they are the one that was asked last; else None."""
        return self._distances if self._is_of(solutions) else None

    def _is_of(self, solutions: tuple[Solution, ...]) -> bool:
        return len(solutions) == 1 and self._of is solutions[0].solved
