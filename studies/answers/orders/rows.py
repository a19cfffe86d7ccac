"""Phase orders as plain data; the names of the fields are the keys of results.json, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class OrderResult:
    """A phase order and what one solution, that of the study's own order, says of it."""

    phases: dict[str, tuple[str, ...]]
    """Labels of each circuit's cables, in the order of their positions."""
    value: float
    """Of the objective; smaller is better."""
    receptor_b_rms_t: tuple[float, ...]
    zone_b_max_rms_t: tuple[float, ...]
    """Highest of the samples of each zone."""
    worst_over_limit: float | None
    """Largest field that counts over its limit (over its value as stated if there is no limit)."""
    worst_at: str | None
    """Receptor or zone where that is."""
    largest_share: float
    """Largest current of a conductor over an equal share of its phase's."""
    inequality: float
    """Largest x_spread of the circuits (`formulas.unbalance`)."""


@dataclass(frozen=True)
class SolvedOrder:
    """A phase order solved in full: with its own saturation, its own zone search, and estimates of the errors."""

    value: float
    value_error: float
    receptor_b_rms_t: tuple[float, ...]
    receptor_b_rms_error_t: tuple[float, ...]
    zone_b_max_rms_t: tuple[float, ...]
    zone_b_max_rms_error_t: tuple[float, ...]
    worst_over_limit: float | None
    worst_over_limit_error: float | None
    worst_at: str | None
    within_limits: bool | None
    """Whether the fields that count, with net currents and errors, are at or under their limits; None without any."""
    largest_share: float
    largest_share_error: float
    inequality: float
    inequality_error: float
    unknowns: int
    within_tolerance: bool
    """Whether its numbers were refined to the asked accuracy."""


@dataclass(frozen=True)
class LaidOrder:
    """A phase order over all layings of the study's laying tolerance, from one solution."""

    order: str
    """as stated, or no. 1, ..."""
    b_rms_t: tuple[float, ...]
    """As drawn at each receptor, then the highest of each zone."""
    p95_b_rms_t: tuple[float, ...]
    worst_at: str | None
    """Where the 95th percentile is highest over its limit (over its value as stated if there is no limit)."""
    worst_over_limit: float | None
    """There, as drawn."""
    p95_worst_over_limit: float | None
    largest_share: float
    p95_largest_share: float
    """Of the largest share of each laying."""
    parts: tuple[str, ...]
    """Conductors that the shares are of."""
    shares: tuple[float, ...]
    """Current over an equal share of its phase, as drawn."""
    p95_shares: tuple[float, ...]


@dataclass(frozen=True)
class OrderSearchResult:
    """The best phase orders, at the study's own frequency."""

    objective: str
    receptors: tuple[str, ...]
    """Names of all receptors, in the order of the fields."""
    zones: tuple[str, ...]
    counted: tuple[str, ...]
    """Receptors and zones that count in the objective and in the worst field."""
    samples: int
    """Points at which the field of an order is judged."""
    fixed: tuple[str, ...]
    """Circuits whose order was left as it is."""
    tried: int
    possible: int
    """Orders there are; those that are the same by symmetry count once."""
    symmetric: int
    """Orders that count as one."""
    proved: bool
    """Whether all were tried, so that none is better."""
    exchanges: int
    """Exchanges of two labels, one after the other, that do not improve the best order where not all were tried."""
    least_value: float
    """A value of the objective that no order is below: the best one's where all were tried."""
    saturating: bool
    """Whether steel saturates: an order is judged with the permeability that the study's own order leaves."""
    today: OrderResult
    best: tuple[OrderResult, ...]
    today_solved: SolvedOrder
    best_solved: SolvedOrder
    """Of the best order alone."""
    largest_difference: float
    """Largest relative difference of the judged fields of the best order from its full solve's."""
    field_at_most: float | None = None
    """What the worst field over its limit had to keep."""
    share_at_most: float | None = None
    """What the largest share had to keep."""
    laid: tuple[LaidOrder, ...] = ()
    """The stated order and the best ones over all layings, if the study has a laying tolerance; the best are then
    ranked by 95th percentiles."""
