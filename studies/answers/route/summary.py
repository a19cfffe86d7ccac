"""The run in the summary of the report."""

from __future__ import annotations

from studies.answers.answers import Answers
from studies.text.numbers import plain


def route_verdict(result: Answers) -> str:
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
