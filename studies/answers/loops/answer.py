"""The answer on neighbours: voltages induced in pairs and loops of other circuits."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.loops.compute import loop_results
from studies.answers.loops.rows import LoopResult
from studies.answers.loops.words import limit_lines, loop_rows, loop_section, loop_table, touch_lines


def _loops(asked: Asked) -> tuple[LoopResult, ...]:
    return loop_results(asked.study, asked.solutions)


LOOPS = Answer(
    "loops",
    "induced voltages",
    _loops,
    sections={"Induced voltages": lambda seen, _: loop_section(seen)},
    brief=lambda seen: (loop_table(seen),),
    verdicts=limit_lines,
    alarms=touch_lines,
    sheet=loop_rows,
)
