"""One sentence on the range of each verdict: cases that the engineer checks on site before signing."""

from __future__ import annotations

from collections.abc import Sequence

from studies.answers.answers import Answers
from studies.answers.reservations.rows import ReservationResult
from studies.answers.result_units import shown_flux_density
from studies.text.blocks import Text
from studies.text.numbers import plain

CASES = {
    "course": "in the run in space beside {words}",
    "bend": "inside a right-angled bend",
    "laying": "every cable 3 mm off",
    "steel": "steel that shields nothing",
    "net current": "{words} of net current",
    "circuits off": "{words} off",
    "stated net current": "the net currents as stated",
}
"""Cases in which the field is higher, by concern."""
TURNED = "ABOVE it"
"""Stands after a verdict that the run in space or the net currents of the study turn."""
OPENING = "Cases beyond the error estimate, each alone, estimated (not bounds):"
"""Above the sentences."""
KINDS = ("receptor", "zone", "route")
"""Kinds of places that have a verdict."""


def reservation_list(result: Answers, kinds: Sequence[str] = KINDS) -> tuple[Text, ...]:
    """The sentences of the verdicts of some kinds below the one that introduces them; nothing without a verdict."""
    lines = reservation_lines(result, kinds)
    return (Text(lines, "list", OPENING),) if lines else ()


def only_as_drawn_line(result: Answers) -> tuple[str, ...]:
    """The sentence on places whose verdict holds only for a straight run as drawn."""
    names = ", ".join(f"“{name}”" for name in only_as_drawn(result))
    line = f"Within the limit only on a straight run as drawn, or in doubt: {names}. The reasons stand below."
    return (line,) if names else ()


def reservation_lines(result: Answers, kinds: Sequence[str] = KINDS) -> tuple[str, ...]:
    """One sentence for each verdict of some kinds."""
    lines = [f"{name}: {words}." for kind in kinds for name, words in reservations_of(result, kind).items()]
    return (*lines, *(_along(result) if "route" in kinds else ()))


def reservations_of(result: Answers, kind: str) -> dict[str, str]:
    """How far the verdict of each receptor or zone holds, in words without a full stop, by the name of the place."""
    verdicts = {("receptor", entry.name): entry.within_limit for entry in result.receptors}
    verdicts |= {("zone", entry.name): entry.within_limit for entry in result.zones}
    found = {}
    for (own, name), within in verdicts.items():
        rows = [row for row in result.reservations if (row.kind, row.place) == (own, name)]
        if own == kind and rows and within is not None:
            found[name] = _sentence(result, rows, within=within)
    return found


def only_as_drawn(result: Answers) -> tuple[str, ...]:
    """Names of receptors and zones within their limit that one of the cases would take above it, or put in doubt."""
    within = {entry.name for entry in result.receptors if entry.within_limit}
    within |= {entry.name for entry in result.zones if entry.within_limit}
    doubted = {row.place for row in result.reservations if row.changes_verdict and row.kind != "route"}
    names = [*(receptor.name for receptor in result.receptors), *(zone.name for zone in result.zones)]
    return tuple(name for name in names if name in within & doubted)


def beside_verdicts(result: Answers, see: str) -> dict[str, str]:
    """What is said after the verdict of a place, by its name.

    The run in space, if its field is higher; that the study's own net currents turn it; else that the verdict may not
    hold, in words that tell where to look.
    """
    found = dict.fromkeys(only_as_drawn(result), f", {see}")
    fields = {entry.name: entry.b_rms_t for entry in result.receptors}
    turned = {row.place for row in result.reservations if row.concern == "stated net current" and row.changes_verdict}
    found |= dict.fromkeys(turned, f" without net currents, {TURNED} with them")
    for row in result.reservations:
        if row.concern == "course" and row.b_rms_t is not None:
            times = f"{plain(row.b_rms_t / fields[row.place])} times the field along the course"
            if row.place in turned:
                both = f" on a straight run without net currents, {TURNED} with either"
                found[row.place] = f"{both if row.changes_verdict else found[row.place]}; {times}"
            else:
                found[row.place] = f" on a straight run, {TURNED} with {times}" if row.changes_verdict else f", {times}"
    return found


def _sentence(result: Answers, rows: Sequence[ReservationResult], *, within: bool) -> str:
    doubts = "".join(f"; {row.words}" for row in rows if row.b_rms_t is None)
    if not within:
        end = next((row for row in rows if row.concern == "end"), None)
        if end is None:
            return f"above the limit{doubts}"
        return (
            f"above the limit, {'within it' if end.within_limit else 'still above it'} at the end of the run "
            f"({_field(result, end)}){doubts}"
        )
    cases = [row for row in rows if row.concern in CASES]
    beyond = [row for row in cases if row.within_limit is False]
    if beyond:
        above = ", or ".join(
            f"{'' if row.concern in ('course', 'bend') else 'with '}{_case(row)} ({_field(result, row)})"
            for row in beyond
        )
        return f"within the limit on a straight run as drawn, ABOVE it {above}{doubts}"
    return f"within the limit in each case: {'; '.join(f'{_case(row)} {_field(result, row)}' for row in cases)}{doubts}"


def _case(row: ReservationResult) -> str:
    return CASES[row.concern].format(words=row.words)


def _field(result: Answers, row: ReservationResult) -> str:
    return "–" if row.b_rms_t is None else shown_flux_density(result, row.b_rms_t)


def _along(result: Answers) -> list[str]:
    """Sections of a route where a bend would exceed a limit that the straight run keeps."""
    rows = [row for row in result.reservations if row.kind == "route" and row.concern == "bend" and row.changes_verdict]
    if not rows:
        return []
    names = ", ".join(f"{row.place} beside {row.section} ({_field(result, row)})" for row in rows)
    return [f"Along the route: within the limit on a straight run, ABOVE it inside a right-angled bend: {names}."]
