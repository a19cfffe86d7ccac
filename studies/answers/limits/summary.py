"""Fields, verdicts and limit distances in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.verdicts import Limited, field_of, margin, receptor_unit, times, verdict, within
from studies.text.numbers import difference, percent, plain, quantity, stated
from studies.text.units import FLUX_DENSITY, LENGTH, Unit, common_unit


def unjudged_line(result: Answers) -> str:
    """Places that have a limit and no verdict."""
    names = result.unjudged()
    return f"There is no verdict at {', '.join(f'“{name}”' for name in names)}: computing it failed." if names else ""


def verdict_line(result: Answers) -> str:
    """Whether all limits are met, and where not."""
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


def _kinds(entries: list[Limited]) -> str:
    """What the entries are in one word or two."""
    zones = sum(isinstance(entry, ZoneResult) for entry in entries)
    number = "" if len(entries) == 1 else "s"
    if zones == 0:
        return f"receptor{number}"
    return f"zone{number}" if zones == len(entries) else "receptors and zones"


def _short(field: float, unit: Unit) -> str:
    """A flux density with three digits; its error stands in the tables."""
    return f"{plain(unit.of(field))}\u202f{unit.symbol}"


def field_lines(result: Answers) -> list[str]:
    """The field at each receptor and zone against its limit and its formula."""
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


def distance_lines(result: Answers) -> list[str]:
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
