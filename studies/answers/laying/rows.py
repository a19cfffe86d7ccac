"""Laying tolerance as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """What was spread, and how far."""

    input: str
    """Key of the study file."""
    value_in_unit: float
    unit: str
    """m, rad or K; empty for a ratio."""


@dataclass(frozen=True)
class VarianceShare:
    """How much of the variance of a number one input makes."""

    input: str
    variance_ratio: float
    """Variance with this input spread alone, over that with all of them."""


@dataclass(frozen=True)
class ToleratedField:
    """The field at a receptor, or the highest in a zone, over all layings."""

    kind: str
    """receptor or zone."""
    place: str
    b_rms_t: float
    """As drawn: the study's own number."""
    b_rms_error_t: float
    median_b_rms_t: float
    p95_b_rms_t: float
    """95 of 100 layings are at or below it."""
    p95_b_rms_error_t: float
    """Numerical error, lot of the samples, and largest difference of the layings that were solved again."""
    worst_b_rms_t: float
    """Highest of the samples."""
    limit_t: float | None
    limit_name: str | None
    within_limit: bool | None
    """As drawn."""
    p95_within_limit: bool | None
    """Whether the 95th percentile and its error stay at or under the limit."""
    largest_difference: float
    """Of the layings that were solved again, from the same ones by reciprocity, over the nominal field."""
    rms_difference: float
    variance: tuple[VarianceShare, ...]
    histogram_b_rms_t: tuple[float, ...]
    """Edges of the histogram."""
    histogram_count: tuple[int, ...]


@dataclass(frozen=True)
class ToleratedShare:
    """The current of a parallel cable over an equal share of its phase, over all layings."""

    part: str
    phase: str
    share: float
    """As drawn."""
    median_share: float
    p95_share: float
    worst_share: float
    largest_difference: float
    variance: tuple[VarianceShare, ...]


@dataclass(frozen=True)
class ToleratedLoss:
    """The loss of all parts of a kind, by the layings that were meshed and solved again."""

    kind: str
    loss_w_per_m: float
    """As drawn: the study's own number, over all frequencies."""
    median_loss_w_per_m: float
    p95_loss_w_per_m: float
    worst_loss_w_per_m: float


@dataclass(frozen=True)
class LayingResult:
    """Fields, shares and losses of the run as it may be installed."""

    spreads: tuple[Spread, ...]
    distribution: str
    held: str
    """singly: each cable moves by itself; cleats: those of a trefoil together."""
    residual: str
    """section: scattered currents have the sum that the study states; far: what is left over returns far away."""
    seed: int
    samples: int
    solves: int
    """Layings that were meshed and solved again."""
    unsolved: int
    """Layings of these that could not be solved."""
    saturating: bool
    """Whether steel saturates: sampled with the permeability as drawn, solved again with its own."""
    fields: tuple[ToleratedField, ...]
    shares: tuple[ToleratedShare, ...]
    losses: tuple[ToleratedLoss, ...]
