"""Which case is better at what, in words."""

from __future__ import annotations

from collections.abc import Sequence

from studies.sweep.aspects import FIELD, Aspect, aspects, number_of
from studies.sweep.pareto import non_dominated
from studies.sweep.table import Comparison, Row

MOST_NAMES = 6
"""Most cases that a sentence names."""
SPACINGS = "the spacings that leave cables their full current rating (common practice, no source)"


def findings(comparison: Comparison) -> tuple[str, ...]:
    """Sentences that say which case is best at what, what it gives up, and which cases keep limits and spacings."""
    rows = comparison.solved
    if len(rows) < 2:
        return ("There are no two cases with numbers to compare.",)
    judged = aspects(rows)
    names = [f"“{row.name}”" for row in rows]
    lines = [_best_line(aspect, names, rows[0].origin == "base") for aspect in judged]
    lines += _trade_offs(judged, names)
    lines += [_limit_line(rows, names), _spacing_line(rows, names, judged)]
    return tuple(line for line in lines if line)


def undominated_line(rows: Sequence[Row], first: Aspect, second: Aspect) -> str:
    """Which of some cases no other beats in two aspects at once."""
    free = non_dominated(first.rounded, second.rounded)
    names = [f"“{row.name}”" for row, is_free in zip(rows, free, strict=True) if is_free]
    if len(names) == 1:
        return f"In {first.noun} and {second.noun} together {names[0]} is the best of all."
    others = len(rows) - len(names)
    rest = f"; each of the other {others} is beaten by one of these" if others else ""
    return f"In {first.noun} and {second.noun} together no other case beats {listing(names)}{rest}."


def _best_line(aspect: Aspect, names: Sequence[str], has_base: bool) -> str:
    leaders = aspect.leaders()
    title = aspect.best[0].upper() + aspect.best[1:]
    if len(leaders) == len(names):
        return f"{title}: the cases do not differ by more than the numerical error."
    least, most = min(aspect.values), max(aspect.values)
    last = aspect.values.index(most)
    text = f"{title}: {listing([names[k] for k in leaders])} with {aspect.show(least)}"
    text += " (equal within the numerical error)" if len(leaders) > 1 else ""
    if has_base and most - aspect.values[0] <= aspect.errors[0] + aspect.errors[last]:
        return f"{text}; the base study has the highest, {aspect.show(aspect.values[0])}."
    if has_base and 0 not in leaders:
        text += f"; the base study has {aspect.show(aspect.values[0])}"
    return f"{text}; the highest is {aspect.show(most)}, of {names[last]}."


def _trade_offs(judged: Sequence[Aspect], names: Sequence[str]) -> list[str]:
    """What the best case in one thing gives up in the others."""
    differing = [aspect for aspect in judged if len(aspect.leaders()) < len(names)]
    if len(differing) < 2:
        return []
    leaders = [aspect.leaders() for aspect in differing]
    in_all = sorted(set.intersection(*(set(best) for best in leaders)))
    if in_all:
        verb = "is" if len(in_all) == 1 else "are"
        return [f"{listing([names[k] for k in in_all])} {verb} best in all of these: there is no trade-off."]
    lines = []
    for k in dict.fromkeys(best[0] for best in leaders):
        wins, costs = [], []
        for aspect, best in zip(differing, leaders, strict=True):
            if k in best:
                wins.append(f"the {aspect.best}")
            else:
                least = aspect.show(min(aspect.values))
                costs.append(f"{aspect.noun} {aspect.show(aspect.values[k])} against {least}")
        lines.append(f"{names[k]} has {joined(wins)}, and gives up {joined(costs)}.")
    return lines


def _limit_line(rows: Sequence[Row], names: Sequence[str]) -> str:
    ratios = [number_of(row, "worst_field_over_limit") for row in rows]
    known = [ratio for ratio in ratios if ratio is not None]
    if len(known) < len(rows):
        return ""
    within = [name for name, ratio in zip(names, known, strict=True) if ratio <= 1]
    if not within:
        return "No case keeps every receptor's limit."
    if len(within) == len(names):
        return "Every case keeps every receptor's limit."
    return f"Every receptor's limit is kept by {listing(within)}; not by the other {len(names) - len(within)}."


def _spacing_line(rows: Sequence[Row], names: Sequence[str], judged: Sequence[Aspect]) -> str:
    met = [k for k, row in enumerate(rows) if row.number("spacing_rules_met")]
    if not met:
        return f"No case keeps {SPACINGS}."
    if len(met) == len(rows):
        return f"Every case keeps {SPACINGS}."
    text = f"{listing([names[k] for k in met])} {'keeps' if len(met) == 1 else 'keep'} {SPACINGS}"
    field = next((aspect for aspect in judged if aspect.noun == FIELD), None)
    if field is not None and len(met) > 1:
        best = min(met, key=lambda k: field.values[k])
        text += f"; of these {names[best]} has the lowest field, {field.show(field.values[best])}"
    return f"{text}."


def listing(names: Sequence[str]) -> str:
    """Names in a sentence, not too many."""
    if len(names) > MOST_NAMES:
        return f"{', '.join(names[: MOST_NAMES - 1])} and {len(names) - MOST_NAMES + 1} more"
    return joined(names)


def joined(parts: Sequence[str]) -> str:
    """Parts of a sentence as a list."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
