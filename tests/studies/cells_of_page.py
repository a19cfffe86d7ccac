"""What every table of a report holds: heading, unit and result field of each column, in the order of the page.

Written from what the headings and the docstrings of the results say, not from the code that makes the tables.
"""

from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from studies.answers.registry import ANSWERS
from studies.result import Result
from tests.studies.cells import Known
from tests.studies.cells_of_decisions import decision_tables
from tests.studies.cells_of_fields import field_tables, limit_tables
from tests.studies.cells_of_parts import bond_tables, formula_tables, impedance_tables, loss_tables
from tests.studies.cells_of_sheet import sheet_tables
from tests.studies.cells_of_study import study_tables


def page_tables(result: Result) -> Iterator[Known]:
    """Every table that the report of a result has, in order."""
    first, materials, last = study_tables(result)
    yield from sheet_tables(result)
    yield from first
    yield from field_tables(result)
    yield from limit_tables(result)
    yield from loss_tables(result)
    yield from bond_tables(result)
    yield from impedance_tables(result)
    yield from decision_tables(result)
    yield from of_own_tests("page_tables", result)
    yield from materials
    yield from formula_tables(result)
    yield from last


def of_own_tests(what: str, result: Result) -> Iterator[Any]:
    """What the test module of an answer, `test_KEY.py`, knows of its tables or sentences, if it has such a function."""
    for answer in ANSWERS:
        name = f"tests.studies.test_{answer.key}"
        known = getattr(import_module(name), what, None) if find_spec(name) is not None else None
        yield from () if known is None else known(result)
