"""Cables of the study file: conductor and layers from the inside out, and what must agree within a cable."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Annotated

from pydantic import Field

from studies.data.materials import Material
from studies.study.entries import (
    KeyTable,
    LossAngle,
    MaterialName,
    Permeability,
    Temperature,
    Thickness,
    number_entry,
    quantity_entry,
)
from studies.study.findings import Finding, Place, Plain, Reader
from studies.study.materials import StatesMaterials, material_of, resistivity_of
from studies.study.parts import ARMOUR, METAL_LAYERS, SCREEN, SHEATH

# Common practice, no source: a strand bundle fills from about half (flexible, hollow) to all of its circle, and a solid
# conductor of the maximum resistance has a little less metal than its nominal area.
FILL_RANGE = (0.4, 1.15)
"""Nominal area over the area of the conductor's circle. [-]"""

# Common practice, no source: wide enough for any stranding, narrow enough to catch ohm/m written for ohm/km.
RESISTANCE_RANGE = (0.5, 2.0)
"""Stated dc resistance over resistivity over nominal area. [-]"""


class Conductor(KeyTable):
    """Conductor of a cable."""

    material: MaterialName
    """built-in material, or one of the study"""
    area: Annotated[float, quantity_entry("area")]
    """nominal area"""
    temperature: Temperature
    """operating temperature"""
    diameter: Annotated[float, quantity_entry("diameter")] | None = None
    """diameter outside of the strands; without one, the circle of the nominal area"""
    dc_resistance: Annotated[float, quantity_entry("dc resistance")] | None = None
    """dc resistance at 20 degC; without one, the IEC 60228 maximum or resistivity over area"""
    skin_coefficient: Annotated[float, number_entry(0, 1, "0.435", above=True)] = 1.0
    """ks of IEC 60287-1-1, below 1 for segmental conductors"""
    proximity_coefficient: Annotated[float, number_entry(0, 1, "0.37", above=True)] = 1.0
    """kp of IEC 60287-1-1, below 1 for segmental conductors"""


class MetalLayer(KeyTable):
    """A tube of metal around a cable: its screen or sheath."""

    material: MaterialName
    """built-in material, or one of the study"""
    thickness: Thickness | None = None
    """radial thickness, of wires their diameter; needed without an area"""
    area: Annotated[float, quantity_entry("area")] | None = None
    """area of its metal, as of a screen of wires; without a thickness, a solid tube of that area"""
    temperature: Temperature | None = None
    """its temperature; without one, the conductor's"""


class Armour(MetalLayer):
    """Armour of a cable, as the tube that its wires or tapes fill."""

    fill: Annotated[float, quantity_entry("fill")] = 1.0
    """share of metal in the tube of wires or tapes; the tube conducts less than the metal by it"""
    relative_permeability: Permeability | None = None
    """permeability of the tube around the cable; without one, the material's, its curve included"""
    loss_angle: LossAngle | None = None
    """loss angle of the tube; without one, the material's"""


class Cable(KeyTable):
    """Cable construction from the inside out; thicknesses are radial."""

    conductor: Conductor = Field(examples=['{ material = "copper", area = "240 mm^2", temperature = "70 degC" }'])
    """the conductor"""
    insulation: Thickness
    """thickness of all between conductor and first metal layer or jacket"""
    permittivity: Annotated[float, number_entry(1, 20, "2.5")] | None = None
    """relative permittivity of the insulation, for capacitance and charging current"""
    screen: MetalLayer | None = Field(default=None, examples=['{ material = "copper", area = "25 mm^2" }'])
    """wires, tapes or a tube over the insulation"""
    separation: Thickness | None = None
    """thickness between screen and sheath, needed where there are both"""
    sheath: MetalLayer | None = Field(default=None, examples=['{ material = "lead", thickness = "2 mm" }'])
    """a metal tube over insulation or screen"""
    bedding: Thickness | None = None
    """thickness under the armour, needed over a screen or sheath"""
    armour: Armour | None = Field(
        default=None, examples=['{ material = "steel-armour", thickness = "2.5 mm", fill = "90 %" }']
    )
    """wires or tapes as an equivalent tube"""
    jacket: Thickness | None = None
    """thickness of the outermost layer, needed over a metal layer"""


LAYERS = ("insulation", SCREEN, "separation", SHEATH, "bedding", ARMOUR, "jacket")
"""Layers of a cable around its conductor, from the inside out; a key each."""


def tube_thickness(layer: MetalLayer, inside: float) -> float:
    """Radial thickness of a metal layer over a radius; one of an area alone is a solid tube of it. [m]"""
    if layer.thickness is not None:
        return layer.thickness
    return math.sqrt(inside**2 + (layer.area or 0.0) / math.pi) - inside


def metal_share(layer: MetalLayer, inside: float, outside: float) -> float:
    """Share of metal in the tube of a layer between two radii [m]; wires and tapes leave gaps. [-]"""
    if layer.area is not None:
        return layer.area / (math.pi * (outside**2 - inside**2))
    return layer.fill if isinstance(layer, Armour) else 1.0


def layer_material(study: StatesMaterials, layer: MetalLayer) -> Material:
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


def cable_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree within each cable."""
    for name, cable in reader.named("cables").items():
        yield from _layers(reader, ("cables", name), cable)
        conductor = cable.get("conductor")
        if isinstance(conductor, Mapping):
            yield from _conductor(reader, ("cables", name, "conductor"), conductor)


def _layers(reader: Reader, place: Place, cable: Plain) -> Iterator[Finding]:
    metal = [layer for layer in METAL_LAYERS if layer in cable]
    for name in metal:
        layer = cable[name]
        if isinstance(layer, Mapping):
            yield from _metal_layer(reader, (*place, name), layer, _radius_under(reader, cable, name))
    both, under = SCREEN in cable and SHEATH in cable, [layer for layer in metal if layer != ARMOUR]
    if metal and "jacket" not in cable and isinstance(cable[metal[-1]], Mapping):
        what = {SCREEN: "a screen", SHEATH: "a sheath", ARMOUR: "an armour"}[metal[-1]]
        right = f'jacket = "1.8 mm"; without one, touching {metal[-1]}s would be one part'
        yield Finding((*place, "jacket"), f"is missing over {what}", right)
    if both and "separation" not in cable:
        right = 'separation = "0.5 mm"; screen and sheath in contact are one metal layer'
        yield Finding((*place, "separation"), "is missing between screen and sheath", right)
    if "separation" in cable and not both:
        wrong = "lies between screen and sheath, of which this cable has not both"
        yield Finding((*place, "separation"), wrong, "leave it out; insulation and bedding are the other layers")
    if ARMOUR in cable and under and "bedding" not in cable:
        right = 'bedding = "1.2 mm"; metal layers in contact are one'
        yield Finding((*place, "bedding"), f"is missing between {under[-1]} and armour", right)
    if "bedding" in cable and ARMOUR not in cable:
        yield Finding((*place, "bedding"), "lies under an armour, of which this cable has none", "leave it out")


def _metal_layer(reader: Reader, place: Place, layer: Plain, inside: float | None) -> Iterator[Finding]:
    if "area" not in layer:
        if "thickness" not in layer:
            right = 'thickness = "0.2 mm" of a tube, or area = "25 mm^2" of wires or tapes'
            yield Finding((*place, "thickness"), "is missing", right)
        return
    if "fill" in layer:
        wrong = "does not go with an area, from which the share of metal follows"
        yield Finding((*place, "fill"), wrong, "leave it out, or the area")
    area, thickness = reader.number(layer["area"], "area"), reader.number(layer.get("thickness"), "thickness")
    if area is None or thickness is None or inside is None:
        return
    most = math.pi * (2 * inside + thickness) * thickness
    if area > most * (1 + 1e-9):
        wrong = f"is more than a solid tube of {thickness * 1e3:.3g} mm over {2e3 * inside:.3g} mm has"
        yield Finding((*place, "area"), wrong, f"at most {most * 1e6:.4g} mm^2, or leave out the thickness")


def _radius_under(reader: Reader, cable: Plain, layer: str) -> float | None:
    """Radius under a layer of a cable, if all that it follows from is sound in itself. [m]"""
    conductor = cable.get("conductor")
    if not isinstance(conductor, Mapping):
        return None
    area, diameter = reader.number(conductor.get("area"), "area"), reader.number(conductor.get("diameter"), "diameter")
    if area is None:
        return None
    radius = math.sqrt(area / math.pi) if diameter is None else diameter / 2
    for under in LAYERS[: LAYERS.index(layer)]:
        stated = cable.get(under)
        if isinstance(stated, Mapping):
            metal = reader.number(stated.get("area"), "area")
            thickness = reader.number(stated.get("thickness"), "thickness")
            if thickness is None and metal is not None:
                thickness = math.sqrt(radius**2 + metal / math.pi) - radius
        else:
            thickness = 0.0 if stated is None else reader.number(stated, "thickness")
        if thickness is None:
            return None
        radius += thickness
    return radius


def _conductor(reader: Reader, place: Place, conductor: Plain) -> Iterator[Finding]:
    area = reader.number(conductor.get("area"), "area")
    if area is None:
        return
    diameter = reader.number(conductor.get("diameter"), "diameter")
    low, high = FILL_RANGE
    if diameter is not None and not low <= area / (math.pi / 4 * diameter**2) <= high:
        least, most = (math.sqrt(4 * area / math.pi / fill) * 1e3 for fill in (high, low))
        wrong = f"does not go with the area of {area * 1e6:.4g} mm^2"
        yield Finding((*place, "diameter"), wrong, f"from {least:.3g} mm to {most:.3g} mm, outside of the strands")
    resistance = reader.number(conductor.get("dc_resistance"), "dc resistance")
    resistivity = resistivity_of(reader, conductor.get("material"))
    if resistance is not None and resistivity is not None:
        expected = resistivity / area
        if not RESISTANCE_RANGE[0] <= resistance / expected <= RESISTANCE_RANGE[1]:
            wrong = "does not go with the conductor's material and area"
            yield Finding((*place, "dc_resistance"), wrong, f"near {expected * 1e3:.3g} ohm/km at 20 degC")
