"""The answer on charging: capacitance and current of each phase."""

from __future__ import annotations

from studies.answers.answer import Answer, Asked
from studies.answers.charging.compute import charging_results
from studies.answers.charging.rows import ChargingResult
from studies.answers.charging.words import charging_rows, charging_section, charging_table


def _charging(asked: Asked) -> tuple[ChargingResult, ...]:
    return charging_results(asked.study, asked.base, asked.report_progress)


CHARGING = Answer(
    "charging",
    "charging currents",
    _charging,
    sections={"Capacitance and charging current": lambda seen, _: charging_section(seen)},
    brief=lambda seen: (charging_table(seen),),
    sheet=charging_rows,
    sees=("route",),
)
