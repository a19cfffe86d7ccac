"""What the tables of a study say about each other: every check of every subject, and names that must differ."""

from collections.abc import Iterator

from studies.study.bonds import bond_findings
from studies.study.cables import cable_findings
from studies.study.circuits import circuit_findings
from studies.study.course import course_findings
from studies.study.decisions import decision_findings
from studies.study.direct_currents import direct_current_findings
from studies.study.energy import energy_findings
from studies.study.findings import Finding, Plain, Reader, repeated
from studies.study.laying import laying_findings
from studies.study.materials import material_findings
from studies.study.metalwork import drawing_findings, metalwork_findings
from studies.study.net_currents import net_current_findings
from studies.study.parts import GROUPS, layer_group
from studies.study.plates import plate_findings
from studies.study.requests import request_findings
from studies.study.solved_changes import change_findings
from studies.study.stated_limits import stated_limit_findings
from studies.study.survey import survey_findings
from studies.study.trays import tray_findings

WITH_PARTS = ("circuits", "trays", "metalwork")
"""Lists of tables with parts named by the owner's name, a point, and more."""
DIFFERENT = (WITH_PARTS, ("receptors",), ("zones",), ("traverses",), ("loops",), ("stated_limits",), ("plates",))
"""Lists of tables within which no two names may be the same."""


def inconsistencies(data: Plain, bare_numbers: bool) -> list[Finding]:
    """Everything in a study's tables that does not agree with the rest of them, in no particular order.

    With `bare_numbers`, as from Python, numbers without a unit are SI numbers; in a file they are mistakes.
    """
    reader = Reader(data, bare_numbers)
    return [finding for check in CHECKS for finding in check(reader)]


def name_findings(reader: Reader) -> Iterator[Finding]:
    """Names that are taken already, capital letters or not."""
    for keys in DIFFERENT:
        named = _names(reader, *keys)
        entries = (((key, k, "name"), name.casefold(), f"{key}[{k + 1}]") for key, k, name in named)
        for place, taken in repeated(entries):
            right = "a name of its own, different by more than capital letters"
            yield Finding(place, f"is already the name of {taken}", right)
    yield from _names_of_parts(reader)
    groups = {
        layer_group(name, layer).casefold(): GROUPS[layer] for name in reader.titles("circuits") for layer in GROUPS
    }
    for key, index, name in _names(reader, "trays", "metalwork"):
        layers = groups.get(name.casefold())
        if layers is not None:
            yield Finding((key, index, "name"), f"already stands for the {layers} of a circuit", "another name")


def _names(reader: Reader, *keys: str) -> list[tuple[str, int, str]]:
    """Each name of some lists of tables, with list and index."""
    return [
        (key, k, name) for key in keys for k, entry in reader.entries(key) if isinstance(name := entry.get("name"), str)
    ]


def _names_of_parts(reader: Reader) -> Iterator[Finding]:
    """Names that begin as the parts of another circuit, tray or metalwork do: "F1.1" beside "F1"."""
    named = _names(reader, *WITH_PARTS)
    owners = {name.casefold(): name for _, _, name in named}
    for key, index, name in named:
        folded = name.casefold()
        points = (k for k, sign in enumerate(folded) if sign == ".")
        owner = next((owners[folded[:k]] for k in points if folded[:k] in owners), None)
        if owner is not None:
            right = "another sign than the point after it, or another name"
            yield Finding((key, index, "name"), f'begins as the parts of "{owner}" are named', right)


CHECKS = (
    name_findings,
    material_findings,
    cable_findings,
    circuit_findings,
    net_current_findings,
    direct_current_findings,
    tray_findings,
    metalwork_findings,
    drawing_findings,
    bond_findings,
    request_findings,
    course_findings,
    change_findings,
    stated_limit_findings,
    decision_findings,
    laying_findings,
    survey_findings,
    energy_findings,
    plate_findings,
)
