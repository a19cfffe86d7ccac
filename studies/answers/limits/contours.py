"""Limits of receptors and zones as figures name them: flux densities with the names of what has them."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.answers.fields.rows import ReceptorResult
from studies.answers.figure_names import frequencies
from studies.answers.limits.rows import ZoneResult
from studies.text.numbers import stated
from studies.text.units import FLUX_DENSITY, common_unit

MOST_NAMES = 3
"""Names listed with a limit."""

Limited = ReceptorResult | ZoneResult


def limit_names(result: Answers) -> dict[float, str]:
    """Each distinct limit of the flux density [T], smallest first, with its value and the names of what has it.

    A reference level counts where there is one frequency alone; of several it limits a sum of ratios, see
    `index_limit_names`.
    """
    having = [entry for entry in _limited(result) if not limits_index(result, entry)]
    found = {}
    for limit in sorted({entry.limit_t for entry in having if entry.limit_t is not None}):
        own = [entry.name for entry in having if entry.limit_t == limit]
        found[limit] = f"{stated(limit, common_unit([limit], FLUX_DENSITY))} {', '.join(_shortened(own))}"
    return found


def index_limit_names(result: Answers) -> dict[str, str]:
    """Each reference level that limits the exposure to several frequencies, with the names of what has it."""
    having = [entry for entry in _limited(result) if limits_index(result, entry)]
    return {
        name: ", ".join(_shortened([entry.name for entry in having if entry.limit_name == name]))
        for name in dict.fromkeys(entry.limit_name for entry in having)
        if name is not None
    }


def limits_index(result: Answers, entry: Limited) -> bool:
    """Whether the limit of a receptor or zone is one of the exposure to several frequencies."""
    return entry.limit_name is not None and several_frequencies(result)


def several_frequencies(result: Answers) -> bool:
    """Whether the fields of a result have more than one frequency."""
    return len(frequencies(result)) > 1


def _limited(result: Answers) -> tuple[Limited, ...]:
    entries: tuple[Limited, ...] = (*result.receptors, *result.zones)
    return tuple(entry for entry in entries if entry.limit_t is not None)


def _shortened(names: list[str]) -> list[str]:
    return names if len(names) <= MOST_NAMES else [*names[: MOST_NAMES - 1], f"and {len(names) - MOST_NAMES + 1} more"]
