"""The answer on direct currents: static fields, losses and total currents."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.direct_currents.compute import direct_currents
from studies.answers.direct_currents.rows import DirectCurrents
from studies.answers.direct_currents.words import (
    direct_current_alarms,
    direct_current_lines,
    direct_current_rows,
    direct_current_section,
    direct_current_tables,
    direct_current_verdicts,
)


def _direct_currents(asked: Asked) -> DirectCurrents | None:
    return direct_currents(asked.study, asked.done["losses"], asked.done["parts"], asked.report_progress)


DIRECT_CURRENTS = Answer(
    "direct_currents",
    "static field of direct currents",
    _direct_currents,
    empty=None,
    needs=("losses", "parts"),
    files=lambda found: {} if found is None else {"direct_field": found.fields, "direct_loss": found.conductors},
    sections={"Direct currents": direct_current_section},
    brief=direct_current_tables,
    notes=direct_current_lines,
    verdicts=direct_current_verdicts,
    alarms=direct_current_alarms,
    sheet=direct_current_rows,
    lines=direct_current_lines,
)
