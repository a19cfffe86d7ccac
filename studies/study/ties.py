"""Bonds of the study file, the path by which they close, and the earth."""

from typing import Annotated

from pydantic import Field

from studies.study.entries import Coordinate, Table, Truth, Word, list_entry, pair_entry, quantity_entry, word_entry

BOTH_ENDS = "both ends"
CROSS_BONDED = "cross-bonded"
BONDINGS = (BOTH_ENDS, CROSS_BONDED)
"""Kinds of bonds: tied at both ends of the run, or in three equal minor sections with the screens transposed."""

Series = Annotated[float, quantity_entry("closing impedance")]


class Bond(Table):
    """Parts tied together, by part name or as "F1 screens" for every screen of a circuit.

    Kind of bonding; resistance and reactance in series with the path by which the bond closes, per length of the run
    [ohm/m]; whether it closes through the earth as well.
    """

    parts: Annotated[
        tuple[Word, ...],
        list_entry('["F1 screens", "T1"]', least=1),
        Field(description='parts, or groups such as "F1 screens"; conductors only of N and PE'),
    ]
    kind: Annotated[
        str,
        word_entry("kind of bond", BONDINGS),
        Field(description="tied at both ends of the run, or cross-bonded in three equal minor sections"),
    ] = BOTH_ENDS
    impedance: Annotated[
        Annotated[
            tuple[Series, Series],
            pair_entry('["0.1 ohm/km", "0.05 ohm/km"]', "resistance and reactance"),
        ]
        | None,
        Field(description="impedance in series with the closing path, per length of the run; without one, none"),
    ] = None
    earth: Annotated[Truth, Field(description="whether the bond also closes through the earth; needs [earth]")] = False


class Earth(Table):
    """The earth as a return path, flat and homogeneous: resistivity [ohm m] and height y of its surface [m]."""

    resistivity: Annotated[
        float, quantity_entry("earth resistivity"), Field(description="resistivity of the earth, which is homogeneous")
    ]
    surface: Annotated[
        Coordinate, Field(description="y of the earth's surface; parts above it run in air, parts below are buried")
    ] = 0.0
