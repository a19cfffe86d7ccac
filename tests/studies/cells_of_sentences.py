"""What the sentences of a report's summary say: templates whose numbers and words follow from the result.

A template has `{}` for a number, `{%}` for one in per cent, `{T}` for one with a unit that may have a prefix, and
`{±T}` for a number and its error in brackets; `{*}` for any words.
"""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np

from studies.answers.route.rows import RouteResult
from studies.report.sheet import sheet_rows
from studies.result import Result
from tests.studies.cells import first_of_most
from tests.studies.cells_of_decisions import larger_field
from tests.studies.cells_of_fields import share_of
from tests.studies.cells_of_page import of_own_tests
from tests.studies.cells_of_reasons import reasons_of
from tests.studies.templates import fits, pattern_of

NUMERICS_ALONE = "It covers the numerics alone, not what is assumed about materials and positions."


def sentence_mistakes(lines: Iterable[str], expected: Iterable[tuple[str, tuple[Any, ...]]]) -> Iterator[str]:
    """What a page should say and does not, in sentences."""
    said = list(lines)
    for template, values in expected:
        pattern = re.compile(pattern_of(template))
        found = [match for line in said if (match := pattern.fullmatch(line)) is not None]
        if not found:
            yield f"no line reads “{template}”"
        elif not any(fits(template, match, values) for match in found):
            yield f"“{found[0][0]}” where {values} are expected in “{template}”"


def lead_mistakes(leads: Sequence[str], result: Result) -> Iterator[str]:
    """Leading paragraphs that the result gives no reason for."""
    expected = [
        re.compile(pattern_of(template))
        for template, _ in (
            *(*_verdict(result), *_route_verdict(result), *_as_drawn(result), *of_own_tests("leads", result)),
        )
    ]
    asked = {" ".join(f"{row.of}: {row.value}.".split()) for row in sheet_rows(result)}  # read there cell by cell
    for lead in leads:
        if not any(own.fullmatch(lead) for own in expected) and lead not in asked and not lead.startswith(DOUBT):
            yield f"nothing in the result says “{lead}”"


DOUBT = "Current beyond what the area of the conductor can carry"


def said_of(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Every sentence of the summary that holds a number or a verdict."""
    yield from _verdict(result)
    yield from _route_verdict(result)
    yield from _as_drawn(result)
    yield from _steel(result)
    accuracy = result.accuracy
    state = "reached" if accuracy.met else "not reached everywhere"
    text = f"Numerical accuracy: asked {{%}}, {state}; the largest error estimate is {{%}}. {NUMERICS_ALONE}"
    yield text, (accuracy.tolerance, accuracy.worst_error)
    yield from reasons_of(result)
    yield from _traverses(result)
    if result.route is not None:
        yield _whole_run(result.route)
    yield from _charging(result)
    if result.order_search is not None and result.order_search.fixed:
        yield f"Left as they are: {', '.join(result.order_search.fixed)}.", ()
    for row in result.ladder:
        yield f"{row.formula}: {{*}}", ()
    yield from of_own_tests("sentences", result)


def _as_drawn(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """Which verdicts do not hold in every case that the error estimate leaves out."""
    doubted = {row.place for row in result.reservations if row.changes_verdict and row.kind != "route"}
    places: tuple[Any, ...] = (*result.receptors, *result.zones)
    names = [f"“{entry.name}”" for entry in places if entry.within_limit and entry.name in doubted]
    if names:
        listed = ", ".join(names)
        yield f"Within the limit only on a straight run as drawn, or in doubt: {listed}. The reasons stand below.", ()


def said_in_terminal(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """The lines of the terminal that hold a number."""
    accuracy = result.accuracy
    met, last = "met" if accuracy.met else "NOT met", accuracy.levels[-1]
    missed = [entry.name for entry in result.receptors if not entry.within_tolerance]
    missed += [f"zone {zone.name}" for zone in result.zones if not zone.within_tolerance]
    missed += [loss.part for loss in result.losses if not loss.within_tolerance]
    missed += [f"{phase.circuit} {phase.phase}" for phase in result.phases if not phase.within_tolerance]
    if missed:
        yield f"Not within the asked accuracy: {', '.join(missed)}.", ()
    text = f"Numerical error of the numbers above: at most {{*}}; asked {{%}}, {met} with {{}} unknowns after {{}} "
    text += "meshes. Each ± stands in the report and the tables."
    yield text, (accuracy.tolerance, float(last.unknowns), float(len(accuracy.levels)))


def lines_of_terminal(text: str) -> list[str]:
    """Paragraphs and single lines of a terminal, the white space within them as single spaces."""
    return [" ".join(own.split()) for block in text.split("\n\n") for own in (block, *block.splitlines())]


def _verdict(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    entries: tuple[Any, ...] = (*result.receptors, *result.zones)
    limited = [entry for entry in entries if entry.limit_t is not None]
    if not entries and not list(of_own_tests("leads", result)):
        what = "All parts lose {W/m} of run" if result.route is None else "The whole run loses {W}"
        loss = math.fsum(row.loss_w_per_m for row in result.losses) if result.route is None else result.route.loss_w
        yield f"{what}. No receptor or zone is named.", (loss,)
    elif entries and not limited:
        strongest = max(entries, key=lambda entry: getattr(entry, "b_rms_t", getattr(entry, "b_max_rms_t", 0.0)))
        where = "in zone" if hasattr(strongest, "b_max_rms_t") else "at receptor"
        numbers = (getattr(strongest, "b_rms_t", getattr(strongest, "b_max_rms_t", 0.0)),)
        static = any(entry.limit_t for entry in getattr(result.direct_currents, "fields", ()))
        none = "No receptor or zone has a limit of its own" if result.stated_limits or static else "No limit is stated"
        yield f"{none}. The strongest field is {{T}}, {where} “{strongest.name}”.", numbers
    elif limited:
        text, numbers = _judged(limited)
        bounds = " as drawn, on a straight run" if result.study.laying_tolerance or result.study.course else ""
        net = result.net_currents
        for words, beside in (
            ("without net currents, not all with them", net),
            ("for alternating fields, not all for static ones", result.direct_currents),
        ):
            above = any(row.within_limit is False for row in getattr(beside, "fields", ()))
            told = words.replace(" all ", " ") if len(limited) == 1 else words
            bounds += (f" {told}" if above else f", {words.partition(',')[0]}") if beside else ""
        text = text.replace(" within the limit. ", f" within the limit{bounds}. ")
        turned = " within the limit" in text and any(row.within_limit is False for row in getattr(net, "fields", ()))
        yield (text.partition(" The least margin")[0], ()) if turned else (text, numbers)


def _judged(limited: list[Any]) -> tuple[str, tuple[Any, ...]]:
    zones = [entry for entry in limited if hasattr(entry, "b_max_rms_t")]
    kinds = "places" if 0 < len(zones) < len(limited) else "zones" if zones else "receptors"
    kind = kinds.removesuffix("s")
    worst = max(limited, key=lambda entry: sum(share_of(entry)))
    exceeded = [entry for entry in limited if not entry.within_limit or entry.other_steel_within_limit is False]
    if exceeded and all(entry.within_limit for entry in exceeded):
        names = ", ".join(f"“{entry.name}”" for entry in exceeded)
        text = f"{names}: within the limit by the study's steel, above it by the curve of another steel of its use."
        return text, ()
    if not exceeded:
        start = (
            f"The {kind} is"
            if len(limited) == 1
            else f"{'Both' if len(limited) == 2 else f'All {len(limited)}'} {kinds} with a limit are"
        )
        text = f"{start} within the limit. The least margin is {{%}} of the limit, at “{worst.name}”."
        return text, (1 - sum(share_of(worst)),)
    index = worst.exposure_index is not None
    share, spread = share_of(worst)
    up_to, number = ("up to ", share + spread) if share <= 1 < share + spread else ("", share)
    times = f"the {'exposure' if index else 'field'} is {up_to}{{}} times the limit."
    if len(limited) == 1:
        return f"The {kind} “{worst.name}” does not meet its limit: {times}", (number,)
    do = "does" if len(exceeded) == 1 else "do"
    start = f"{len(exceeded)} of {len(limited)} {kinds} with a limit {do} not meet it."
    if len(exceeded) == len(limited):
        start = f"None of the {len(limited)} {kinds} with a limit meets it."
    return f"{start} The worst is “{worst.name}”: {times}", (number,)


def _route_verdict(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    limited = [entry for entry in (result.route.fields if result.route else ()) if entry.limit_t is not None]
    exceeded = [entry for entry in limited if not entry.within_limit]
    zones = " Zones are judged in the stated cross-section only." if result.route and result.zones else ""
    if zones and not limited:
        yield zones.strip(), ()
    if limited and not exceeded:
        yield f"Along the whole route all fields are within their limits.{zones}", ()
    if exceeded:
        worst = first_of_most(exceeded, lambda entry: larger_field(entry) / (entry.limit_t or math.nan))
        at = "" if worst.load_b_rms_t is None else f" at {worst.judged_at}"
        *others, last = dict.fromkeys(entry.section for entry in exceeded)
        sections = f"{', '.join(others)} and {last}" if others else last
        text = f"Along the route a limit is exceeded in {sections}. The worst is “{worst.receptor}” in "
        text += f"{worst.section}, {{}} to {{m}}: the field{at} is {{}} times the limit.{zones}"
        yield text, (worst.start_m, worst.end_m, larger_field(worst) / (worst.limit_t or math.nan))


def _steel(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    if not result.saturation:
        return
    worst = max(result.saturation, key=lambda part: part.mean_peak_b_t)
    loss = math.fsum(part.loss_w_per_m for part in result.saturation)
    linear = math.fsum(part.linear_loss_w_per_m for part in result.saturation)
    text = f"Saturating steel: the flux density in {worst.part} peaks at {{T}}, mean over its area; all saturating "
    text += "steel loses {W/m}, {%} "
    yield f"{text}against the same steel without saturation.{{*}}", (worst.mean_peak_b_t, loss, loss / linear - 1)


def _traverses(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """The caption of each traverse, with the points that miss what was asked."""
    for traverse in result.traverses:
        shares = np.nan_to_num(traverse.b_rms_error_t / traverse.b_rms_t)
        missed = int(np.count_nonzero(shares > result.accuracy.tolerance))
        over = f", above what was asked at {missed} of {len(shares)} points" if missed else ""
        assert traverse.peak is not None
        text = f"Traverse “{traverse.name}”: resultant flux density by finite elements and by the line formula; below, "
        text += "their difference. The mark is at the highest field, {T}, {m} from its start."
        numbers: tuple[Any, ...] = (traverse.peak.b_rms_t, traverse.peak.distance_m)
        for line in () if result.net_currents is None else result.net_currents.traverses:
            if line.name == traverse.name:
                fields = result.net_currents.fields if result.net_currents is not None else ()
                row = next(row for row in fields if (row.kind, row.place) == ("traverse", line.name))
                text += " All of it, and what a cursor reads, is without net currents; with them the dotted curve, at "
                text += "most {T}, {m} from its start."
                numbers += (row.b_rms_t, line.highest_m)
        text += " The largest error estimate along it is {%} of the local field"
        yield f"{text}{over}.", (*numbers, float(shares.max()))


def _whole_run(route: RouteResult) -> tuple[str, tuple[Any, ...]]:
    text = (
        "The run is {m} long and loses {±W} with the study's currents, metal included; by formula, without trays, {W}."
    )
    numbers: tuple[Any, ...] = (route.length_m, route.loss_w, route.loss_error_w, route.formula_loss_w)
    if route.load_loss_w is not None:
        text += (
            f" At the load ({route.load_words}) it loses {{±W}}; by formula {{W}}. Circuits without a stated load keep "
        )
        text += "the study's currents."
        numbers = (*numbers, route.load_loss_w, route.load_loss_error_w, route.load_formula_loss_w)
    return text, numbers


def _charging(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """How unequal the phases of each circuit charge, along the metre and the run, and where the neutral stands."""
    supply = result.study.supply
    for name in dict.fromkeys(entry.circuit for entry in result.charging):
        own = [entry for entry in result.charging if entry.circuit == name]
        unequal = own[0].circuit_inequality
        how = "charge alike" if unequal <= 1e-3 else "deviate by up to {%} from their mean charging current"
        numbers: list[Any] = [] if supply is None else [supply.voltage]
        numbers += [] if unequal <= 1e-3 else [unequal]
        text = f"{name}{'' if supply is None else ' at {V}'}: the phases {how}."
        if result.route is not None and own[0].run_charging_current_a is not None:
            spread = own[0].run_inequality or 0.0
            how = "charge alike" if spread <= 1e-3 else "deviate by up to {%}"
            text += f" Over the run of {{m}} the largest is {{A}}; the phases, each where the sections place it, {how}."
            numbers += [result.route.length_m, max(entry.run_charging_current_a or 0.0 for entry in own)]
            numbers += [] if spread <= 1e-3 else [spread]
        if own[0].neutral_displacement_v is not None and supply is not None:
            text += (
                " The neutral is insulated: no charging current returns by the earth, and the neutral stands at {V} "
            )
            text += "against it, {%} of the phase voltage."
            away = own[0].neutral_displacement_v
            numbers += [away, away / (supply.voltage / math.sqrt(3))]
        yield text, tuple(numbers)
