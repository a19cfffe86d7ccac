"""What a study asks for: the field at points, along lines, in rectangles, the map, the sweep and the accuracy."""

from typing import Annotated

from pydantic import Field, ValidationInfo

from studies.data.reference_levels import LEVEL_SETS
from studies.study.entries import (
    Entry,
    Name,
    Point,
    Table,
    Window,
    fault,
    list_entry,
    measured,
    number_entry,
    quantity_entry,
)
from studies.study.quantities import QuantityError
from studies.text.problems import choice_of

MOST_POINTS = 100_001
"""Most points of a traverse."""


def _limit(value: object, info: ValidationInfo) -> float | str:
    if isinstance(value, str) and value in LEVEL_SETS:
        return value
    try:
        return measured(value, "limit", info)
    except QuantityError as error:
        if isinstance(value, str) and value.strip()[:1].isalpha():
            right = f'{choice_of(value, LEVEL_SETS)}; or a flux density such as "0.5 uT"'
            raise fault("is no known reference level", right) from None
        raise fault(error.wrong, error.right) from None


Limit = Annotated[float | str, Entry(_limit, "uT, mT, mG, G; or the name of a reference level", '"0.5 uT"')]


class Receptor(Table):
    """A point where the field is asked for [m], with a limit if any.

    The limit is one of the resultant rms flux density [T], or the name of a reference level.
    """

    name: Annotated[Name, Field(description="name of the place", examples=['"instrument"'])]
    at: Annotated[Point, Field(description="the point")]
    limit: Annotated[
        Limit | None,
        Field(description="limit of the resultant rms flux density, or a reference level, which knows frequency"),
    ] = None


class Zone(Table):
    """A rectangle [m] of which the highest field is asked for, with a limit as that of a receptor if any."""

    name: Annotated[Name, Field(description="name of the zone", examples=['"workplace"'])]
    window: Annotated[Window, Field(description="lower left and upper right corner")]
    limit: Annotated[Limit | None, Field(description="limit as that of a receptor")] = None


class Traverse(Table):
    """A straight line of points, both ends included: `start` and `end` [m], "from" and "to" in the file."""

    name: Annotated[Name, Field(description="name of the line", examples=['"line beside the tray"'])]
    start: Annotated[
        Point, Field(validation_alias="from", serialization_alias="from", description="first point of the line")
    ]
    end: Annotated[Point, Field(validation_alias="to", serialization_alias="to", description="last point of the line")]
    points: Annotated[int, number_entry(2, MOST_POINTS, "121", whole=True), Field(description="number of points")] = 121


class MapWindow(Table):
    """The rectangle of the field map, lower left and upper right corner. [m]"""

    window: Annotated[Window, Field(description="lower left and upper right corner")]


class Accuracy(Table):
    """Asked numerical accuracy: relative tolerance of every reported number. [-]"""

    tolerance: Annotated[
        float, quantity_entry("tolerance"), Field(description="relative numerical error of every reported number")
    ] = 0.005


class CurrentSweep(Table):
    """Factors of all currents at which the study is solved again, for steel that saturates. [-]"""

    factors: Annotated[
        tuple[Annotated[float, number_entry(0.01, 20, "0.5")], ...],
        list_entry("[0.25, 0.5, 1, 1.5, 2]", least=2),
        Field(description="factors of all currents, each once"),
    ]
