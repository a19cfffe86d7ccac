"""The tables of circuits and harmonics: frequencies as the study has them, circuits without current among them."""

import re
from types import SimpleNamespace
from typing import cast

import pytest

from studies.answers.losses import current_words as current_tables
from studies.result import Result
from studies.section.cross_section import cross_section
from studies.section.spectrum import components
from studies.study.reading import loads
from studies.study.starter import STARTER
from studies.text.table import Table
from tests.studies.sound_study import GOOD


@pytest.mark.parametrize(
    ("stated", "shown"), [("400 Hz", "400"), ("50 Hz", "50"), ("16.7 Hz", "16.7"), ("1 kHz", "1000")]
)
def test_the_frequency_of_the_circuits_keeps_its_zeros(stated, shown):
    study = loads(STARTER.replace('frequency = "50 Hz"', f'frequency = "{stated}"'))
    title = current_tables.circuit_title(study)
    assert re.fullmatch(rf"Circuits, {re.escape(shown)} Hz", title)
    assert cross_section(study).frequency == pytest.approx(float(shown), rel=1e-12)


IDLE_BESIDE_LOADED = (
    GOOD
    + """
[[circuits]]
name = "F2"
cable = "c240"
arrangement = "trefoil"
rests_at = ["400 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "0 A"
harmonics = { 5 = "20 %", 7 = "12 %" }
"""
)


def test_a_harmonic_of_a_circuit_without_current_is_a_row_of_zero_amperes():
    study = loads(IDLE_BESIDE_LOADED)
    circuits, harmonics = current_tables.current_blocks(
        cast(Result, SimpleNamespace(study=study, cross_section=cross_section(study)))
    )
    assert isinstance(circuits, Table)
    assert isinstance(harmonics, Table)
    rows = [
        dict(zip((column.heading for column in harmonics.full.columns), row, strict=True))
        for row in harmonics.full.rows
    ]
    told = [(row["Circuit"], row["Order"], row["Frequency"], row["Largest current, rms"]) for row in rows]
    assert told == [("F2", "5", "250", "0"), ("F2", "7", "350", "0")]


def test_a_harmonic_that_nothing_carries_is_no_frequency_to_solve():
    assert [component.frequency for component in components(loads(IDLE_BESIDE_LOADED))] == [50.0]
    loaded = loads(IDLE_BESIDE_LOADED.replace('"0 A"', '"10 A"'))
    assert [component.frequency for component in components(loaded)] == [50.0, 250.0, 350.0]
