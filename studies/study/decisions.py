"""What a study asks beyond its own numbers: phase orders, the route, the fault, the supply."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.study.entries import (
    Entry,
    Name,
    Table,
    Truth,
    Word,
    fault,
    list_entry,
    number_entry,
    quantity_entry,
    word_entry,
)
from studies.study.phases import PHASE_ANGLES

OBJECTIVES = ("field", "sharing", "inequality")
"""What a phase order may be judged by."""

CONSTANT_CURRENT, CONSTANT_IMPEDANCE = "current", "impedance"
LOADS = (CONSTANT_CURRENT, CONSTANT_IMPEDANCE)
"""What of a load does not depend on its voltage."""
MOST_TURNED = 1000
"""Most phases by which screens have gone on against the conductors. [-]"""


def _settings(value: object, info: ValidationInfo) -> object:
    if not isinstance(value, Mapping):
        raise fault("is not a table of dotted keys", '{ "circuits.F1.arrangement" = "trefoil" }')
    return value


Weight = Annotated[float, number_entry(0, 1000, "1.0")]


class OrderWeights(Table):
    """Weights of what a phase order is judged by; each quantity counts over its value in the order as stated."""

    field: Annotated[Weight, Field(description="worst field over its limit, or over its value as stated")] = 0.0
    sharing: Annotated[Weight, Field(description="largest share of a parallel cable, over an equal share")] = 0.0
    inequality: Annotated[Weight, Field(description="x_spread, of the phases' reactances")] = 0.0


class OrderSearch(Table):
    """Search for the phase order that is best at something; labels move within their circuit."""

    objective: Annotated[
        Annotated[str, word_entry("objective", OBJECTIVES, '"field"')],
        Field(description="what the best order is best at"),
    ] = "field"
    weights: Annotated[
        OrderWeights | None,
        Field(description="a weighted sum in place of one objective", examples=["{ field = 1.0, sharing = 0.5 }"]),
    ] = None
    receptors: Annotated[
        Annotated[tuple[Word, ...], list_entry('["interferometer"]', least=1)] | None,
        Field(description="receptors that count; without this and zones, all of both"),
    ] = None
    zones: Annotated[
        Annotated[tuple[Word, ...], list_entry('["bench"]', least=1)] | None,
        Field(description="zones that count, by their highest field; without this and receptors, all of both"),
    ] = None
    circuits: Annotated[
        Annotated[tuple[Word, ...], list_entry('["F1"]', least=1)] | None,
        Field(description="circuits whose order may change; without it, all"),
    ] = None


class RouteSection(Table):
    """A section of the route: its length [m], the phases of each circuit, and what is another there.

    What differs from the study's own cross-section is set or removed by dotted keys, as in a variant.
    """

    length: Annotated[float, quantity_entry("route length"), Field(description="length of the section")]
    name: Annotated[
        Name | None, Field(description="what results call the section; without it, its number", examples=['"riser"'])
    ] = None
    phases: Annotated[
        Mapping[
            Name,
            Annotated[
                tuple[Annotated[str, word_entry("phase", PHASE_ANGLES)], ...],
                list_entry('["L2", "L3", "L1"]', least=1),
            ],
        ],
        Field(
            description="phases of circuits whose order differs from the study's",
            examples=['{ F1 = ["L2", "L3", "L1"] }'],
        ),
    ] = Field(default_factory=dict)
    settings: Annotated[
        Mapping[str, object],
        Entry(_settings, "dotted keys with their values", '{ "circuits.F1.arrangement" = "trefoil" }'),
        Field(
            validation_alias="set",
            serialization_alias="set",
            description="what is another in the cross-section of this section",
        ),
    ] = Field(default_factory=dict)
    remove: Annotated[
        tuple[Word, ...],
        list_entry('["circuits.F1.clear_gap"]', least=0),
        Field(description="dotted keys that the cross-section of this section does not have"),
    ] = ()
    screens_turned: Annotated[
        Annotated[int, number_entry(-MOST_TURNED, MOST_TURNED, "1", whole=True)] | None,
        Field(
            description="phases by which cross-bonded screens have gone on against the conductors; "
            "without it, one more at each joint"
        ),
    ] = None


class RouteScreens(Table):
    """Where along the run screens that are bonded at one point only are earthed [m]."""

    earthed_at: Annotated[
        float, quantity_entry("place on the route"), Field(description="distance of the earthed place from the start")
    ] = 0.0


class Fault(Table):
    """A short circuit: peak current [A], or initial symmetrical rms current [A] and R/X [-]."""

    circuit: Annotated[Word | None, Field(description="circuit that it is on; without it, the first")] = None
    peak_current: Annotated[
        Annotated[float, quantity_entry("fault current")] | None,
        Field(description="peak current of the three-phase fault; a two-phase one has sqrt(3)/2 of it"),
    ] = None
    initial_current: Annotated[
        Annotated[float, quantity_entry("fault current")] | None,
        Field(description="its initial symmetrical rms current, in place of the peak"),
    ] = None
    resistance_over_reactance: Annotated[
        Annotated[float, number_entry(0, 100, "0.2")] | None,
        Field(description="R/X of the fault path, needed with initial_current"),
    ] = None
    cleat_spacing: Annotated[
        Annotated[float, quantity_entry("cleat spacing")] | None,
        Field(description="distance between cleats, for the force on each"),
    ] = None


class Supply(Table):
    """The voltage of the supply, for charging current and voltage unbalance: line to line, rms [V]."""

    voltage: Annotated[float, quantity_entry("voltage"), Field(description="line to line, rms")]
    insulated_neutral: Annotated[Truth, Field(description="whether the supply's neutral is insulated from earth")] = (
        False
    )


class Load(Table):
    """What a circuit feeds at the end of the route: balanced power [W] at the supply's voltage."""

    circuit: Annotated[Word | None, Field(description="circuit that feeds it; without it, the first")] = None
    power: Annotated[float, quantity_entry("power"), Field(description="active power of the three phases together")]
    power_factor: Annotated[
        Annotated[float, number_entry(0, 1, "0.85", above=True)],
        Field(description="cosine of the angle of the current"),
    ]
    leading: Annotated[Truth, Field(description="whether the current leads the voltage")] = False
    kind: Annotated[
        str,
        word_entry("kind of load", LOADS, '"impedance"'),
        Field(description="what stays as it is when the voltage falls"),
    ] = CONSTANT_CURRENT
