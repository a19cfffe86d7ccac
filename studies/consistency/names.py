"""Names that must be different from each other."""

from collections.abc import Iterator

from studies.consistency.findings import Finding, Reader
from studies.parts import GROUPS, layer_group

DIFFERENT = (("circuits", "trays", "metalwork"), ("receptors",), ("zones",), ("traverses",))
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
