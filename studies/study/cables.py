"""Cables of the study file: conductor and layers, from the inside out."""

from typing import Annotated

from pydantic import Field

from studies.study.entries import (
    LossAngle,
    MaterialName,
    Permeability,
    Table,
    Temperature,
    Thickness,
    number_entry,
    quantity_entry,
)

LAYER_TEMPERATURE = "its temperature; without one, the conductor's"


class Conductor(Table):
    """Conductor of a cable.

    Material by name; nominal area [m^2]; temperature [degC]; outside diameter of the strands [m], without one that of
    the circle with the nominal area; stated dc resistance at 20 degC [ohm/m]; ks and kp of IEC 60287-1-1 [-].
    """

    material: Annotated[MaterialName, Field(description="built-in material, or one of the study")]
    area: Annotated[float, quantity_entry("area"), Field(description="nominal area")]
    temperature: Annotated[Temperature, Field(description="operating temperature")]
    diameter: Annotated[
        Annotated[float, quantity_entry("diameter")] | None,
        Field(description="diameter outside of the strands; without one, the circle of the nominal area"),
    ] = None
    dc_resistance: Annotated[
        Annotated[float, quantity_entry("dc resistance")] | None,
        Field(description="dc resistance at 20 degC; without one, the IEC 60228 maximum or resistivity over area"),
    ] = None
    skin_coefficient: Annotated[
        float,
        number_entry(0, 1, "0.435", above=True),
        Field(description="ks of IEC 60287-1-1, below 1 for segmental conductors"),
    ] = 1.0
    proximity_coefficient: Annotated[
        float,
        number_entry(0, 1, "0.37", above=True),
        Field(description="kp of IEC 60287-1-1, below 1 for segmental conductors"),
    ] = 1.0


class MetalLayer(Table):
    """A tube of metal around a cable: material by name, radial thickness [m], temperature [degC].

    Without a temperature of its own it has the conductor's.
    """

    material: Annotated[MaterialName, Field(description="built-in material, or one of the study")]
    thickness: Annotated[Thickness, Field(description="radial thickness")]
    temperature: Annotated[Temperature | None, Field(description=LAYER_TEMPERATURE)] = None


class Screen(MetalLayer):
    """Screen of a cable, a tube over the insulation: material by name, thickness [m], temperature [degC].

    Without a temperature of its own it has the conductor's.
    """


class Sheath(MetalLayer):
    """Metal sheath of a cable, a tube over insulation or screen: material by name, thickness [m], temperature [degC].

    Without a temperature of its own it has the conductor's.
    """


class Armour(MetalLayer):
    """Armour of a cable, as the tube that its wires or tapes fill.

    Material by name; radial thickness of the tube [m]; temperature [degC]; share of metal in the tube [-], by which the
    tube's conductivity is lower than the metal's; relative permeability [-] and loss angle [rad] of the tube, where
    they differ from the material's: a stated permeability takes the place of the material's, its curve included.
    """

    fill: Annotated[
        float, quantity_entry("fill"), Field(description="share of metal in the tube of wires or tapes")
    ] = 1.0
    relative_permeability: Annotated[
        Permeability | None,
        Field(description="permeability of the tube around the cable; without one, the material's, its curve included"),
    ] = None
    loss_angle: Annotated[
        LossAngle | None, Field(description="loss angle of the tube; without one, the material's")
    ] = None


class Cable(Table):
    """Cable construction from the inside out; radial thicknesses of the layers that are no metal [m], 0 without one."""

    conductor: Annotated[
        Conductor,
        Field(
            description="the conductor",
            examples=['{ material = "copper", area = "240 mm^2", temperature = "70 degC" }'],
        ),
    ]
    insulation: Annotated[
        Thickness, Field(description="thickness of all between conductor and first metal layer or jacket")
    ]
    permittivity: Annotated[
        Annotated[float, number_entry(1, 20, "2.5")] | None,
        Field(description="relative permittivity of the insulation, for capacitance and charging current"),
    ] = None
    screen: Annotated[
        Screen | None,
        Field(description="a tube over the insulation", examples=['{ material = "copper", thickness = "0.2 mm" }']),
    ] = None
    separation: Annotated[
        Thickness | None, Field(description="thickness between screen and sheath, needed where there are both")
    ] = None
    sheath: Annotated[
        Sheath | None,
        Field(
            description="a metal tube over insulation or screen", examples=['{ material = "lead", thickness = "2 mm" }']
        ),
    ] = None
    bedding: Annotated[
        Thickness | None, Field(description="thickness under the armour, needed over a screen or sheath")
    ] = None
    armour: Annotated[
        Armour | None,
        Field(
            description="wires or tapes as an equivalent tube",
            examples=['{ material = "steel-armour", thickness = "2.5 mm", fill = "90 %" }'],
        ),
    ] = None
    jacket: Annotated[
        Thickness | None, Field(description="thickness of the outermost layer, needed over a metal layer")
    ] = None
