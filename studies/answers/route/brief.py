"""The run in a few tables of words, for a terminal or a notebook."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from studies.answers.answers import Answers
from studies.answers.route.rows import RouteResult
from studies.section.run_bonds import joining_words
from studies.text.engineering import difference, percent, three_digits
from studies.text.terminal import WIDEST

Words = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]
"""Heads and rows of words."""
VERDICTS = {True: "within", False: "ABOVE", None: ""}


def route_tables(route: RouteResult | None) -> Iterator[Words]:
    """Sections, drops, what arrives, layers of metal and fields of a run."""
    if route is None:
        return
    yield _sections(route)
    yield _circuits(route)
    if any(line.largest_voltage_v is not None for line in route.lines):
        yield _metal(route)
    if route.fields:
        yield _fields(route)


AT_STUDY, AT_LOAD = "at study's currents", "at the load"


def _sections(route: RouteResult) -> Words:
    loaded = route.load_loss_w is not None
    losses = (
        (f"loss {AT_STUDY}", "formula, no tray", f"loss {AT_LOAD}", "formula")
        if loaded
        else (
            "loss",
            "formula, no tray",
        )
    )
    rows = [
        (
            section.section,
            f"{section.start_m:g} m",
            f"{section.end_m:g} m",
            three_digits(section.loss_w_per_m, "W/m"),
            three_digits(section.formula_loss_w_per_m, "W/m"),
            *_if(
                loaded,
                three_digits(section.load_loss_w_per_m, "W/m"),
                three_digits(section.load_formula_loss_w_per_m, "W/m"),
            ),
            "another" if section.changes else "the study's own",
        )
        for section in route.sections
    ]
    whole = (
        three_digits(route.loss_w, "W"),
        three_digits(route.formula_loss_w, "W"),
        *_if(
            loaded,
            three_digits(route.load_loss_w, "W"),
            three_digits(route.load_formula_loss_w, "W"),
        ),
    )
    rows.append(("whole run", "0 m", f"{route.length_m:g} m", *whole, ""))
    return ("section", "from", "to", *losses, "cross-section"), tuple(rows)


def _if(shown: bool, *cells: str) -> tuple[str, ...]:
    """Cells of columns that some tables have not."""
    return cells if shown else ()


def _circuits(route: RouteResult) -> Words:
    head = ("run of", "|Z1|", "formula", "differs", "|Z21/Z11|", "drop at load", "V2/V1", "formula", "I2/I1")
    rows = []
    for circuit in route.circuits:
        found = circuit.delivered
        own, formula = abs(circuit.z1_ohm), abs(circuit.formula_z1_ohm)
        arrives: tuple[str, ...] = ("–", "–", "–", "–")
        if found is not None:
            shares = (found.relative_drop, found.v2_over_v1, found.formula_v2_over_v1, found.i2_over_i1)
            arrives = tuple(f"{100 * share:.2f} %" for share in shares)
        rows.append(
            (
                circuit.circuit,
                three_digits(own, "Ω"),
                three_digits(formula, "Ω"),
                percent(difference(own, formula)),
                f"{100 * circuit.z21_over_z11:.2f} %",
                *arrives,
            )
        )
    return head, tuple(rows)


def _metal(route: RouteResult) -> Words:
    head = ("along the run", "current", "formula", "largest voltage", "formula", "at")
    rows = tuple(
        (
            line.line,
            three_digits(abs(line.current_a), "A"),
            three_digits(None if line.formula_current_a is None else abs(line.formula_current_a), "A"),
            three_digits(line.largest_voltage_v, "V"),
            three_digits(line.formula_largest_voltage_v, "V"),
            f"{line.at_m:g} m",
        )
        for line in route.lines
        if line.largest_voltage_v is not None
    )
    return head, rows


def _fields(route: RouteResult) -> Words:
    loaded = route.load_loss_w is not None
    fields: tuple[str, ...] = (f"field {AT_STUDY}", "line formula", "differs")
    if loaded:
        fields = (*fields, f"field {AT_LOAD}", "line formula", "differs")
    rows = tuple(
        (
            entry.receptor,
            entry.section,
            three_digits(entry.b_rms_t, "T"),
            three_digits(entry.line_formula_b_rms_t, "T"),
            percent(difference(entry.b_rms_t, entry.line_formula_b_rms_t)),
            *_if(
                loaded,
                three_digits(entry.load_b_rms_t, "T"),
                three_digits(entry.load_line_formula_b_rms_t, "T"),
                percent(difference(entry.load_b_rms_t or 0.0, entry.load_line_formula_b_rms_t)),
            ),
            three_digits(entry.limit_t, "T"),
            VERDICTS[entry.within_limit] + (f" at {entry.judged_at}" if loaded and entry.limit_t is not None else ""),
        )
        for entry in route.fields
    )
    return ("receptor", "beside", *(fields if loaded else ("field, rms", *fields[1:])), "limit", ""), rows


def run_lines(result: Answers) -> list[str]:
    """How the lines of the run are joined and turned; nothing without a route."""
    if result.route is None:
        return []
    return [textwrap.fill(f"The run: {joining_words(result.cross_section, result.study)}", WIDEST)]
