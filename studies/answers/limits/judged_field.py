"""What limits are compared with at any point, and its error estimate: a resultant or an exposure index."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.data.reference_levels import reference_level
from studies.solve.solution import Solution, combined_error, root_sum_square


@dataclass(frozen=True)
class Judgement:
    """A field against a limit."""

    limit_t: float | None
    """The limit in flux density: as stated, or the level at the study's own frequency."""
    limit_name: str | None
    """Name of the reference level, None for a stated flux density."""
    within: bool | None
    exposure_index: float | None
    """Sum of B over its level, over the frequencies, of a reference level."""
    exposure_error: float | None


@dataclass(frozen=True)
class JudgedField:
    """Resultant rms of all frequencies [T], or the sum of field over reference level [-]."""

    solutions: tuple[Solution, ...]
    levels: tuple[float, ...] | None = None
    """Reference level at each frequency, of an exposure index. [T]"""

    def magnitudes(self, points: Floats) -> list[Floats]:
        """Resultant of each frequency at points (q, 2) [m], shape (q,) each. [T]"""
        return [resultant(s.solved.probe.flux_density(s.solved.nodal, points)) for s in self.solutions]

    def sampled(self, points: Floats) -> Floats:
        """`value` at many points (q, 2) [m] close together, within its error, shape (q,)."""
        fields = [s.solved.probe.flux_density_of_map(s.solved.nodal, points) for s in self.solutions]
        return self._whole([resultant(field) for field in fields])

    def magnitudes_and_errors(self, points: Floats) -> tuple[list[Floats], list[Floats]]:
        """The same with their error estimates, from the change of the vectors between the last two meshes."""
        magnitudes, errors = [], []
        for solution in self.solutions:
            now = solution.solved.probe.flux_density(solution.solved.nodal, points)
            magnitudes.append(resultant(now))
            errors.append(solution.estimate.of_field_at(points, now))
        return magnitudes, errors

    def value(self, points: Floats) -> Floats:
        """At points (q, 2) [m], shape (q,), in the unit of the field."""
        return self._whole(self.magnitudes(points))

    def _whole(self, magnitudes: list[Floats]) -> Floats:
        """The value from the resultants of the frequencies."""
        if self.levels is None:
            return root_sum_square(magnitudes)
        return np.asarray(sum(m / level for m, level in zip(magnitudes, self.levels, strict=True)))

    def value_and_error(self, points: Floats) -> tuple[Floats, Floats]:
        """The same with its error estimate."""
        magnitudes, errors = self.magnitudes_and_errors(points)
        if self.levels is None:
            return root_sum_square(magnitudes), combined_error(magnitudes, errors)
        value, error = (
            np.asarray(sum(one / level for one, level in zip(own, self.levels, strict=True)))
            for own in (magnitudes, errors)
        )
        return value, error

    def relative_error(self, points: Floats) -> Floats:
        """Error estimate over value at points (q, 2) [m], 0 where there is no field, shape (q,). [-]"""
        value, error = self.value_and_error(points)
        return np.asarray(error / np.where(value > 0, value, np.inf))


def field_against(limit: float | str, field: JudgedField) -> tuple[JudgedField, float]:
    """Field and limit in its unit: a flux density [T], or for a reference level of several frequencies the index 1."""
    if not isinstance(limit, str):
        return field, limit
    levels = tuple(reference_level(limit, solution.frequency).value_t for solution in field.solutions)
    return (field, levels[0]) if len(levels) == 1 else (replace(field, levels=levels), 1.0)
