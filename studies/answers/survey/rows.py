"""A survey as plain data; the names are the keys of results.json."""

from __future__ import annotations

from dataclasses import dataclass

UNLIKELY = 0.05
"""Below this probability of chi-square the readings do not agree. [P] [-]"""


@dataclass(frozen=True)
class SurveyReading:
    """One reading beside the computed field at the load of the time."""

    name: str
    x_m: float
    y_m: float
    axis: str
    """resultant, x or y."""
    load: float
    measured_t: float
    uncertainty_t: float
    """Standard uncertainty of the reading."""
    b_rms_t: float
    """Computed as drawn."""
    b_rms_error_t: float
    line_formula_b_rms_t: float
    deviation: float
    """Computed as drawn less measured, over the standard uncertainty."""
    fitted_b_rms_t: float | None
    fitted_deviation: float | None


@dataclass(frozen=True)
class FittedCircuit:
    """Load and residual current of a circuit, with standard uncertainties; None if the readings leave one open."""

    circuit: str
    load_factor: float
    load_factor_uncertainty: float | None
    residual_a: float | None
    residual_uncertainty_a: float | None
    angle_deg: float | None
    """Of the residual current, ahead of the circuit's first phase."""
    angle_uncertainty_deg: float | None


@dataclass(frozen=True)
class FittedPermeability:
    """Relative permeability of a part that explains the readings together with loads and residual currents."""

    part: str
    relative_permeability_stated: float
    """In the study."""
    relative_permeability: float
    relative_permeability_uncertainty: float | None
    """Standard, with what the loads and residual currents leave open; None if the readings leave it open."""
    relative_permeability_lowest: float
    """Two standard uncertainties below on a logarithmic scale, or the end of the stated range."""
    relative_permeability_highest: float
    is_determined: bool
    """Whether these two lie within the stated range."""


@dataclass(frozen=True)
class SurveyFit:
    """One minimum of chi-square."""

    chi_square: float
    probability: float | None
    """Of a larger chi-square by chance, if the model is right; None without a degree of freedom."""
    circuits: tuple[FittedCircuit, ...]
    permeability: FittedPermeability | None = None


@dataclass(frozen=True)
class NextReading:
    """The reading that tells most."""

    x_m: float
    y_m: float
    axis: str
    expected_t: float
    """By the best fit."""
    other_t: float | None
    """By the fit that it is to be told from; None if there is one fit alone."""


@dataclass(frozen=True)
class SurveyResult:
    """A survey held against the study."""

    file: str
    readings: tuple[SurveyReading, ...]
    chi_square: float
    """As drawn."""
    probability: float
    """Of a larger chi-square by chance, if the study is right as drawn."""
    degrees_of_freedom: int
    """Of the fit: readings less fitted numbers; below 1, nothing is fitted."""
    fits: tuple[SurveyFit, ...]
    """The best first; then every other minimum that the readings cannot tell from it."""
    next_reading: NextReading | None

    @property
    def agrees(self) -> bool:
        """Whether the readings agree with the study as drawn."""
        return self.probability >= UNLIKELY
