"""The table of the receptors, for page, terminal and notebook."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.verdicts import margin, tone, verdict
from studies.answers.reservations.words import only_as_drawn
from studies.answers.result_units import result_units
from studies.section.cross_section import parallel_conductors
from studies.text.numbers import DIFFERENCE
from studies.text.table import Column, Table, difference_column
from studies.text.units import FLUX_DENSITY, METRE, NUMBER, PER_CENT

NOTE = (
    "Resultant: square root of |Bx|² + |By|², rms. Major axis: rms along the longest axis of the field's ellipse; it "
    "equals the resultant only where the field does not rotate, and the ± of the resultant holds for it too. "
    "Line formula: line currents at the conductors' axes, "
    f"no tray and no screens, parallel cables sharing equally. Difference, of the formula before it: {DIFFERENCE}. "
    "Margin: what is left to the limit after field and error, over the limit. The limit is held against the "
    "resultant; of a reference level, which is given at the first frequency of the tables, the exposure index is what "
    "counts where there are several frequencies."
)
SHARES = (
    " Closed-form shares: the line formula with the currents that the impedance matrix of line currents gives parallel "
    "cables. Between the two formulas lies what unequal sharing does; what the second is still off is shielding, "
    "proximity, and what the metal does to the sharing."
)


def receptor_table(result: Answers) -> Table[ReceptorResult]:
    """The field at each receptor beside its formulas and its limit."""
    parallel, doubted = bool(parallel_conductors(result.cross_section)), only_as_drawn(result)
    shares: tuple[Column[ReceptorResult], ...] = (
        Column("Closed-form shares", lambda r: r.line_formula_shared_b_rms_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_shared_b_rms_t, lambda r: r.b_rms_t, brief=True),
    )
    columns: tuple[Column[ReceptorResult], ...] = (
        Column("Receptor", lambda r: r.name, brief=True),
        Column("x", lambda r: r.x_m, METRE, digits=3),
        Column("y", lambda r: r.y_m, METRE, digits=3),
        Column(
            "Resultant", lambda r: r.b_rms_t, FLUX_DENSITY, error=lambda r: r.b_rms_error_t, missed=missed, brief=True
        ),
        Column("Major axis", lambda r: r.b_major_axis_rms_t, FLUX_DENSITY),
        Column("Line formula", lambda r: r.line_formula_b_rms_t, FLUX_DENSITY, brief=True),
        difference_column(lambda r: r.line_formula_b_rms_t, lambda r: r.b_rms_t, brief=True),
        *(shares if parallel else ()),
        Column("Limit", lambda r: r.limit_t, FLUX_DENSITY, stated=True, brief=True),
        Column("Level", lambda r: r.limit_name, brief=True, optional=True),
        Column("Index", index, NUMBER, digits=3, brief=True, optional=True),
        Column("Margin", margin, PER_CENT, signed=True),
        Column("Verdict", lambda r: verdict(r, r.name in doubted), tone=tone, brief=True),
    )
    note = NOTE + (SHARES if parallel else "")
    return Table("Flux density at the receptors, rms", columns, result.receptors, note, units=result_units(result))


def missed(receptor: ReceptorResult) -> bool:
    """Whether the error estimate is above what was asked."""
    return not receptor.within_tolerance


def index(receptor: ReceptorResult) -> float | None:
    """The exposure index where there are several frequencies; of one it is the field over the limit. [-]"""
    return receptor.exposure_index if len(receptor.spectrum) > 1 else None
