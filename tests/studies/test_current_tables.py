"""The table of circuits names the frequency that the study has."""

import re

import pytest

from studies.cross_section import cross_section
from studies.reading import loads
from studies.report import current_tables
from studies.starter import STARTER


@pytest.mark.parametrize(
    ("stated", "shown"), [("400 Hz", "400"), ("50 Hz", "50"), ("16.7 Hz", "16.7"), ("1 kHz", "1000")]
)
def test_the_frequency_of_the_circuits_keeps_its_zeros(stated, shown):
    study = loads(STARTER.replace('frequency = "50 Hz"', f'frequency = "{stated}"'))
    title = current_tables.circuit_title(study)
    assert re.fullmatch(rf"Circuits, {re.escape(shown)} Hz", title)
    assert cross_section(study).frequency == pytest.approx(float(shown), rel=1e-12)
