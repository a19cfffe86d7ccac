"""The drawing: there where something is taken from it."""

from collections.abc import Iterator

from studies.study.checks.findings import Finding, Place, Reader

_RIGHT = '[drawing] with file = "section.dxf" and unit = "mm"'


def drawing_findings(reader: Reader) -> Iterator[Finding]:
    """Circuits and metalwork of a drawing that the study has not, and a drawing that nothing is taken from."""
    users: list[Place] = [
        (key, index, choice)
        for key, choice in (("circuits", "arrangement"), ("metalwork", "shape"))
        for index, table in reader.entries(key)
        if table.get(choice) == "drawing"
    ]
    if "drawing" not in reader.data:
        for place in users:
            yield Finding(place, "needs a drawing, the study has none", _RIGHT)
    elif not users:
        right = 'arrangement = "drawing" in a circuit or shape = "drawing" in metalwork, or no [drawing]'
        yield Finding(("drawing",), "is a drawing that nothing is taken from", right)
