"""Exposure to fields of several frequencies: each field over its reference level, summed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from studies.data.reference_levels import Level, reference_level

RULE = (
    "sum of field over reference level, frequency by frequency (ICNIRP 2010, simultaneous exposure to fields of "
    "several frequencies, p. 829 [seen]); phases are ignored, so that the sum is on the safe side"
)
ORIENTATION = "root of the sum of squares of the same ratios, for orientation only: no rule asks for it"


@dataclass(frozen=True)
class ExposureTerm:
    """Field of one frequency over its level."""

    frequency_hz: float
    b_rms_t: float
    b_rms_error_t: float
    level: Level
    ratio: float
    """Field over level. [-]"""
    ratio_error: float
    """[-]"""


@dataclass(frozen=True)
class ExposureIndex:
    """Exposure to all frequencies together; 1 is what the levels allow."""

    set_name: str
    index: float
    """Sum of the ratios. [-]"""
    error: float
    """Estimate of its numerical error, as if all errors pointed the same way. [-]"""
    root_sum_square: float
    """Root of the sum of squares of the ratios, for orientation only. [-]"""
    root_sum_square_error: float
    """[-]"""
    terms: tuple[ExposureTerm, ...]

    @property
    def over(self) -> bool:
        """Whether the index and its error estimate together exceed 1."""
        return self.index + self.error > 1


def exposure_index(spectrum: Sequence[tuple[float, float, float]], set_name: str) -> ExposureIndex:
    """Exposure index of the field at a point against a named set of levels.

    spectrum: Each frequency [Hz] with the resultant rms flux density, 0 or above, and the estimate of its error. [T]
    set_name: Key of `studies.data.reference_levels.LEVEL_SETS`.

    sum_j B_j/B_level(f_j) in rms values. The reference levels of ICNIRP are combined in this way below 10 MHz (ICNIRP
    2010, Health Physics 99(6), p. 829 [C]); for any other set the sum applies the same rule. A frequency that the set
    does not cover raises ValueError, for leaving it out would make the index too small.
    """
    if not spectrum:
        raise ValueError("spectrum is empty: an exposure needs the field of one frequency at least")
    terms = tuple(_term(*component, set_name) for component in spectrum)
    squares = math.sqrt(sum(term.ratio**2 for term in terms))
    products = sum(term.ratio * term.ratio_error for term in terms)
    return ExposureIndex(
        set_name=set_name,
        index=sum(term.ratio for term in terms),
        error=sum(term.ratio_error for term in terms),
        root_sum_square=squares,
        root_sum_square_error=products / squares if squares > 0 else math.hypot(*(t.ratio_error for t in terms)),
        terms=terms,
    )


def _term(frequency: float, b_rms: float, error: float, set_name: str) -> ExposureTerm:
    for name, value in (("field", b_rms), ("error of the field", error)):
        if not (math.isfinite(value) and value >= 0):
            raise ValueError(f"{name} at {frequency:g} Hz must be finite and 0 or above: {value!r}")
    level = reference_level(set_name, frequency)
    return ExposureTerm(frequency, b_rms, error, level, b_rms / level.value_t, error / level.value_t)
