"""The answers first: which receptors are within their limit, what is lost, and how exact the numbers are."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.judged_places import place_lines
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.verdicts import Limited, field_of, margin, receptor_unit, times, verdict, within
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents, in_words
from studies.answers.reservations.words import only_as_drawn, reservation_lines
from studies.answers.steel.steel_words import curves_in_words, other_steel_rows, third_harmonic_words
from studies.section.cross_section import parallel_conductors
from studies.section.spacing import spacing_of
from studies.study.parts import CONDUCTOR, plural
from studies.text.blocks import Text
from studies.text.failures import rescued
from studies.text.numbers import difference, percent, plain, quantity, stated
from studies.text.units import FLUX_DENSITY, LENGTH, LOSS_PER_LENGTH, Unit, common_unit

MOST_OTHER = 6
"""Numbers of another steel in the summary; the section on saturation has them all."""


def summary(result: Answers) -> tuple[Text, ...]:
    """The leading sentence and the list of answers."""
    verdicts = [line for what, make in VERDICTS.items() for line in _told(what, make, result)]
    lines = [line for what, make in LINES.items() for line in _told(what, make, result)]
    return Text(tuple(verdicts), "lead"), Text(tuple(lines), "list")


def _told(what: str, make: Callable[[Answers], str | list[str]], result: Answers) -> list[str]:
    """Lines of the summary, in their place that they failed where they did."""
    found = rescued(f"{what} of the summary", partial(make, result), lambda failure: f"{what}: failed, {failure.why}.")
    return [line for line in ([found] if isinstance(found, str) else found) if line]


def _unjudged(result: Answers) -> str:
    names = result.unjudged()
    return f"There is no verdict at {', '.join(f'“{name}”' for name in names)}: computing it failed." if names else ""


def _verdict(result: Answers) -> str:
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    limited = [entry for entry in entries if entry.limit_t is not None]
    if not limited and result.unjudged():
        return ""
    if not entries:
        return "The study names no receptor and no zone: the field is given by the maps and traverses."
    if not limited:
        strongest = max(entries, key=lambda entry: field_of(entry)[0])
        value = _short(field_of(strongest)[0], receptor_unit(result))
        where = "in zone" if isinstance(strongest, ZoneResult) else "at receptor"
        return f"No limit is stated. The strongest field is {value}, {where} “{strongest.name}”."
    kinds = _kinds(limited)
    worst = min(limited, key=lambda entry: margin(entry) or 0.0)
    exceeded = [entry for entry in limited if not within(entry)]
    if not exceeded:
        count = f"The {kinds} is" if len(limited) == 1 else f"All {len(limited)} {kinds} with a limit are"
        return (
            f"{count} within the limit. The least margin is {percent(margin(worst), signed=False)} % of the limit, "
            f"at “{worst.name}”."
        )
    if all(entry.within_limit for entry in exceeded):
        names = ", ".join(f"“{entry.name}”" for entry in exceeded)
        return f"{names}: within the limit with the study's steel, above it with the curve of another steel of its use."
    thing = "exposure" if worst.exposure_index is not None else "field"
    if len(limited) == 1:
        return f"The {kinds} “{worst.name}” is not within its limit: the {thing} is {times(worst)}."
    count = f"{len(exceeded)} of {len(limited)} {kinds} with a limit {'is' if len(exceeded) == 1 else 'are'}"
    return f"{count} not within it. The worst is “{worst.name}”: the {thing} is {times(worst)}."


def _route_verdict(result: Answers) -> str:
    """Where along the route a limit is exceeded; nothing where none is, or none is stated."""
    limited = [entry for entry in (result.route.fields if result.route else ()) if entry.limit_t is not None]
    zones = " Zones are judged beside the study's own cross-section alone." if result.route and result.zones else ""
    if not limited:
        return zones.strip()
    exceeded = [entry for entry in limited if not entry.within_limit]
    if not exceeded:
        return f"Along the whole route every receptor with a limit is within it.{zones}"
    worst = max(exceeded, key=lambda entry: entry.judged_b_rms_t / (entry.limit_t or 1.0))
    at = "" if worst.load_b_rms_t is None else f" at {worst.judged_at}"
    sections = ", ".join(dict.fromkeys(entry.section for entry in exceeded))
    share = plain(worst.judged_b_rms_t / (worst.limit_t or 1.0), 3)
    return (
        f"Along the route a limit is exceeded beside {sections}. The worst is “{worst.receptor}” beside "
        f"{worst.section}, {plain(worst.start_m)} to {plain(worst.end_m)}\u202fm: the field{at} is {share} "
        f"times the limit.{zones}"
    )


def _kinds(entries: list[Limited]) -> str:
    """What the entries are in one word or two."""
    zones = sum(isinstance(entry, ZoneResult) for entry in entries)
    number = "" if len(entries) == 1 else "s"
    if zones == 0:
        return f"receptor{number}"
    return f"zone{number}" if zones == len(entries) else "receptors and zones"


def _doubt(result: Answers) -> str:
    return in_words(doubtful_currents(result.study, result.cross_section, computed_currents(result.parts))) or ""


def _only_as_drawn(result: Answers) -> str:
    names = only_as_drawn(result)
    if not names:
        return ""
    listed = ", ".join(f"“{name}”" for name in names)
    return f"Within the limit only on a straight run as drawn, or in doubt: {listed}; the reasons stand below."


def _reservation_lines(result: Answers) -> list[str]:
    return [f"Beyond the error estimate, {line}" for line in reservation_lines(result)]


def _spacing_line(result: Answers) -> str:
    return " ".join(spacing_of(result.study, result.cross_section).sentences())


def _short(field: float, unit: Unit) -> str:
    """A flux density with three digits; its error stands in the tables."""
    return f"{plain(unit.of(field))}\u202f{unit.symbol}"


def _field_lines(result: Answers) -> list[str]:
    unit = receptor_unit(result)
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    return [_field_line(entry, unit) for entry in entries]


def _field_line(entry: Limited, unit: Unit) -> str:
    value = _short(field_of(entry)[0], unit)
    formula, where = "", f"zone {entry.name}: at most " if isinstance(entry, ZoneResult) else f"{entry.name}: "
    if isinstance(entry, ReceptorResult):
        off = percent(difference(entry.line_formula_b_rms_t, entry.b_rms_t))
        formula = f"; the line formula says {plain(unit.of(entry.line_formula_b_rms_t))}\u202f{unit.symbol} ({off} %)"
    if entry.limit_t is None:
        return f"{where}{value}, no limit stated{formula}."
    left = f"{percent(margin(entry), signed=False)} % of it left" if entry.within_limit else times(entry)
    if entry.exposure_index is not None:
        index = f"exposure index {plain(entry.exposure_index, 3)} of {entry.limit_name}"
        return f"{where}{value}, {index}, {verdict(entry)}, {left}{formula}."
    return f"{where}{value} against a limit of {stated(entry.limit_t, unit)}, {verdict(entry)}, {left}{formula}."


def _distance_lines(result: Answers) -> list[str]:
    """How far each limit reaches, all round."""
    lines = []
    for row in result.limit_distances:
        if row.direction != "overall":
            continue
        limit = row.limit_name or stated(row.limit_t, common_unit([row.limit_t], FLUX_DENSITY))
        names = ", ".join(row.of)
        if row.state == "met" and row.from_outline_m is not None:
            away = quantity(row.from_outline_m, LENGTH)
            reach = f"met everywhere beyond {away} from the outline of all cables and metal"
        elif row.state == "not exceeded":
            reach = "not exceeded anywhere outside the outline of all cables and metal"
        else:
            reach = "not met within a kilometre"
        lines.append(f"Limit {limit} ({names}): {reach}.")
    return lines


def _steel_line(result: Answers) -> str:
    if not result.saturation:
        return ""
    worst = max(result.saturation, key=lambda part: part.mean_peak_b_t)
    loss = sum(part.loss_w_per_m for part in result.saturation)
    linear = sum(part.linear_loss_w_per_m for part in result.saturation)
    return (
        f"Saturating steel: {worst.part} swings to {quantity(worst.mean_peak_b_t, FLUX_DENSITY)}, mean of its area; "
        f"all such steel loses {quantity(loss, LOSS_PER_LENGTH)}, {percent(difference(loss, linear))} % "
        f"against the same steel without saturation. {third_harmonic_words(result)}{_other_steel(result)}"
    ).strip()


def _other_steel(result: Answers) -> str:
    """The spread of two steels in one sentence."""
    rows = other_steel_rows(result)
    if not rows:
        return ""
    listed = "; ".join(f"{name} {other} in place of {own} ({off})" for name, own, other, off, _ in rows[:MOST_OTHER])
    return f" With the curve of another steel, {curves_in_words(result)[1]}: {listed}."


def _bond_line(result: Answers) -> str:
    carriers = [part for part in result.parts if part.kind != CONDUCTOR and part.current_rms_a > 0]
    lines = []
    if carriers:
        most = max(carriers, key=lambda part: part.current_rms_a)
        lines.append(f"Circulating currents: up to {plain(most.current_rms_a, 3)}\u202fA, in {most.part}.")
    loose = [(part.standing_voltage_v_per_100m, part.part) for part in result.parts if part.standing_voltage_v_per_100m]
    if loose:
        volts, name = max(loose)
        lines.append(f"Standing voltage: up to {plain(volts, 3)}\u202fV for each 100\u202fm of run, on {name}.")
    return " ".join(lines)


def _loss_line(result: Answers) -> str:
    total = sum(loss.loss_w_per_m for loss in result.losses)
    shares = [
        f"{plural(kind)} {quantity(result.loss_total(kind), LOSS_PER_LENGTH)}"
        for kind in dict.fromkeys(loss.kind for loss in result.losses)
    ]
    return f"Loss: {quantity(total, LOSS_PER_LENGTH)} in all; {', '.join(shares)}."


def _sharing_line(result: Answers) -> str:
    parallel = parallel_conductors(result.cross_section)
    shares = [
        (part.share_of_phase, part.part)
        for part in result.parts
        if part.part in parallel and part.share_of_phase is not None
    ]
    if not shares:
        return ""
    (least, least_name), (most, most_name) = min(shares), max(shares)
    return (
        f"Parallel cables: {most_name} carries {percent(most, signed=False)} % of an equal share, {least_name} "
        f"{percent(least, signed=False)} %."
    )


def _order_line(result: Answers) -> str:
    found = result.order_search
    if found is None:
        return ""
    if found.best[0].phases == found.today.phases:
        return f"Phase order: the stated one is the best that was found, by {found.objective}."
    proved = "the best order" if found.proved else "the best order found, not proved,"
    before, after = plain(found.today_solved.value, 3), plain(found.best_solved.value, 3)
    return (
        f"Phase order: {proved} has an objective ({found.objective}) of {after} against {before} as stated; its "
        f"largest share is {percent(found.best_solved.largest_share, signed=False)} %, its x_spread "
        f"{percent(found.best_solved.inequality, signed=False)} %."
    )


def _accuracy_line(result: Answers) -> str:
    accuracy = result.accuracy
    reached, asked = percent(accuracy.worst_error, signed=False), percent(accuracy.tolerance, signed=False)
    state = "reached" if accuracy.met else "not reached everywhere"
    return (
        f"Numerical accuracy: asked {asked} %, {state}; the largest error estimate is {reached} %. It covers the "
        "numerics alone, not what is assumed about materials and positions."
    )


VERDICTS: dict[str, Callable[[Answers], str | list[str]]] = {
    "Missing verdicts": _unjudged,
    "Verdict": _verdict,
    "Verdict along the route": _route_verdict,
    "Verdicts only as drawn": _only_as_drawn,
    "Doubtful currents": _doubt,
}
"""Leading sentences in their order, by what they tell."""
LINES: dict[str, Callable[[Answers], str | list[str]]] = {
    "Fields": _field_lines,
    "Places of verdicts": place_lines,
    "What the error does not cover": _reservation_lines,
    "Limit distances": _distance_lines,
    "Losses": _loss_line,
    "Steel": _steel_line,
    "Bonds": _bond_line,
    "Parallel cables": _sharing_line,
    "Phase orders": _order_line,
    "Spacing": _spacing_line,
    "Accuracy": _accuracy_line,
}
"""Entries of the list in their order, by what they tell."""
