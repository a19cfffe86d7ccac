"""The answer on net currents: fields and losses if some of a circuit's current returns outside of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studies.answers.answer import Answer
from studies.answers.net_currents.compute import net_currents
from studies.answers.net_currents.rows import NetCurrents
from studies.answers.net_currents.words import (
    metal_return_lines,
    net_current_rows,
    net_current_section,
    net_current_tables,
    net_current_verdicts,
    net_current_words,
)


def _files(found: NetCurrents | None) -> Mapping[str, Sequence[object]]:
    """Each table of rows by name."""
    if found is None:
        return {}
    tables = {"field": found.fields, "distance": found.distances, "loss": found.losses}
    return {f"net_current_{name}": rows for name, rows in tables.items() if rows}


NET_CURRENTS = Answer(
    "net_currents",
    "net currents",
    lambda asked: net_currents(asked.study, asked.solutions, asked.done),
    empty=None,
    needs=("receptors", "zones", "traverses", "limit_distances", "losses"),
    files=_files,
    sections={"Net currents": net_current_section},
    brief=net_current_tables,
    notes=net_current_words,
    verdicts=net_current_verdicts,
    alarms=metal_return_lines,
    sheet=net_current_rows,
    lines=net_current_words,
    sees=("receptors", "zones"),
)
