"""What the tables of a report hold that say what was studied, how it was solved and of what it is."""

import cmath
import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

from fem.materials import skin_depth
from geometry.shapes import boundary_loops
from studies.result import Result
from studies.section.spectrum import fundamental
from studies.study.circuits import further_phase_currents, phase_currents
from studies.study.direct_currents import direct_phase_currents
from studies.study.materials import material_of
from studies.study.trays import Cover, Tray
from tests.studies.cells import Expected, Known, angle, num, words

SEQUENCES = ("zero", "positive", "negative")
ANYTHING = re.compile("")
"""Words that other tests read."""


def study_tables(result: Result) -> tuple[list[Known], list[Known], list[Known]]:
    """Those at the beginning, of the materials, and in the appendices."""
    return [*_circuits(result), *_metal(result)], [_materials(result)], [*_method(result), _software()]


def _circuits(result: Result) -> Iterator[Known]:
    study = result.study
    rows = [(circuit, *pair) for circuit in study.circuits for pair in phase_currents(circuit).items()]
    own = any(circuit.frequency is not None for circuit in study.circuits)
    labels = [(cable.circuit, cable.phase) for cable in result.cross_section.cables]
    frequency = (num("Frequency", "Hz", lambda row: fundamental(study, row[0])),) if own else ()
    direct: tuple[Expected, ...] = ()
    if any(circuit.direct_current is not None for circuit in study.circuits):
        direct = (
            num("Direct current", "A", lambda row: direct_phase_currents(row[0].phases, row[0].direct_current)[row[1]]),
        )
    yield Known(
        "Circuits" if own else f"Circuits, {study.frequency:g} Hz",
        rows,
        (
            words("Phase", lambda row: f"{row[0].name} {row[1]}"),
            words("Cable", lambda row: row[0].cable),
            words("Arrangement", lambda row: row[0].arrangement),
            num("Cables", "–", lambda row: float(labels.count((row[0].name, row[1])))),
            *frequency,
            *direct,
            num("Current, rms", "A", lambda row: abs(row[2])),
            num("Angle", "°", lambda row: angle(row[2])),
        ),
    )
    harmonics = [(circuit, *pair) for circuit in study.circuits for pair in sorted(circuit.harmonics.items())]
    if harmonics:
        yield Known(
            "Harmonics",
            harmonics,
            (
                words("Circuit", lambda row: row[0].name),
                num("Order", "–", lambda row: float(row[1])),
                num("Frequency", "Hz", lambda row: row[1] * fundamental(study, row[0])),
                num("Of the fundamental", "%", lambda row: row[2].share),
                num("Turned by", "°", lambda row: row[2].angle),
                num("Largest current, rms", "A", _largest_harmonic),
                words("Sequence", _sequence),
            ),
        )
    further = [(circuit, own) for circuit in study.circuits for own in circuit.further_currents]
    if further:
        yield Known(
            "Further currents",
            further,
            (
                words("Circuit", lambda row: row[0].name),
                num("Frequency", "Hz", lambda row: row[1].frequency),
                words("Mode", lambda row: row[1].mode),
                num(
                    "Largest current, rms", "A", lambda row: max(abs(i) for i in further_phase_currents(*row).values())
                ),
                num("Net current, rms", "A", lambda row: abs(sum(further_phase_currents(*row).values()))),
            ),
        )
    used = {circuit.name: circuit.cable for circuit in study.circuits}
    names = list(dict.fromkeys(used[cable.circuit] for cable in result.cross_section.cables))
    yield Known(
        "Cables",
        [(name, study.cables[name]) for name in names],
        (
            words("Cable", lambda row: row[0]),
            words("Conductor material", lambda row: row[1].conductor.material),
            num("Area", "mm²", lambda row: row[1].conductor.area),
            num("Conductor diameter", "mm", lambda row: 2 * _conductor_radius(row[1])),
            num("Temperature", "°C", lambda row: row[1].conductor.temperature),
            words("Layers around it, from the inside out", lambda row: _layers(row[1])),
            num("Diameter over all", "mm", lambda row: 2 * (_conductor_radius(row[1]) + _around(row[1]))),
        ),
    )


def _largest_harmonic(row: Any) -> float:
    circuit, order, harmonic = row
    currents = {phase: current for phase, current in phase_currents(circuit).items() if phase != "N"}
    turned = [abs(i) * harmonic.share * np.exp(1j * order * np.angle(i)) for i in currents.values()]
    return float(max([abs(sum(turned)) if "N" in circuit.phases else 0.0, *map(abs, turned)]))


def _sequence(row: Any) -> str:
    circuit, order, _ = row
    balanced = {"L1", "L2", "L3"} <= set(circuit.phases) and isinstance(circuit.current, float)
    return SEQUENCES[order % 3] if balanced else "–"


def _conductor_radius(cable: Any) -> float:
    own = cable.conductor
    return math.sqrt(own.area / math.pi) if own.diameter is None else own.diameter / 2


def _thicknesses(cable: Any) -> list[tuple[str, float, Any]]:
    layers = ("insulation", "screen", "separation", "sheath", "bedding", "armour", "jacket")
    found = [(name, getattr(cable, name)) for name in layers]
    return [
        (name, getattr(own, "thickness", own), own if hasattr(own, "material") else None)
        for name, own in found
        if own is not None and getattr(own, "thickness", own) > 0
    ]


def _around(cable: Any) -> float:
    return sum(thickness for _, thickness, _ in _thicknesses(cable))


def _layers(cable: Any) -> str:
    texts = []
    for name, thickness, metal in _thicknesses(cable):
        material = f" ({metal.material})" if metal is not None else ""
        fill = f", {100 * metal.fill:g}\u202f% metal" if name == "armour" and metal.fill < 1 else ""
        texts.append(f"{name} {1e3 * thickness:.3g}\u202fmm{material}{fill}")
    return ", ".join(texts)


def _metal(result: Result) -> Iterator[Known]:
    study = result.study

    def over_all(name: str, axis: int) -> float | None:
        own = [part for part in result.cross_section.parts if part.name == name or part.name.startswith(f"{name}.")]
        corners = [boundary_loops(part.shape)[0] for part in own if part.cable is None]
        return float(np.ptp(np.vstack(corners)[:, axis])) if corners else None

    size = (
        num("Width over all", "mm", lambda row: over_all(row.name, 0)),
        num("Height over all", "mm", lambda row: over_all(row.name, 1)),
        num("Turned", "°", lambda row: row.turned),
    )
    if study.trays:
        yield Known(
            "Trays",
            study.trays,
            (
                words("Tray", lambda row: row.name),
                words("Profile", lambda row: row.profile),
                words("Material", lambda row: row.material),
                num("Temperature", "°C", lambda row: row.temperature),
                num("Thickness", "mm", lambda row: row.thickness),
                words("Sizes", _tray_sizes),
                *size,
                num("Open area", "%", lambda row: row.open_area),
                words("Cover", _cover),
            ),
        )
    if study.metalwork:
        yield Known(
            "Metalwork",
            study.metalwork,
            (
                words("Name", lambda row: row.name),
                words("Shape", lambda row: row.shape),
                words("Material", lambda row: row.material),
                num("Temperature", "°C", lambda row: row.temperature),
                words("Sizes", lambda row: _metalwork_sizes(result, row)),
                *size,
            ),
        )


def _mm(value: float) -> str:
    return f"{1e3 * value:.5g}\u202fmm"


def _metalwork_sizes(result: Result, work: Any) -> Any:
    if work.shape == "drawing":
        count = sum(
            part.name == work.name or part.name.startswith(f"{work.name}.") for part in result.cross_section.parts
        )
        return f"layer {work.layer}, {count} solid{'' if count == 1 else 's'}"
    named = {"width": work.width, "height": work.height, "web": work.web, "flanges": work.flange}
    named |= {"diameter": work.outside_diameter, "thickness": work.thickness}
    found = [re.escape(f"{name} {_mm(size)}") for name, size in named.items() if size is not None]
    found += [f"(closed )?path of {len(work.path)} points"] if work.path else []
    return re.compile(".*".join(found))


def _tray_sizes(tray: Tray) -> Any:
    if tray.inside_width is not None and tray.inside_height is not None:
        return re.compile(re.escape(f"inside {_mm(tray.inside_width)} × {_mm(tray.inside_height)}"))
    if tray.width is not None:
        return re.compile(re.escape(f"width {_mm(tray.width)}"))
    return re.compile(re.escape(f"bore {_mm(tray.inside_diameter or 0.0)}"))


def _cover(tray: Tray) -> Any:
    if tray.cover is None:
        return "none"
    return re.compile(re.escape(f"gap {_mm(tray.cover.gap)}")) if isinstance(tray.cover, Cover) else "in contact"


def _method(result: Result) -> Iterator[Known]:
    yield Known(
        "Meshes",
        list(enumerate(result.accuracy.levels, 1)),
        (
            words("Mesh", lambda row: f"no. {row[0]}"),
            num("Fineness", "–", lambda row: row[1].fineness),
            num("Unknowns", "–", lambda row: float(row[1].unknowns)),
            num("Triangles", "–", lambda row: float(row[1].triangles)),
            num("Largest change from the mesh before", "%", lambda row: row[1].worst_change),
        ),
    )
    checks = result.checks
    yield Known(
        "Checks",
        [
            ("Power balance", checks.power_balance),
            ("Reciprocity", checks.reciprocity),
            ("Ampère's law", checks.ampere_law),
        ],
        (
            words("Check", lambda row: row[0]),
            num("Residual", "–", lambda row: row[1]),
            words("Meaning", lambda row: ANYTHING),
        ),
    )


def _materials(result: Result) -> Known:
    """Rows of parts with the same material; told by the first of them."""
    rows: dict[Any, Any] = {}
    for part in result.cross_section.parts:
        key = (_material_of(result, part), part.material, part.steel is None, part.source)
        rows.setdefault(key, part)
    frequency = result.cross_section.frequency
    return Known(
        "Materials as computed",
        list(rows.values()),
        (
            words("Parts", lambda part: re.compile(f".*{re.escape(part.cable.circuit if part.cable else part.name)}")),
            words("Material", lambda part: _material_of(result, part)[0]),
            num("Temperature", "°C", lambda part: _material_of(result, part)[1]),
            num("Conductivity", "MS/m", lambda part: part.material.conductivity),
            num("Relative permeability", "–", lambda part: abs(complex(part.material.relative_permeability))),
            num("Skin depth", "mm", lambda part: skin_depth(part.material, frequency)),
            words("Magnetisation", lambda part: _magnetisation(result, part)),
            words("Source", lambda part: part.source),
        ),
    )


def _magnetisation(result: Result, part: Any) -> Any:
    """Constant or by a curve, and by how much B lags behind H."""
    permeability = complex(part.material.relative_permeability)
    if abs(permeability) < 1.1:
        return "–"
    lag = -cmath.phase(permeability) if part.steel is None else part.steel.loss_angle
    angle = f", loss angle {math.degrees(lag):.3g}°" if lag else ""
    if part.steel is None:
        return f"constant{angle}"
    curve = material_of(result.study, _material_of(result, part)[0]).curve or "by its curve"
    return f"saturating, {curve}{angle}"


def _material_of(result: Result, part: Any) -> tuple[str, float]:
    """Name and temperature [degC] of the material of a part."""
    study = result.study
    if part.cable is not None:
        cable = study.cables[next(own.cable for own in study.circuits if own.name == part.cable.circuit)]
        layer = getattr(cable, part.kind)
        own = getattr(layer, "temperature", None)
        return layer.material, cable.conductor.temperature if own is None else own
    for tray in study.trays:
        if part.name == f"{tray.name}.cover" and isinstance(tray.cover, Cover):
            return tray.cover.material or tray.material, tray.temperature
        if part.name == tray.name or part.name.startswith(f"{tray.name}."):
            return tray.material, tray.temperature
    work = next(own for own in study.metalwork if part.name == own.name or part.name.startswith(f"{own.name}."))
    return work.material, work.temperature


def _software() -> Known:
    return Known(
        "Software",
        [("trayfield", "1.2.3")],
        (words("Name", lambda row: row[0]), words("Version", lambda row: row[1])),
    )
