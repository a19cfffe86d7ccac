"""The answers first: which receptors are within their limit, what is lost, and how exact the numbers are."""

from __future__ import annotations

from studies.figures.engineering import FLUX_DENSITY, LOSS_PER_LENGTH, Unit, common_unit, plain, stated, unit_for
from studies.report.blocks import Text
from studies.report.numbers import difference, joined, percent
from studies.results import ReceptorResult, Result


def plural(kind: str) -> str:
    """All parts of a kind in words."""
    return kind if kind.endswith("work") else f"{kind}s"


def summary(result: Result) -> tuple[Text, ...]:
    """The leading sentence and the list of answers."""
    lines = [*(_receptor_line(receptor, receptor_unit(result)) for receptor in result.receptors), _loss_line(result)]
    sharing = _sharing_line(result)
    if sharing:
        lines.append(sharing)
    lines.append(_accuracy_line(result))
    return Text((_verdict(result),), "lead"), Text(tuple(lines), "list")


def receptor_unit(result: Result) -> Unit:
    """One unit for the fields and limits of all receptors."""
    limits = [receptor.limit_t for receptor in result.receptors if receptor.limit_t is not None]
    return common_unit([*(receptor.b_rms_t for receptor in result.receptors), *limits], FLUX_DENSITY)


def verdict(receptor: ReceptorResult) -> str:
    """Whether a receptor is within its limit, in words."""
    if receptor.limit_t is None:
        return "no limit stated"
    if receptor.within_limit:
        return "within the limit"
    return "above the limit" if receptor.b_rms_t > receptor.limit_t else "limit within the error"


def margin(receptor: ReceptorResult) -> float | None:
    """What is left to the limit with the error counted against it, over the limit. [-]"""
    if receptor.limit_t is None:
        return None
    return 1 - (receptor.b_rms_t + receptor.b_rms_error_t) / receptor.limit_t


def _verdict(result: Result) -> str:
    limited = [receptor for receptor in result.receptors if receptor.limit_t is not None]
    if not result.receptors:
        return "The study names no receptor: the field is given by the maps and traverses."
    if not limited:
        strongest = max(result.receptors, key=lambda receptor: receptor.b_rms_t)
        value = joined(strongest.b_rms_t, strongest.b_rms_error_t, receptor_unit(result))
        return f"No limit is stated. The strongest field at a receptor is {value} at “{strongest.name}”."
    worst = min(limited, key=lambda receptor: margin(receptor) or 0.0)
    exceeded = [receptor for receptor in limited if not receptor.within_limit]
    if not exceeded:
        count = "The receptor is" if len(limited) == 1 else f"All {len(limited)} receptors with a limit are"
        return (
            f"{count} within the limit. The least margin is {percent(margin(worst), signed=False)} % of the limit, "
            f"at “{worst.name}”."
        )
    if len(limited) == 1:
        return f"The receptor “{worst.name}” is not within its limit: the field is {_times(worst)}."
    count = f"{len(exceeded)} of {len(limited)} receptors with a limit {'is' if len(exceeded) == 1 else 'are'}"
    return f"{count} not within it. The worst is “{worst.name}”: the field is {_times(worst)}."


def _times(receptor: ReceptorResult) -> str:
    ratio = receptor.b_rms_t / (receptor.limit_t or 1.0)
    return f"{plain(ratio, 3)} times the limit"


def _receptor_line(receptor: ReceptorResult, unit: Unit) -> str:
    value = joined(receptor.b_rms_t, receptor.b_rms_error_t, unit)
    off = percent(difference(receptor.line_formula_b_rms_t, receptor.b_rms_t))
    formula = f"the line formula says {plain(unit.of(receptor.line_formula_b_rms_t))}\u202f{unit.symbol} ({off} %)"
    if receptor.limit_t is None:
        return f"{receptor.name}: {value}, no limit stated; {formula}."
    left = f"{percent(margin(receptor), signed=False)} % of it left" if receptor.within_limit else _times(receptor)
    return (
        f"{receptor.name}: {value} against a limit of {stated(receptor.limit_t, unit)}, {verdict(receptor)}, {left}; "
        f"{formula}."
    )


def _loss_line(result: Result) -> str:
    total = sum(loss.loss_w_per_m for loss in result.losses)
    error = sum(loss.loss_error_w_per_m for loss in result.losses)
    unit = unit_for(total, LOSS_PER_LENGTH)
    shares = [
        f"{plural(kind)} {plain(unit.of(result.loss_total(kind)), 4)}\u202f{unit.symbol}"
        for kind in dict.fromkeys(loss.kind for loss in result.losses)
    ]
    return f"Loss: {joined(total, error, unit)} in all; {', '.join(shares)}."


def parallel_conductors(result: Result) -> frozenset[str]:
    """Names of the conductors that share their phase with others."""
    ties = [result.cross_section.ties[phase.tie] for phase in result.cross_section.phases]
    return frozenset(part for tie in ties if len(tie.parts) > 1 for part in tie.parts)


def _sharing_line(result: Result) -> str:
    parallel = parallel_conductors(result)
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


def _accuracy_line(result: Result) -> str:
    accuracy = result.accuracy
    reached, asked = percent(accuracy.worst_error, signed=False), percent(accuracy.tolerance, signed=False)
    state = "reached" if accuracy.met else "not reached everywhere"
    return (
        f"Numerical accuracy: asked {asked} %, {state}; the largest error estimate is {reached} %. It covers the "
        "numerics alone, not what is assumed about materials and positions."
    )
