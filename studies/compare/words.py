"""Which case is better at what, in words."""

from __future__ import annotations

from collections.abc import Sequence

from studies.compare.comparison import CaseRow, Comparison
from studies.compare.criteria import FIELD, LIMIT, Criterion, criteria_of, non_dominated, worst_of
from studies.compare.tables import criteria_table
from studies.section.spacing import IN_WORDS, NOT_KEPT, RULE
from studies.study.file import Study
from studies.text.numbers import GAP, percent
from studies.text.terminal import as_text, filled

MOST_NAMES = 6
"""Most cases that a sentence names."""
LONGEST_LISTING = 160
"""Longest listing of names in a sentence, but for the first two. [characters]"""


def findings(comparison: Comparison) -> tuple[str, ...]:
    """Sentences that say which case is best at what, what it gives up, and which cases keep limits and gaps."""
    rows = comparison.solved
    if len(rows) < 2:
        return ("There are no two cases with numbers to compare.",)
    judged = criteria_of(rows)
    names = names_of(rows)
    lines = [_best_line(criterion, names, rows[0].origin == "base") for criterion in judged]
    lines += _trade_offs(judged, names)
    lines += [
        _place_line(rows, judged),
        _limit_line(rows, names),
        *_spacing_lines(rows, names, judged),
        _common_drop_line(rows, names),
        *joining_lines(rows),
        net_current_line(comparison.base, transposed=any(row.joining for row in rows)),
        left_out_line(comparison.base),
    ]
    return tuple(line for line in lines if line)


def comparison_summary(comparison: Comparison) -> str:
    """What a terminal shows: the cases with the criteria in which they differ, which keep every limit, and which case
    is best at what.
    """
    first = limit_line(comparison.solved)
    lines = sorted(findings(comparison), key=lambda line: line != first)
    sentences = [filled(line, first="- ", later="  ") for line in lines]
    return "\n".join([as_text(criteria_table(comparison)), "", *sentences])


def names_of(rows: Sequence[CaseRow]) -> list[str]:
    """The names of cases in running text, that of the base study marked as such."""
    return [f"“{row.name}”{row.label.removeprefix(row.name)}" for row in rows]


def undominated_line(rows: Sequence[CaseRow], first: Criterion, second: Criterion) -> str:
    """Which of some cases no other beats in two criteria_of at once."""
    free = non_dominated(first.rounded, second.rounded)
    names = [name for name, is_free in zip(names_of(rows), free, strict=True) if is_free]
    if len(names) == 1:
        return f"In {first.noun} and {second.noun} together {names[0]} is the best of all."
    others = len(rows) - len(names)
    rest = "; the other is beaten by one of these" if others == 1 else ""
    rest = f"; each of the other {others} is beaten by one of these" if others > 1 else rest
    return f"In {first.noun} and {second.noun} together no other case beats {listing(names)}{rest}."


def _best_line(criterion: Criterion, names: Sequence[str], has_base: bool) -> str:
    title = criterion.best[0].upper() + criterion.best[1:]
    leaders, trailers = criterion.leaders(), criterion.trailers()
    alike = "within the numerical error" if criterion.within_errors(*leaders) else "in three digits"
    if not criterion.differs and alike == "in three digits":
        return f"{title}: {criterion.show(0)} in every case, equal in three digits."
    if not criterion.differs:
        return f"{title}: the cases do not differ by more than the numerical error."
    text = f"{title}: {listing([names[k] for k in leaders])} with {criterion.show(leaders[0])}"
    text += f" (equal {alike})" if len(leaders) > 1 else ""
    if has_base and 0 not in leaders and 0 not in trailers:
        text += f"; {names[0]} has {criterion.show(0)}"
    return f"{text}; the highest is {criterion.show(trailers[0])}, of {listing([names[k] for k in sorted(trailers)])}."


def _trade_offs(judged: Sequence[Criterion], names: Sequence[str]) -> list[str]:
    """What the best case in one thing gives up in the others."""
    differing = [criterion for criterion in judged if criterion.differs]
    if len(differing) < 2:
        return []
    leaders = [criterion.leaders() for criterion in differing]
    in_all = sorted(set.intersection(*(set(best) for best in leaders)))
    if in_all:
        verb = "is" if len(in_all) == 1 else "are"
        return [f"{listing([names[k] for k in in_all])} {verb} best in all of these: there is no trade-off."]
    lines = []
    for k in _fewest(leaders):
        wins, costs = [], []
        for criterion, best in zip(differing, leaders, strict=True):
            if k in best:
                wins.append(f"the {criterion.best}")
            else:
                costs.append(f"{criterion.noun} {criterion.show(k)} against {criterion.show(best[0])}")
        lines.append(f"{names[k]} has {in_sentence(wins)}, and gives up {in_sentence(costs)}.")
    return lines


def _fewest(leaders: Sequence[Sequence[int]]) -> list[int]:
    """As few cases as lead in everything together, those that lead in most first."""
    chosen: list[int] = []
    left = list(leaders)
    while left:
        k = max(dict.fromkeys(k for best in left for k in best), key=lambda k: sum(k in best for best in left))
        chosen.append(k)
        left = [best for best in left if k not in best]
    return chosen


def _place_line(rows: Sequence[CaseRow], judged: Sequence[Criterion]) -> str:
    """Which receptor or zone decides the field, where there is a choice."""
    field = next((criterion for criterion in judged if criterion.noun == FIELD), None)
    if field is None or not any(field.places):
        return ""
    numbers = rows[0].measured.numbers if rows[0].measured is not None else {}
    count = sum(name.startswith(("b_rms_t.", "b_max_rms_t.")) for name in numbers)
    if count < 2:
        return ""
    what = "worst field over its limit" if field.unit is LIMIT else "highest field"
    places = list(dict.fromkeys(field.places))
    if len(places) == 1:
        return f"The {what} is at {places[0]} in every case."
    counts = [f"at {place} in {field.places.count(place)} cases" for place in places]
    return f"The {what} is {in_sentence([text.replace(' 1 cases', ' 1 case') for text in counts])}."


def limit_line(rows: Sequence[CaseRow]) -> str:
    """Which cases keep every limit; empty where none is judged."""
    return _limit_line(rows, names_of(rows))


def _limit_line(rows: Sequence[CaseRow], names: Sequence[str]) -> str:
    entries = [row.entry("worst_field_over_limit") for row in rows]
    if any(entry.value is None for entry in entries):
        return ""
    within = [
        name
        for name, entry in zip(names, entries, strict=True)
        if float(entry.value or 0.0) + (entry.error or 0.0) <= 1
    ]
    if not within:
        return "No case keeps every limit."
    if len(within) == len(names):
        return "Every case keeps every limit."
    return f"Every limit is kept by {listing(within)}; not by the other {len(names) - len(within)}."


def _spacing_lines(rows: Sequence[CaseRow], names: Sequence[str], judged: Sequence[Criterion]) -> list[str]:
    """Which gaps the cases keep, and the conditions of the rule for them."""
    entries = [row.entry("spacing_rules_met") for row in rows]
    cases: dict[str, list[int]] = {}
    for k, entry in enumerate(entries):
        cases.setdefault(entry.place or NOT_KEPT, []).append(k)
    told = [
        f"by {'every case' if len(own) == len(rows) else listing([names[k] for k in own])}: {IN_WORDS[word]}"
        for word, own in cases.items()
    ]
    met = [k for k, entry in enumerate(entries) if entry.value]
    field = next((criterion for criterion in judged if criterion.noun == FIELD), None)
    lowest = ""
    if field is not None and 1 < len(met) < len(rows) and field.differs:
        best = min(met, key=lambda k: field.values[k])
        lowest = f" Of the cases that meet a rule for them {names[best]} has the lowest field, {field.show(best)}."
    return [f"Clear gaps kept {'; '.join(told)}.{lowest}", RULE]


def _common_drop_line(rows: Sequence[CaseRow], names: Sequence[str]) -> str:
    """If the common part of the drops exceeds the unequal part: that it is no unbalance."""
    common = [worst_of(row, "u0_over_u1") for row in rows]
    unequal = [worst_of(row, "u2_over_u1") for row in rows]
    if any(entry.value is None for entry in (*common, *unequal)):
        return ""
    values = [float(entry.value or 0.0) for entry in common]
    errors = [(own.error or 0.0) + (other.error or 0.0) for own, other in zip(common, unequal, strict=True)]
    if not any(v - float(u.value or 0.0) > e for v, u, e in zip(values, unequal, errors, strict=True)):
        return ""
    most = values.index(max(values))
    circuit = f" in {common[most].place}" if common[most].place else ""
    return (
        f"The largest drop that is common to the three phases, V0/V1, is that of {names[most]}{circuit}, "
        f"{percent(values[most], signed=False)}{GAP}%. It is in no voltage from line to line and judges nothing here: "
        "it matters only if a neutral or the earth joins both ends of the run."
    )


def joining_lines(rows: Sequence[CaseRow]) -> list[str]:
    """How the lines of transposed runs are in_sentence, once for all cases in which it is the same."""
    cases: dict[str, list[str]] = {}
    for row in rows:
        if row.joining:
            cases.setdefault(row.joining, []).append(f"“{row.name}”")
    return [f"Run of {listing(names)}: {words[0].lower()}{words[1:]}" for words, names in cases.items()]


def left_out_line(study: Study) -> str:
    """Which currents the numbers of a comparison are without; empty if these are all."""
    none = "All numbers compared are without direct currents, limits included."
    return none if study.has_direct_currents() else ""


def net_current_line(study: Study, *, transposed: bool) -> str:
    """Which numbers of a comparison hold net currents; empty if there are none."""
    if not study.has_net_currents():
        return ""
    but = ", but for transposed cases" if transposed else ""
    return f"Fields and limits are with net currents at the worst angle{but}; losses and impedances are without them."


def listing(names: Sequence[str]) -> str:
    """Names in a sentence, not too many."""
    count = len(names) if len(names) <= MOST_NAMES else MOST_NAMES - 1
    while count > 2 and sum(map(len, names[:count])) > LONGEST_LISTING:
        count -= 1
    if len(names) - count == 1 and count > 1:  # "and 1 more" is no shorter than a name
        count -= 1
    return in_sentence(names) if count == len(names) else f"{', '.join(names[:count])} and {len(names) - count} more"


def in_sentence(parts: Sequence[str]) -> str:
    """Parts of a sentence as a list."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
