"""Names that must be different from each other."""

from collections.abc import Iterator

from studies.study.checks.findings import Finding, Reader
from studies.study.parts import GROUPS, layer_group

WITH_PARTS = ("circuits", "trays", "metalwork")
"""Lists of tables with parts named by the owner's name, a point, and more."""
DIFFERENT = (WITH_PARTS, ("receptors",), ("zones",), ("traverses",))
"""Lists of tables within which no two names may be the same."""


def name_findings(reader: Reader) -> Iterator[Finding]:
    """Names that are taken already."""
    for keys in DIFFERENT:
        first: dict[str, str] = {}
        for key in keys:
            for index, entry in reader.entries(key):
                name = entry.get("name")
                if not isinstance(name, str):
                    continue
                place = f"{key}[{index + 1}]"
                taken = first.setdefault(name.casefold(), place)
                if taken != place:
                    right = "a name of its own, different by more than capital letters"
                    yield Finding((key, index, "name"), f"is already the name of {taken}", right)
    yield from _names_of_parts(reader)
    groups = {
        layer_group(str(circuit.get("name")), layer).casefold(): GROUPS[layer]
        for _, circuit in reader.entries("circuits")
        for layer in GROUPS
    }
    for key in ("trays", "metalwork"):
        for index, table in reader.entries(key):
            layers = groups.get(str(table.get("name")).casefold())
            if layers is not None:
                yield Finding((key, index, "name"), f"already stands for the {layers} of a circuit", "another name")


def _names_of_parts(reader: Reader) -> Iterator[Finding]:
    """Names that begin as the parts of another circuit, tray or metalwork do: "F1.1" beside "F1"."""
    named = [
        (key, index, name)
        for key in WITH_PARTS
        for index, entry in reader.entries(key)
        if isinstance(name := entry.get("name"), str)
    ]
    owners = {name.casefold(): name for _, _, name in named}
    for key, index, name in named:
        folded = name.casefold()
        points = (k for k, sign in enumerate(folded) if sign == ".")
        owner = next((owners[folded[:k]] for k in points if folded[:k] in owners), None)
        if owner is not None:
            right = "another sign than the point after it, or another name"
            yield Finding((key, index, "name"), f'begins as the parts of "{owner}" are named', right)
