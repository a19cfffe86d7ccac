"""What a study asks beyond its own numbers: phase orders, the route, the fault, the supply."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from studies.model.entries import (
    Name,
    Table,
    Truth,
    Word,
    list_entry,
    number_entry,
    quantity_entry,
    word_entry,
)
from studies.phases import PHASE_ANGLES

OBJECTIVES = ("field", "sharing", "inequality")
"""What a phase order may be judged by."""

Weight = Annotated[float, number_entry(0, 1000, "1.0")]


class OrderWeights(Table):
    """Weights of what a phase order is judged by; each quantity counts over its value today."""

    field: Annotated[Weight, Field(description="worst field over its limit, or over its value today")] = 0.0
    sharing: Annotated[Weight, Field(description="largest share of a parallel cable, over an equal share")] = 0.0
    inequality: Annotated[Weight, Field(description="spread of the phases' reactance over their mean")] = 0.0


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
        Field(description="receptors that count; without it, all"),
    ] = None
    circuits: Annotated[
        Annotated[tuple[Word, ...], list_entry('["F1"]', least=1)] | None,
        Field(description="circuits whose order may change; without it, all"),
    ] = None


class RouteSection(Table):
    """A section of the route: its length [m] and the phases of each circuit, left to right."""

    length: Annotated[float, quantity_entry("route length"), Field(description="length of the section")]
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


class Fault(Table):
    """A short circuit: peak current [A], or initial symmetrical rms current [A] and R/X [-]."""

    circuit: Annotated[Word | None, Field(description="circuit that it is on; without it, the first")] = None
    peak_current: Annotated[
        Annotated[float, quantity_entry("fault current")] | None, Field(description="peak current of the fault")
    ] = None
    initial_current: Annotated[
        Annotated[float, quantity_entry("fault current")] | None,
        Field(description="initial symmetrical rms current, in place of the peak"),
    ] = None
    resistance_over_reactance: Annotated[
        Annotated[float, number_entry(0, 100, "0.2")] | None,
        Field(description="R/X of the fault path, needed with initial_current"),
    ] = None


class Supply(Table):
    """The voltage of the supply, for charging current and voltage unbalance: line to line, rms [V]."""

    voltage: Annotated[float, quantity_entry("voltage"), Field(description="line to line, rms")]
    insulated_neutral: Annotated[Truth, Field(description="whether the neutral is insulated from earth")] = False
