"""The answer on net currents: fields and losses if some of a circuit's current returns outside of it."""

from __future__ import annotations

from studies.answers.answer import Answer
from studies.answers.net_currents.compute import net_currents
from studies.answers.net_currents.words import (
    metal_return_lines,
    net_current_rows,
    net_current_section,
    net_current_tables,
    net_current_verdicts,
    net_current_words,
)

NET_CURRENTS = Answer(
    "net_currents",
    "net currents",
    lambda asked: net_currents(asked.study, asked.solutions, asked.done),
    empty=None,
    needs=("receptors", "zones", "losses"),
    files=lambda found: {} if found is None else {"net_current_field": found.fields, "net_current_loss": found.losses},
    sections={"Net currents": net_current_section},
    brief=net_current_tables,
    notes=net_current_words,
    verdicts=net_current_verdicts,
    alarms=metal_return_lines,
    sheet=net_current_rows,
    lines=net_current_words,
    sees=("receptors", "zones"),
)
