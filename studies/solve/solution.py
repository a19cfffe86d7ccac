"""The solution of one frequency, with the formulas at that frequency."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from fem.arrays import Floats
from studies.closed_forms.lines import LineModel, shared_model
from studies.closed_forms.losses import closed_form_loss
from studies.closed_forms.validity import ClosedForm
from studies.section.parts import CrossSection, StudyPart
from studies.solve.accuracy import Estimate, Solved
from studies.solve.levels import AccuracyResult


@dataclass(frozen=True)
class Solution:
    """One frequency of a study."""

    section: CrossSection
    """With the currents of this frequency."""
    solved: Solved
    estimate: Estimate
    accuracy: AccuracyResult
    model: LineModel
    _loss_formulas: dict[str, ClosedForm | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def frequency(self) -> float:
        """[Hz]"""
        return self.section.frequency

    def loss_formula(self, part: StudyPart) -> ClosedForm | None:
        """The closed form of the loss of a part of its section, computed once; None if there is none."""
        if part.name not in self._loss_formulas:
            self._loss_formulas[part.name] = closed_form_loss(self.section, self.model, part)
        return self._loss_formulas[part.name]

    def shared_model(self) -> LineModel:
        """The line currents, with closed-form shares of parallel cables."""
        return shared_model(self.section, self.model, self.solved.fields.return_radius)


def root_sum_square(values: list[Floats]) -> Floats:
    """Rms magnitude of a quantity with several frequencies, from its magnitude at each, shape as each."""
    return np.asarray(np.sqrt(sum(np.square(value) for value in values)), dtype=np.float64)


def combined_error(values: list[Floats], errors: list[Floats]) -> Floats:
    """Error estimate of a root sum square: sum B e / B, as if all errors had the same sign."""
    total = root_sum_square(values)
    products = np.asarray(sum(value * error for value, error in zip(values, errors, strict=True)))
    worst = root_sum_square(errors)
    return np.asarray(np.where(total > 0, products / np.where(total > 0, total, 1.0), worst), dtype=np.float64)


def at_frequency(solutions: tuple[Solution, ...], frequency: float) -> Solution:
    """The solution of a frequency [Hz]."""
    return next(solution for solution in solutions if math.isclose(solution.frequency, frequency, rel_tol=1e-9))
