"""Outcomes as text for a terminal, as Markdown and as plain data; all three hold the same numbers."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence

from studies.data.reference_levels import LEVEL_SETS
from studies.formulas.formula import all_formulas
from studies.text.engineering import common_unit
from studies.text.marks import NAMED, in_words
from studies.verify.checks import Comparison, Kind, Outcome, Plausibility, Reference, Source
from studies.verify.run import failures

SCHEMA = 2
PREFIXED = ("T", "W/m", "V/m", "V/A/m", "ohm/m", "H/m")
"""Units that are shown with a prefix."""
HEAD = ("quantity", "by", "kind", "source", "published", "computed", "unit", "difference", "tolerance", "")
PLAUSIBILITY_HEAD = ("quantity", "by", "kind", "source", "published", "computed", "unit", "band", "")
RIGHT = frozenset({"published", "computed", "difference", "tolerance"})
"""Columns of numbers."""
PLAUSIBILITY = "Plausibility: ranges of installation tables that hold for no exact geometry; no test of precision"
METHODS = (
    "elements = finite elements, series = multipole series without a mesh, formula = closed form, "
    "study = a study file run as a user runs it"
)
KINDS = (
    "published = digits of a published text, or its formula evaluated for this case; own method = an exact solution, "
    "an identity or a second method of this project; range = where practice expects the number, no test of precision"
)
MARKS = (
    "[number, reference]: the number is confirmed in a public text, recomputed by this project from the laws of the "
    "field, or quoted without either; the reference was seen, itself or in a public text that quotes or lists it, or "
    "is named without being at hand"
)
TO_CHECK = "To check before a signature rests on it: references that are named and were not at hand"
DIFFERENCE = (
    "computed less published, relative to the published value (voltages of the study and entries of "
    "impedance matrices: to their magnitude; a published "
    "0 and phase impedances over w mu0/2 pi: as they stand)"
)
LEGEND = (f"by: {METHODS}", f"kind: {KINDS}", f"source: {MARKS}", f"difference: {DIFFERENCE}")


def terminal_text(outcomes: Sequence[Outcome]) -> str:
    """All outcomes as tables for a terminal."""
    blocks = []
    compared = [outcome for outcome in outcomes if outcome.comparisons]
    if compared:
        blocks.append(_aligned(HEAD, [(_title(o), [_row(c) for c in o.comparisons]) for o in compared]))
    plausible = [outcome for outcome in outcomes if outcome.plausibilities]
    if plausible:
        rows = [(_title(o), [_plausibility_row(p) for p in o.plausibilities]) for o in plausible]
        blocks.append(f"{PLAUSIBILITY}\n\n{_aligned(PLAUSIBILITY_HEAD, rows)}")
        bands = dict.fromkeys(p.reason for o in plausible for p in o.plausibilities)
        blocks.append("\n".join(f"band: {reason}" for reason in bands))
    blocks.append("\n".join(LEGEND))
    blocks.append(verdict(outcomes))
    return "\n\n".join(blocks)


def verdict(outcomes: Sequence[Outcome]) -> str:
    """One sentence, and the numbers that lie where they must not."""
    comparisons = [result for outcome in outcomes for result in outcome.comparisons]
    ranges = [result for outcome in outcomes for result in outcome.plausibilities]
    parts = []
    if comparisons:
        within = sum(result.passed for result in comparisons)
        kinds = [f"{sum(r.kind is kind for r in comparisons)} {kind}" for kind in (Kind.PUBLISHED, Kind.OWN)]
        parts.append(f"{within} of {len(comparisons)} numbers within their tolerance ({', '.join(kinds)})")
    if ranges:
        inside = sum(result.passed for result in ranges)
        parts.append(f"{inside} of {len(ranges)} inside their plausible band")
    lines = [f"{len(outcomes)} checks: {', '.join(parts)}."]
    lines += [f"FAILED  {name}" for name in failures(outcomes)]
    return "\n".join(lines)


def markdown(outcomes: Sequence[Outcome], software: Mapping[str, str]) -> str:
    """All outcomes as a Markdown document with the reason of every tolerance and every source in full."""
    lines = ["# Verification", "", verdict(outcomes).replace("\n", "  \n"), "", "## Checks"]
    for outcome in outcomes:
        if outcome.comparisons:
            lines += ["", f"### {_title(outcome)}", ""]
            lines += _markdown_table((*HEAD[:-1], "verdict"), [_row(c) for c in outcome.comparisons])
            lines += ["", *_reasons(outcome.comparisons)]
    if any(outcome.plausibilities for outcome in outcomes):
        lines += ["", f"## {PLAUSIBILITY}"]
    for outcome in outcomes:
        if outcome.plausibilities:
            lines += ["", f"### {_title(outcome)}", ""]
            rows = [_plausibility_row(p) for p in outcome.plausibilities]
            lines += _markdown_table((*PLAUSIBILITY_HEAD[:-1], "verdict"), rows)
            lines += ["", *dict.fromkeys(f"- band: {p.reason}" for p in outcome.plausibilities)]
    lines += ["", "## How to read the tables", "", *(f"- {entry}" for entry in LEGEND), "", "## Sources", ""]
    sources = dict.fromkeys(result.source for outcome in outcomes for result in outcome.results)
    lines += [f"- {_escaped(str(source))}: {_escaped(source.reference)}" for source in sources]
    lines += ["", f"## {TO_CHECK}", "", *(f"- {_escaped(entry)}" for entry in _to_check(outcomes))]
    lines += ["", "## Software", "", *(f"- {name} {version}" for name, version in software.items()), ""]
    return "\n".join(lines)


def document(outcomes: Sequence[Outcome], software: Mapping[str, str]) -> dict[str, object]:
    """All outcomes as plain data; the numbers of an entry are in its "unit", differences and tolerances relative."""
    comparisons = [(outcome, result) for outcome in outcomes for result in outcome.comparisons]
    ranges = [(outcome, result) for outcome in outcomes for result in outcome.plausibilities]
    return {
        "schema": SCHEMA,
        "software": dict(software),
        "passed": all(outcome.passed for outcome in outcomes),
        "checks": [outcome.check.name for outcome in outcomes],
        "comparisons": [
            {
                **_common(outcome, result),
                "difference": _finite(result.difference),
                "tolerance": result.tolerance,
                "tolerance_reason": result.reason,
                "passed": result.passed,
            }
            for outcome, result in comparisons
        ],
        "plausibility": [
            {
                **_common(outcome, result),
                "low": result.low,
                "high": result.high,
                "band_reason": result.reason,
                "passed": result.passed,
            }
            for outcome, result in ranges
        ],
        "to_check": _to_check(outcomes),
    }


def json_text(outcomes: Sequence[Outcome], software: Mapping[str, str]) -> str:
    """The same as the text of a JSON file."""
    return json.dumps(document(outcomes, software), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _common(outcome: Outcome, result: Comparison | Plausibility) -> dict[str, object]:
    source: Source = result.source
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
    }


def _to_check(outcomes: Sequence[Outcome]) -> list[str]:
    """What to compare with each reference that was not at hand: of these checks, and of the formulas of studies."""
    sources = dict.fromkeys(result.source for outcome in outcomes for result in outcome.results)
    of_checks = [f"{s.reference}: {s.to_check}" for s in sources if s.known is Reference.NAMED]
    behind: dict[str, list[str]] = {}
    for formula in all_formulas().values():
        if NAMED in formula.source:
            behind.setdefault(in_words(formula.source), []).append(formula.quantity)
    of_formulas = [f"{source}: form and range for {'; '.join(dict.fromkeys(of))}" for source, of in behind.items()]
    of_levels = [
        f"levels of {levels.name}: {levels.source}"
        for levels in LEVEL_SETS.values()
        if any(f"[{piece.mark}]" == NAMED for piece in levels.pieces)
    ]
    return [*of_checks, *of_formulas, *of_levels]


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _title(outcome: Outcome) -> str:
    return f"{outcome.check.name}: {outcome.check.title}"


def _row(result: Comparison) -> tuple[str, ...]:
    published, computed, unit = _shown(result.unit, result.published, result.computed)
    return (
        result.quantity,
        result.method.value,
        result.kind.value,
        str(result.source),
        published,
        computed,
        unit,
        _percent(result.difference, signed=True),
        _percent(result.tolerance),
        "pass" if result.passed else "FAIL",
    )


def _plausibility_row(result: Plausibility) -> tuple[str, ...]:
    published, computed, low, high, unit = _shown(
        result.unit, result.published, result.computed, result.low, result.high, digits=4
    )
    return (
        result.quantity,
        result.method.value,
        result.kind.value,
        str(result.source),
        published,
        computed,
        unit,
        f"{low} to {high}",
        "inside" if result.passed else "OUTSIDE",
    )


def _shown(unit: str, *values: float, digits: int = 7) -> tuple[str, ...]:
    """Numbers in a common unit, and the unit."""
    factor, name = common_unit(values, unit) if unit in PREFIXED else (1.0, unit)
    return (*(f"{value * factor:.{digits}g}" for value in values), name)


def _percent(value: float, signed: bool = False) -> str:
    return f"{100 * value:+.2g} %" if signed else f"{100 * value:.2g} %"


def _aligned(head: Sequence[str], blocks: Sequence[tuple[str, Sequence[Sequence[str]]]]) -> str:
    """Blocks of rows under one head, each with its title, all in the same columns."""
    rows = [row for _, block in blocks for row in block]
    widths = [max(len(line[k]) for line in (head, *rows)) for k in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        justified = [
            cell.rjust(width) if name in RIGHT else cell.ljust(width)
            for cell, width, name in zip(cells, widths, head, strict=True)
        ]
        return "  ".join(justified).rstrip()

    lines = [line(head), line(["-" * width for width in widths])]
    for title, block in blocks:
        lines += ["", title, *(line(row) for row in block)]
    return "\n".join(lines)


def _markdown_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    rule = ["---:" if name in RIGHT else "---" for name in head]
    return [f"| {' | '.join(_escaped(cell) for cell in cells)} |" for cells in (head, rule, *rows)]


def _reasons(comparisons: Sequence[Comparison]) -> list[str]:
    """One line for each reason, with the tolerance or the range of tolerances that it gives."""
    by_reason: dict[str, list[float]] = {}
    for comparison in comparisons:
        by_reason.setdefault(comparison.reason, []).append(comparison.tolerance)
    lines = []
    for reason, values in by_reason.items():
        ends = dict.fromkeys((_percent(min(values)), _percent(max(values))))
        lines.append(f"- tolerance {' to '.join(ends)}: {_escaped(reason)}")
    return lines


def _escaped(text: str) -> str:
    return text.replace("|", "\\|").replace("*", "\\*").replace("_", "\\_")
