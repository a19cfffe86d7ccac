"""The study: everything the study file says, as frozen models with SI numbers.

From a file every quantity is text with a unit. From Python a model takes the same text or a bare SI number
(temperatures in degC, tolerance as a ratio); both are checked against the same ranges.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Self

from pydantic import Field, ValidationInfo, model_validator

from studies.data.materials import HIGHEST_PERMEABILITY, MATERIALS, Material
from studies.study.cables import Armour, Cable, Conductor, MetalLayer, Screen, Sheath
from studies.study.checks import ARRANGEMENTS, inconsistencies
from studies.study.circuits import Circuit
from studies.study.curves import material_from
from studies.study.decisions import Fault, Load, OrderSearch, OrderWeights, RouteScreens, RouteSection, Supply
from studies.study.entries import (
    FROM_FILE,
    LONGEST_NAME,
    Label,
    Name,
    Table,
    Title,
    faults,
    is_from_file,
    list_entry,
    quantity_entry,
    tables_entry,
)
from studies.study.key_sets import PROFILES, SHAPES
from studies.study.materials import Brauer, StudyMaterial
from studies.study.metalwork import DRAWING_UNITS, Drawing, Metalwork
from studies.study.phases import Harmonic, PhaseCurrent, currents_of
from studies.study.requests import MOST_POINTS, Accuracy, CurrentSweep, MapWindow, Receptor, Traverse, Zone
from studies.study.ties import BOTH_ENDS, CROSS_BONDED, Bond, Earth
from studies.study.trays import COVERS, Cover, Tray
from studies.text.problems import choice_of

__all__ = [
    "ARRANGEMENTS",
    "BOTH_ENDS",
    "COVERS",
    "CROSS_BONDED",
    "DRAWING_UNITS",
    "FROM_FILE",
    "HIGHEST_PERMEABILITY",
    "LONGEST_NAME",
    "MOST_POINTS",
    "PROFILES",
    "SHAPES",
    "Accuracy",
    "Armour",
    "Bond",
    "Brauer",
    "Cable",
    "Circuit",
    "Conductor",
    "Cover",
    "CurrentSweep",
    "Drawing",
    "Earth",
    "Fault",
    "Harmonic",
    "Load",
    "MapWindow",
    "MetalLayer",
    "Metalwork",
    "OrderSearch",
    "OrderWeights",
    "PhaseCurrent",
    "Receptor",
    "RouteScreens",
    "RouteSection",
    "Screen",
    "Sheath",
    "Study",
    "StudyFile",
    "StudyMaterial",
    "Supply",
    "Traverse",
    "Tray",
    "Zone",
    "beside",
    "layer_material",
    "layer_temperature",
    "material_of",
    "phase_currents",
    "screen_temperature",
]


class StudyFile(Table):
    """Every key of a study file."""

    title: Annotated[Title, Field(description="what the study is about")]
    case: Annotated[
        Label | None, Field(description="name of the study as it stands among the cases of a comparison")
    ] = None
    frequency: Annotated[
        float, quantity_entry("frequency"), Field(description="frequency of every circuit that states none of its own")
    ]
    cables: Annotated[
        Mapping[Name, Cable],
        tables_entry("[cables.c240]"),
        Field(description="constructions of cables, from the inside out", examples=["[cables.c240]"]),
    ]
    circuits: Annotated[
        tuple[Circuit, ...],
        list_entry("[[circuits]]", least=1, of_tables=True),
        Field(description="circuits, each with its cables", examples=["[[circuits]]"]),
    ]
    trays: Annotated[
        tuple[Tray, ...], list_entry("[[trays]]", least=0, of_tables=True), Field(description="trays and their covers")
    ] = ()
    metalwork: Annotated[
        tuple[Metalwork, ...],
        list_entry("[[metalwork]]", least=0, of_tables=True),
        Field(description="metal that carries no cables"),
    ] = ()
    drawing: Annotated[
        Drawing | None,
        Field(
            description="drawing of the cross-section",
            examples=['[drawing] with file = "section.dxf" and unit = "mm"'],
        ),
    ] = None
    materials: Annotated[
        Mapping[Name, StudyMaterial],
        tables_entry("[materials.test-steel]"),
        Field(description="materials of the study beside the built-in ones"),
    ] = Field(default_factory=dict)
    bonds: Annotated[
        tuple[Bond, ...],
        list_entry("[[bonds]]", least=0, of_tables=True),
        Field(description="parts tied together; what is in no bond carries no net current"),
    ] = ()
    earth: Annotated[
        Earth | None,
        Field(description="the earth as a return path", examples=['[earth] with resistivity = "100 ohm*m"']),
    ] = None
    receptors: Annotated[
        tuple[Receptor, ...],
        list_entry("[[receptors]]", least=0, of_tables=True),
        Field(description="points where the field is asked for"),
    ] = ()
    zones: Annotated[
        tuple[Zone, ...],
        list_entry("[[zones]]", least=0, of_tables=True),
        Field(description="rectangles of which the highest field is asked for"),
    ] = ()
    traverses: Annotated[
        tuple[Traverse, ...],
        list_entry("[[traverses]]", least=0, of_tables=True),
        Field(description="lines along which the field is asked for"),
    ] = ()
    map: Annotated[
        MapWindow | None,
        Field(description="map of the field", examples=['[map] with window = [["-2 m", "-1 m"], ["2 m", "2 m"]]']),
    ] = None
    current_sweep: Annotated[
        CurrentSweep | None,
        Field(description="the study again at other currents", examples=["[current_sweep] with factors = [0.5, 1, 2]"]),
    ] = None
    order_search: Annotated[
        OrderSearch | None,
        Field(description="search for the best phase order", examples=['[order_search] with objective = "field"']),
    ] = None
    route: Annotated[
        tuple[RouteSection, ...],
        list_entry("[[route]]", least=0, of_tables=True),
        Field(description="sections of the run, each with its length, phase order and cross-section"),
    ] = ()
    route_screens: Annotated[
        RouteScreens,
        Field(description="screens along the route", examples=['[route_screens] with earthed_at = "60 m"']),
    ] = RouteScreens()
    faults: Annotated[
        tuple[Fault, ...],
        list_entry("[[faults]]", least=0, of_tables=True),
        Field(description="short circuits of which the forces are asked for"),
    ] = ()
    loads: Annotated[
        tuple[Load, ...],
        list_entry("[[loads]]", least=0, of_tables=True),
        Field(description="what the circuits feed at the end of the route; without one, the study's currents"),
    ] = ()
    supply: Annotated[
        Supply | None,
        Field(
            description="the supply, for voltage drop, unbalance and charging current",
            examples=['[supply] with voltage = "400 V"'],
        ),
    ] = None
    accuracy: Annotated[
        Accuracy, Field(description="asked numerical accuracy", examples=['[accuracy] with tolerance = "0.5 %"'])
    ] = Accuracy()

    @model_validator(mode="after")
    def _consistent(self, info: ValidationInfo) -> Self:
        # the reader of files looks for these itself, so that they stand beside the errors of single fields
        if not is_from_file(info):
            given = self.model_dump(by_alias=True, exclude_none=True, exclude_defaults=True)
            findings = inconsistencies(given, bare_numbers=True)
            if findings:
                raise faults(type(self).__name__, findings)
        return self


class Study(StudyFile):
    """A study: the keys of the file, and the file's name and text for the report (empty from Python)."""

    source_name: str = ""
    source_text: str = ""


def beside(study: Study, name: str) -> Path:
    """Path of a file that the study names, which is one from the study file's own folder."""
    return Path(study.source_name).parent / name


def phase_currents(circuit: Circuit) -> dict[str, complex]:
    """Net rms current phasor of each phase label of a circuit, in the order of first appearance. [A]

    One magnitude means a balanced positive sequence, or go and return for two labels. An N without a stated current
    returns the sum of the circuit's other currents, a PE without one carries none. A current of a table without an
    angle takes the angle of the balanced circuit.
    """
    return currents_of(circuit.phases, circuit.current)


def material_of(study: StudyFile, name: str) -> Material:
    """The material of this name, of the study or built in.

    The relative permeability of one with a magnetisation curve is the stated one, else the curve's at low field.
    """
    own = study.materials.get(name)
    if own is not None:
        return material_from(name, own, study.source_name if isinstance(study, Study) else "")
    if name not in MATERIALS:
        raise KeyError(f"no material {name}: {choice_of(name, [*study.materials, *MATERIALS])}")
    return MATERIALS[name]


def layer_material(study: StudyFile, layer: MetalLayer) -> Material:
    """The material of a cable's metal layer, with the permeability and loss angle that an armour states for itself."""
    material = material_of(study, layer.material)
    if isinstance(layer, Armour):
        if layer.relative_permeability is not None:
            material = replace(material, relative_permeability=layer.relative_permeability, curve=None)
        if layer.loss_angle is not None:
            material = replace(material, loss_angle=layer.loss_angle)
    return material


def layer_temperature(cable: Cable, layer: MetalLayer | None) -> float:
    """Temperature of a cable's metal layer, by default that of its conductor. [degC]"""
    own = layer.temperature if layer is not None else None
    return cable.conductor.temperature if own is None else own


def screen_temperature(cable: Cable) -> float:
    """Temperature of the cable's screen, by default that of its conductor. [degC]"""
    return layer_temperature(cable, cable.screen)
