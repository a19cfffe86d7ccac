"""Losses and currents in a terminal."""

from __future__ import annotations

import textwrap

from studies.answers.answers import Answers
from studies.answers.losses.doubtful_currents import computed_currents, doubtful_currents, in_words
from studies.answers.steel.steel_words import third_harmonic_words
from studies.section.cross_section import parallel_conductors
from studies.study.parts import CONDUCTOR, METAL_LAYERS
from studies.text.engineering import difference, percent, three_digits
from studies.text.plain_table import PlainTable
from studies.text.terminal import WIDEST


def doubt_brief(result: Answers) -> tuple[str, ...]:
    """Currents that no verdict below should be read without."""
    doubt = in_words(doubtful_currents(result.study, result.cross_section, computed_currents(result.parts)))
    return (textwrap.fill(doubt, WIDEST),) if doubt else ()


def total_brief(result: Answers) -> PlainTable:
    """The loss of each kind of part."""
    kinds = tuple(dict.fromkeys(loss.kind for loss in result.losses))
    rows = [
        (
            kind,
            str(sum(loss.kind == kind for loss in result.losses)),
            three_digits(result.loss_total(kind), "W/m"),
            _share(result.loss_total(kind), result),
        )
        for kind in kinds
    ]
    total = sum(loss.loss_w_per_m for loss in result.losses)
    rows.append(("all", str(len(result.losses)), three_digits(total, "W/m"), _share(total, result)))
    return PlainTable(("loss of", "parts", "loss", "of all"), tuple(rows))


def part_brief(result: Answers) -> PlainTable:
    """Current and loss of each part beside the formula."""
    open_ends = any(part.standing_voltage_v_per_100m is not None for part in result.parts)
    of = {part.part: part for part in result.parts}
    head = ("part", "phase", "current", "loss", "formula", "differs", *(("open end, 100 m",) if open_ends else ()))
    return PlainTable(
        head,
        tuple(
            (
                loss.part,
                loss.phase or "",
                three_digits(part.current_rms_a if (part := of.get(loss.part)) else None, "A"),
                three_digits(loss.loss_w_per_m, "W/m"),
                three_digits(loss.formula_loss_w_per_m, "W/m"),
                percent(difference(loss.loss_w_per_m, loss.formula_loss_w_per_m)),
                *((three_digits(part.standing_voltage_v_per_100m if part else None, "V"),) if open_ends else ()),
            )
            for loss in result.losses
        ),
    )


def sharing_brief(result: Answers) -> PlainTable:
    """How parallel cables share their current."""
    parallel = parallel_conductors(result.cross_section)
    return PlainTable(
        ("parallel cable", "phase", "current", "of equal share", "closed form", "differs"),
        tuple(
            (
                part.part.removesuffix(f".{CONDUCTOR}"),
                part.phase or "",
                three_digits(part.current_rms_a, "A"),
                "–" if part.share_of_phase is None else f"{100 * part.share_of_phase:.1f} %",
                three_digits(part.formula_current_rms_a, "A"),
                percent(difference(part.current_rms_a, part.formula_current_rms_a)),
            )
            for part in result.parts
            if part.part in parallel
        ),
    )


def formula_notes(result: Answers) -> list[str]:
    """Which formulas of losses stand beside the numbers, and how good they are here."""
    told = [*metal_formula_lines(result), third_harmonic_words(result)]
    return ["\n".join(textwrap.wrap(line, WIDEST)) for line in told if line]


def _share(value: float, result: Answers) -> str:
    total = sum(loss.loss_w_per_m for loss in result.losses)
    return f"{100 * value / total:.1f} %" if total > 0 else "–"


def metal_formula_lines(result: Answers) -> list[str]:
    """What the formulas of losses in screens, sheaths and trays are, and where they are used outside their range."""
    parts: dict[tuple[str, str], list[str]] = {}
    for loss in result.losses:
        if loss.kind != CONDUCTOR and loss.formula_loss_w_per_m is not None:
            name = loss.formula.rpartition(", ")[0] if loss.kind in METAL_LAYERS else loss.formula
            parts.setdefault((name, loss.formula_outside_range), []).append(loss.part)
    return [
        f"Loss formula of {', '.join(names)}: {formula}{f' (outside its range: {outside})' if outside else ''}."
        for (formula, outside), names in parts.items()
    ]
