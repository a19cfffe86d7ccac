"""The material that a study states for each part."""

from __future__ import annotations

from studies.section.parts import StudyPart
from studies.study.cables import layer_temperature
from studies.study.file import Study
from studies.study.parts import CONDUCTOR, COVER
from studies.study.trays import Cover


def stated_material(study: Study, part: StudyPart) -> tuple[str, float]:
    """Material and temperature [degC] that the study states for a part."""
    if part.cable is not None:
        circuit = next(circuit for circuit in study.circuits if circuit.name == part.cable.circuit)
        cable = study.cables[circuit.cable]
        if part.kind == CONDUCTOR:
            return cable.conductor.material, cable.conductor.temperature
        layer = getattr(cable, part.kind)
        return layer.material, layer_temperature(cable, layer)
    for tray in study.trays:
        if f"{part.name}.".startswith(f"{tray.name}."):
            own = tray.cover.material if isinstance(tray.cover, Cover) and part.name.endswith(f".{COVER}") else None
            return own or tray.material, tray.temperature
    work = next(work for work in study.metalwork if f"{part.name}.".startswith(f"{work.name}."))
    return work.material, work.temperature
