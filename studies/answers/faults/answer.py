"""Answers on faults: forces on the cables, of two-phase faults, and those to design cleats for."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.faults.compute import StatedFault, design_rows, force_rows, pair_rows, stated_faults
from studies.answers.faults.rows import FaultDesignResult, FaultForceResult, FaultPairResult


def _forces(asked: Asked) -> tuple[StatedFault, ...]:
    return stated_faults(asked.study, asked.base, asked.tell)


def _faults(asked: Asked) -> tuple[FaultForceResult, ...]:
    return force_rows(asked.base.section, asked.done["fault_forces"])


def _pairs(asked: Asked) -> tuple[FaultPairResult, ...]:
    return pair_rows(asked.done["fault_forces"])


def _design(asked: Asked) -> tuple[FaultDesignResult, ...]:
    return design_rows(asked.done["fault_forces"])


FAULT_FORCES = Answer("fault_forces", "fault forces", _forces, kept=False)
FAULTS = Answer("faults", "table of fault forces", _faults, needs=("fault_forces",))
FAULT_PAIRS = Answer("fault_pairs", "table of two-phase faults", _pairs, needs=("fault_forces",))
FAULT_DESIGN = Answer("fault_design", "table of design forces", _design, needs=("fault_forces",))
