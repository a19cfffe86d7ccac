"""A result as a few plain tables for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from studies.engineering import difference, engineering, percent
from studies.results import Result

VERDICTS = {True: "within", False: "ABOVE", None: ""}


def summary(result: Result) -> str:
    """The main numbers of a result as text: receptors, losses, phases, each beside its formula."""
    blocks = [f"{result.study.title} ({result.study.frequency:g} Hz)"]
    if result.receptors:
        blocks.append(
            _table(
                ("receptor", "field, rms", "line formula", "differs", "limit", ""),
                [
                    (
                        receptor.name,
                        engineering(receptor.b_rms_t, "T", error=receptor.b_rms_error_t),
                        engineering(receptor.line_formula_b_rms_t, "T"),
                        percent(difference(receptor.b_rms_t, receptor.line_formula_b_rms_t)),
                        engineering(receptor.limit_t, "T"),
                        VERDICTS[receptor.within_limit],
                    )
                    for receptor in result.receptors
                ],
            )
        )
    blocks.append(
        _table(
            ("part", "phase", "current", "loss", "formula", "differs"),
            [
                (
                    loss.part,
                    loss.phase or "",
                    engineering(abs(part.current_a), "A"),
                    engineering(loss.loss_w_per_m, "W/m", error=loss.loss_error_w_per_m),
                    engineering(loss.formula_loss_w_per_m, "W/m"),
                    percent(difference(loss.loss_w_per_m, loss.formula_loss_w_per_m)),
                )
                for loss, part in zip(result.losses, result.parts, strict=True)
            ],
        )
    )
    blocks.append(
        _table(
            ("phase", "R = Re(u/i)", "X = Im(u/i)", "inductance", "line formula", "differs", "GMD/GMR"),
            [
                (
                    f"{phase.circuit} {phase.phase}",
                    engineering(phase.z_ohm_per_m.real, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                    engineering(phase.z_ohm_per_m.imag, "Ω/m") if phase.z_ohm_per_m is not None else "–",
                    engineering(phase.inductance_h_per_m, "H/m"),
                    engineering(phase.formula_inductance_h_per_m, "H/m"),
                    percent(difference(phase.inductance_h_per_m, phase.formula_inductance_h_per_m)),
                    engineering(phase.gmd_inductance_h_per_m, "H/m"),
                )
                for phase in result.phases
            ],
        )
    )
    accuracy = result.accuracy
    reached = "met" if accuracy.met else "NOT met"
    last = accuracy.levels[-1]
    blocks.append(
        f"Accuracy asked {100 * accuracy.tolerance:g} %, largest error estimate {100 * accuracy.worst_error:.2g} %: "
        f"{reached} with {last.unknowns:,} unknowns after {len(accuracy.levels)} meshes."
    )
    missed = [entry.name for entry in result.receptors if not entry.within_tolerance]
    missed += [entry.part for entry in result.losses if not entry.within_tolerance]
    missed += [f"{entry.circuit} {entry.phase}" for entry in result.phases if not entry.within_tolerance]
    if missed:
        blocks.append(f"Not within the asked accuracy: {', '.join(missed)}.")
    return "\n\n".join(blocks)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns under their heads, words to the left and numbers to the right."""
    widths = [max(len(line[k]) for line in (head, *rows)) for k in range(len(head))]
    numbers = [any(character.isdigit() for character in row[k][:2]) for row in rows[:1] for k in range(len(head))]
    lines = []
    for line in (head, tuple("-" * width for width in widths), *rows):
        cells = [
            cell.rjust(width) if number and k else cell.ljust(width)
            for k, (cell, width, number) in enumerate(zip(line, widths, numbers, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)
