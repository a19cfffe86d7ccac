"""Results of a route, as plain data."""

from __future__ import annotations

from dataclasses import dataclass

STUDY, LOAD = "the study's currents", "the load"
"""Currents that losses and fields of a run are given at."""


@dataclass(frozen=True)
class TranspositionResult:
    """The whole run in the study's own cross-section, with a number of transpositions at equal parts."""

    circuit: str
    transpositions: int
    at_m: tuple[float, ...]
    inequality: float
    """z_deviation of the phases with balanced currents (`formulas.unbalance`)."""
    inequality_error: float
    coupling: float
    """|Z21/Z11| of the run."""
    coupling_error: float
    v2_over_v1: float
    """At the load."""
    v2_over_v1_error: float
    formula_inequality: float
    """By line currents, without trays and other metal."""
    formula_v2_over_v1: float


@dataclass(frozen=True)
class DeliveredResult:
    """What arrives at the load of a circuit, for a balanced supply."""

    circuit: str
    load: str
    """What the load is, in words."""
    phase_drop_v: tuple[float, ...]
    """Fall of the voltage to neutral of L1, L2 and L3."""
    phase_drop_error_v: tuple[float, ...]
    line_voltage_v: tuple[float, ...]
    """L1-L2, L2-L3, L3-L1 at the load."""
    line_voltage_error_v: tuple[float, ...]
    relative_drop: float
    """Largest fall of a line voltage over that of the supply."""
    relative_drop_error: float
    v2_over_v1: float
    v2_over_v1_error: float
    v0_over_v1: float
    v0_over_v1_error: float
    nema_unbalance: float
    """Largest deviation of a line voltage from their mean, over the mean (NEMA MG 1)."""
    nema_unbalance_error: float
    i2_over_i1: float
    i2_over_i1_error: float
    """Zero where the load has given currents."""
    formula_relative_drop: float
    """By line currents, without trays and other metal, as the others of this name."""
    formula_v2_over_v1: float


@dataclass(frozen=True)
class RouteCircuitResult:
    """One circuit over the whole run, with the study's currents."""

    circuit: str
    drop_v: tuple[complex, ...]
    """Of L1, L2 and L3 along the run."""
    drop_error_v: tuple[float, ...]
    formula_drop_v: tuple[complex, ...]
    mean_drop_v: float
    """Of the magnitudes of drop_v."""
    phase_impedance_ohm: tuple[tuple[complex, ...], ...]
    """Rows and columns L1, L2, L3."""
    phase_impedance_error_ohm: float
    """Of all elements together, the root of the sum of squares."""
    z1_ohm: complex
    z1_error_ohm: float
    formula_z1_ohm: complex
    z21_over_z11: float
    z21_over_z11_error: float
    formula_z21_over_z11: float
    v2_over_v1: float | None
    """At the load, where the study states a supply."""
    v0_over_v1: float | None
    nema_unbalance: float | None
    delivered: DeliveredResult | None
    transpositions: tuple[TranspositionResult, ...]


@dataclass(frozen=True)
class RouteSectionResult:
    """A section of the run."""

    section: str
    start_m: float
    end_m: float
    phases: dict[str, tuple[str, ...]]
    """Labels of each circuit's cables there, in the order of their positions."""
    changes: tuple[str, ...]
    """What is another there than in the study's own cross-section."""
    loss_w_per_m: float
    """Of all conductors, layers and metal, with the currents of the run."""
    loss_error_w_per_m: float
    formula_loss_w_per_m: float
    """I2 R of conductors and layers of metal by closed forms, without trays and other metal."""
    load_loss_w_per_m: float | None
    """With the currents of the stated loads in place of the study's; None where none is stated, as the others of this
    name."""
    load_loss_error_w_per_m: float | None
    load_formula_loss_w_per_m: float | None


@dataclass(frozen=True)
class RouteFieldResult:
    """The field at a receptor beside one section."""

    receptor: str
    section: str
    start_m: float
    end_m: float
    x_m: float
    y_m: float
    b_rms_t: float
    """With the study's currents."""
    b_rms_error_t: float
    line_formula_b_rms_t: float
    load_b_rms_t: float | None
    """With the currents of the stated loads in place of the study's; None where none is stated."""
    load_b_rms_error_t: float | None
    load_line_formula_b_rms_t: float | None
    limit_t: float | None
    """As stated, or the reference level at the frequency of the run."""
    within_limit: bool | None
    """Of the larger of the two fields."""
    judged_at: str
    """The currents that make the larger field: STUDY or LOAD."""

    @property
    def judged_b_rms_t(self) -> float:
        """The larger field."""
        return self.b_rms_t if self.load_b_rms_t is None else max(self.b_rms_t, self.load_b_rms_t)


@dataclass(frozen=True)
class RouteWorstResult:
    """Where along the run the field at a receptor is highest."""

    receptor: str
    section: str
    start_m: float
    end_m: float
    b_rms_t: float
    b_rms_error_t: float


@dataclass(frozen=True)
class RouteLineResult:
    """A conductor, a layer of metal or bonded metal along the whole run."""

    line: str
    circuit: str
    """Empty for metal without a cable."""
    phase: str
    layer: str
    current_a: complex
    current_error_a: float
    current_section: str
    """The section with this current, the largest along the run; empty for a line with one current from end to end."""
    formula_current_a: complex | None
    """By line currents and thin tubes; None for metal without a cable."""
    of_equal_share: float | None
    """Of a parallel cable: its current over an equal share of its phase's."""
    of_equal_share_error: float | None
    largest_voltage_v: float | None
    """Of a layer of metal: largest along the run, against the place where it is earthed or where the run begins."""
    largest_voltage_error_v: float | None
    formula_largest_voltage_v: float | None
    at_m: float | None
    """Where it is largest."""


@dataclass(frozen=True)
class RouteResult:
    """The run."""

    length_m: float
    sections: tuple[RouteSectionResult, ...]
    circuits: tuple[RouteCircuitResult, ...]
    lines: tuple[RouteLineResult, ...]
    fields: tuple[RouteFieldResult, ...]
    worst_sections: tuple[RouteWorstResult, ...]
    loss_w: float
    """Of the whole run with the study's currents, without the impedances by which bonds close."""
    loss_error_w: float
    formula_loss_w: float
    load_loss_w: float | None
    """With the currents of the stated loads in place of the study's; None where none is stated."""
    load_loss_error_w: float | None
    load_formula_loss_w: float | None
    load_words: str
    """The stated loads in words; empty where there is none."""
