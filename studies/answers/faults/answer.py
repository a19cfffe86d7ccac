"""Answers on faults: forces on the cables, of two-phase faults, and those to design cleats for."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from studies.answers import figure_names as names
from studies.answers.answer import Answer, Asked, Draw
from studies.answers.answers import Answers
from studies.answers.faults.compute import StatedFault, design_rows, force_rows, pair_rows, stated_faults
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult
from studies.answers.faults.words import design_table, fault_section, force_rows_of_sheet, greatest_forces


def _forces(asked: Asked) -> tuple[StatedFault, ...]:
    return stated_faults(asked.study, asked.base, asked.report_progress)


def _faults(asked: Asked) -> tuple[FaultForceResult, ...]:
    return force_rows(asked.base.section, asked.done["fault_forces"])


def _pairs(asked: Asked) -> tuple[FaultPairResult, ...]:
    return pair_rows(asked.done["fault_forces"])


def _design(asked: Asked) -> tuple[FaultDesignResult, ...]:
    return design_rows(asked.done["fault_forces"])


def _figures(seen: Answers) -> Mapping[str, Draw]:
    from studies.answers.faults.figure import draw_force_arrows

    shown = [forces for fault in seen.fault_forces for forces in fault.reported()]
    return {
        f"{names.FAULT_FORCES}_{number}": partial(draw_force_arrows, seen.cross_section, forces)
        for number, forces in enumerate(shown, 1)
    }


FAULT_FORCES = Answer("fault_forces", "fault forces", _forces, kept=False)
FAULTS = Answer(
    "faults",
    "table of fault forces",
    _faults,
    needs=("fault_forces",),
    sections={"Forces in a short circuit": fault_section},
    brief=lambda seen: (greatest_forces(seen),),
    figures=_figures,
    sees=("fault_design", "fault_forces", "fault_pairs"),
)
FAULT_PAIRS = Answer("fault_pairs", "table of two-phase faults", _pairs, needs=("fault_forces",))
FAULT_DESIGN = Answer(
    "fault_design",
    "table of design forces",
    _design,
    needs=("fault_forces",),
    brief=lambda seen: (design_table(seen),),
    sheet=force_rows_of_sheet,
)
