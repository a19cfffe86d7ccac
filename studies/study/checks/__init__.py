"""What one key of a study says about another: names that must exist, keys that go together, numbers that must agree.

The checks read plain nested tables, from a file or from models, and pass over whatever is broken in itself, so that
every problem of a file can be told at once.
"""

from studies.study.checks.bonds import bond_findings
from studies.study.checks.cables import FILL_RANGE, RESISTANCE_RANGE, cable_findings
from studies.study.checks.circuits import circuit_findings
from studies.study.checks.decisions import decision_findings
from studies.study.checks.drawings import drawing_findings
from studies.study.checks.findings import Finding, Place, Reader, Table
from studies.study.checks.materials import material_findings
from studies.study.checks.metalwork import metalwork_findings
from studies.study.checks.names import name_findings
from studies.study.checks.requests import request_findings
from studies.study.checks.trays import tray_findings
from studies.study.key_sets import ARRANGEMENTS, PROFILES, SHAPES

__all__ = [
    "ARRANGEMENTS",
    "FILL_RANGE",
    "PROFILES",
    "RESISTANCE_RANGE",
    "SHAPES",
    "Finding",
    "Place",
    "Table",
    "inconsistencies",
]

CHECKS = (
    name_findings,
    material_findings,
    cable_findings,
    circuit_findings,
    tray_findings,
    metalwork_findings,
    drawing_findings,
    bond_findings,
    request_findings,
    decision_findings,
)


def inconsistencies(data: Table, bare_numbers: bool) -> list[Finding]:
    """Everything in a study that does not agree with the rest of it.

    Parameters
    ----------
    data : mapping
        The study's tables with the keys of the study file.
    bare_numbers : bool
        Whether numbers without a unit are SI numbers (from Python) or mistakes (from a file).

    Returns
    -------
    findings : list of Finding
        In no particular order.
    """
    reader = Reader(data, bare_numbers)
    return [finding for check in CHECKS for finding in check(reader)]
