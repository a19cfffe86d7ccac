"""Outcomes of checks as tables for a terminal and a Markdown record, and as plain data; all hold the same numbers."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import TypeVar

from studies.data.reference_levels import LEVEL_SETS
from studies.formulas.formula import all_formulas
from studies.text.markdown import as_markdown, escaped
from studies.text.marks import NAMED, words_of_mark
from studies.text.numbers import plain, stated_number
from studies.text.table import Column, Table
from studies.text.terminal import as_text, filled
from studies.text.units import (
    FLUX_DENSITY,
    KILOWATT_HOUR_PER_METRE,
    LOSS_PER_LENGTH,
    MILLIHENRY_PER_KM,
    NUMBER,
    OHM_PER_KM,
    PER_CENT,
    VOLT_PER_KM,
    Family,
    Unit,
    common_unit,
)
from studies.verify.checks import Basis, Checked, CheckOutcome, CheckRow, Method, Plausibility, ReferenceMark, failures

SCHEMA = 2
MARKDOWN = "verification.md"
"""File of the record beside verification.json."""
UNITS: Mapping[str, Unit | Family] = {
    "T": FLUX_DENSITY,
    "W/m": LOSS_PER_LENGTH,
    "V/m": VOLT_PER_KM,
    "J/m": KILOWATT_HOUR_PER_METRE,
    "V/A/m": Unit("V/(A km)", 1e-3),
    "ohm/m": OHM_PER_KM,
    "H/m": MILLIHENRY_PER_KM,
}
"""Units in which numbers are shown, by their SI unit; others are shown as the source prints them."""
DIGITS: Mapping[type, int] = {Checked: 7, Plausibility: 4}
"""Significant digits of a number that is shown; trailing zeros are left out."""
PLAUSIBILITY = "Plausibility: ranges of installation tables that hold for no exact geometry; no test of precision"
METHODS = {
    Method.ELEMENTS: "by finite elements",
    Method.SERIES: "by the multipole series, without a mesh",
    Method.FORMULA: "by a closed form",
    Method.STUDY: "by a study file run as a user runs it",
}
KINDS = (
    "published = digits of a published text, or its formula evaluated for this case; own method = an exact solution, "
    "an identity or a second method of this project; range = the range that practice expects, no test of precision"
)
MARKS = (
    "[number, reference]: the number is confirmed in a public text, recomputed by this project from the laws of the "
    "field, or quoted without either; the reference was seen, itself or in a public text that quotes or lists it, or "
    "is named but was not read"
)
TO_CHECK = "References to check before a signature rests on them: named, but not read"
DEVIATION = (
    "computed / published − 1 (voltages of the study and entries of impedance matrices: computed less "
    "published over their magnitude; a published 0 and phase impedances over w mu0/2 pi: computed less published)"
)
LEGEND = (f"Kind: {KINDS}.", f"Source: {MARKS}.", f"Deviation: {DEVIATION}.")


def terminal_text(outcomes: Sequence[CheckOutcome]) -> str:
    """All outcomes as tables for a terminal."""
    compared, plausible = _tables(outcomes)
    blocks = [as_text(table) for table in compared]
    if plausible:
        blocks += [filled(PLAUSIBILITY), *map(as_text, plausible)]
    return "\n\n".join([*blocks, "\n".join(map(filled, LEGEND)), verdict_of_checks(outcomes)])


def verdict_of_checks(outcomes: Sequence[CheckOutcome]) -> str:
    """One sentence, and the numbers that lie outside their tolerance or band."""
    comparisons = [result for outcome in outcomes for result in outcome.comparisons]
    ranges = [result for outcome in outcomes for result in outcome.plausibilities]
    parts = []
    if comparisons:
        within = sum(result.passed for result in comparisons)
        kinds = [f"{sum(r.kind is kind for r in comparisons)} {kind}" for kind in (Basis.PUBLISHED, Basis.OWN)]
        parts.append(f"{within} of {len(comparisons)} numbers within their tolerance ({', '.join(kinds)})")
    if ranges:
        inside = sum(result.passed for result in ranges)
        parts.append(f"{inside} of {len(ranges)} inside their plausible band")
    lines = [f"{len(outcomes)} checks: {', '.join(parts)}."]
    return "\n".join([*lines, *(f"FAILED  {name}" for name in failures(outcomes))])


def markdown(outcomes: Sequence[CheckOutcome], software: Mapping[str, str]) -> str:
    """All outcomes as a Markdown document with the reason of every tolerance and every source in full."""
    compared, plausible = _tables(outcomes)
    parts = ["# Verification", verdict_of_checks(outcomes).replace("\n", "  \n"), "## Checks"]
    parts += [as_markdown(table).rstrip() for table in compared]
    if plausible:
        parts += [f"## {PLAUSIBILITY}", *(as_markdown(table).rstrip() for table in plausible)]
    return "\n\n".join([*parts, *record_lists(outcomes, software)]) + "\n"


def record_lists(outcomes: Sequence[CheckOutcome], software: Mapping[str, str]) -> list[str]:
    """How to read the tables, sources in full, references to check, versions: headings and lists in Markdown."""
    sources = dict.fromkeys(result.source for outcome in outcomes for result in outcome.results)
    lists = {
        "How to read the tables": LEGEND,
        "Sources": [f"{source}: {source.reference}" for source in sources],
        TO_CHECK: _to_check(outcomes),
        "Software": [f"{name} {version}" for name, version in software.items()],
    }
    parts: list[str] = []
    for title, entries in lists.items():
        parts += [f"## {title}", "\n".join(f"- {escaped(entry)}" for entry in entries)]
    return parts


def verification_document(outcomes: Sequence[CheckOutcome], software: Mapping[str, str]) -> dict[str, object]:
    """All outcomes as plain data; the numbers of an entry are in its "unit", differences and tolerances relative."""
    return {
        "schema": SCHEMA,
        "software": dict(software),
        "passed": all(outcome.passed for outcome in outcomes),
        "checks": [outcome.check.name for outcome in outcomes],
        "comparisons": [_plain_row(outcome, row) for outcome in outcomes for row in outcome.comparisons],
        "plausibility": [_plain_row(outcome, row) for outcome in outcomes for row in outcome.plausibilities],
        "to_check": _to_check(outcomes),
        "files": [MARKDOWN],
    }


def verification_json(outcomes: Sequence[CheckOutcome], software: Mapping[str, str]) -> str:
    """The same as the text of a JSON file."""
    document = verification_document(outcomes, software)
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _plain_row(outcome: CheckOutcome, result: Checked | Plausibility) -> dict[str, object]:
    source = result.source
    judged: dict[str, object]
    if isinstance(result, Checked):
        judged = {"difference": _finite(result.difference), "tolerance": result.tolerance}
        judged["tolerance_reason"] = result.reason
    else:
        judged = {"low": result.low, "high": result.high, "band_reason": result.reason}
    return {
        "check": outcome.check.name,
        "title": outcome.check.title,
        "quantity": result.quantity,
        "unit": result.unit,
        "method": result.method.value,
        "source": source.short,
        "reference": source.reference,
        "kind": result.kind.value,
        "number": source.number.value,
        "reference_known": source.known.value,
        "published": result.published,
        "computed": _finite(result.computed),
        **judged,
        "passed": result.passed,
    }


def _to_check(outcomes: Sequence[CheckOutcome]) -> list[str]:
    """What to compare with each reference that was not read: of these checks, and of the formulas of studies."""
    sources = dict.fromkeys(result.source for outcome in outcomes for result in outcome.results)
    of_checks = [f"{s.reference}: {s.to_check}" for s in sources if s.known is ReferenceMark.NAMED]
    behind: dict[str, list[str]] = {}
    for formula in all_formulas().values():
        if NAMED in formula.source:
            behind.setdefault(words_of_mark(formula.source), []).append(formula.quantity)
    of_formulas = [f"{source}: form and range for {'; '.join(dict.fromkeys(of))}" for source, of in behind.items()]
    of_levels = [
        f"levels of {levels.name}: {levels.source}"
        for levels in LEVEL_SETS.values()
        if any(f"[{piece.mark}]" == NAMED for piece in levels.pieces)
    ]
    return [*of_checks, *of_formulas, *of_levels]


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _tables(outcomes: Sequence[CheckOutcome]) -> tuple[list[Table[Checked]], list[Table[Plausibility]]]:
    """Tables of the numbers of each check by each method: those held to a tolerance, and those held to a band."""
    compared, plausible = [], []
    for outcome in outcomes:
        for method, words in METHODS.items():
            title = f"{outcome.check.name}: {outcome.check.title}, {words}"
            if held := [result for result in outcome.comparisons if result.method is method]:
                note = _reasons(held)
                compared.append(Table(title, COMPARED, held, note, brief_note=f"{note} {_sources(held)}"))
            if ranged := [result for result in outcome.plausibilities if result.method is method]:
                note = " ".join(dict.fromkeys(f"Band: {result.reason}." for result in ranged))
                plausible.append(Table(title, PLAUSIBLE, ranged, note, brief_note=f"{note} {_sources(ranged)}"))
    return compared, plausible


def _sources(results: Sequence[CheckRow]) -> str:
    """The sources of some numbers with their kinds."""
    sources = dict.fromkeys(f"{result.source}, {result.kind.value}" for result in results)
    return f"{'Source' if len(sources) == 1 else 'Sources'}: {'; '.join(sources)}."


def _reasons(comparisons: Sequence[Checked]) -> str:
    """Each reason with the tolerance or the range of tolerances that it gives."""
    by_reason: dict[str, list[float]] = {}
    for comparison in comparisons:
        by_reason.setdefault(comparison.reason, []).append(comparison.tolerance)
    ends = {why: dict.fromkeys(map(shown_per_cent, (min(own), max(own)))) for why, own in by_reason.items()}
    return " ".join(f"Tolerance {' to '.join(texts)} %: {why}." for why, texts in ends.items())


def shown_unit(result: CheckRow) -> Unit:
    """The unit in which the numbers of a row are shown."""
    unit = UNITS.get(result.unit) or Unit("–" if result.unit == "-" else result.unit.replace("ohm", "Ω"), 1.0)
    return unit if isinstance(unit, Unit) else common_unit((result.published, result.computed), unit)


def shown_number(result: CheckRow, value: float) -> str:
    """A number of a row in its unit, with the digits of its kind."""
    return stated_number(value, shown_unit(result), DIGITS[type(result)])


def shown_per_cent(value: float, signed: bool = False) -> str:
    """A ratio in per cent with two digits, without the sign of per cent."""
    return f"{'+' if signed and value > 0 else ''}{plain(100 * value, 2)}"


Held = TypeVar("Held", Checked, Plausibility)


def _columns(judged: Sequence[Column[Held]], passed: str, missed: str) -> tuple[Column[Held], ...]:
    """The columns of all numbers, with those that say how they are judged, and the verdict in words."""
    quantity: Column[Held] = Column("Quantity", lambda r: r.quantity, brief=True)
    verdict: Column[Held] = Column(
        "Verdict", lambda r: passed if r.passed else missed, tone=lambda r: "" if r.passed else "bad", brief=True
    )
    columns: list[Column[Held]] = [
        quantity,
        Column("Kind", lambda r: r.kind.value),
        Column("Source", lambda r: str(r.source)),
        Column("Published", lambda r: shown_number(r, r.published), NUMBER, brief=True),
        Column("Computed", lambda r: shown_number(r, r.computed), NUMBER, brief=True),
        Column("Unit", lambda r: shown_unit(r).symbol, brief=True),
    ]
    columns.extend(judged)
    columns.append(verdict)
    return tuple(columns)


COMPARED: tuple[Column[Checked], ...] = _columns(
    (
        Column("Deviation", lambda r: shown_per_cent(r.difference, signed=True), PER_CENT, brief=True),
        Column("Tolerance", lambda r: shown_per_cent(r.tolerance), PER_CENT),
    ),
    *("pass", "FAIL"),
)
PLAUSIBLE: tuple[Column[Plausibility], ...] = _columns(
    (Column("Band", lambda r: f"{shown_number(r, r.low)} to {shown_number(r, r.high)}", NUMBER, brief=True),),
    *("inside", "OUTSIDE"),
)
