"""Changes of the study that are solved beside it: what would meet a limit; and what must agree in what is asked."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated

from studies.data.materials import MATERIALS
from studies.study.entries import (
    Angle,
    KeyTable,
    MaterialName,
    Point,
    Size,
    Thickness,
    Word,
    list_entry,
    number_entry,
    word_entry,
)
from studies.study.findings import Finding, Place, Reader, as_list, unknown
from studies.text.problems import choice_of

SPLIT = ("fields", "losses", "inductances")
"""What differences are split of."""


class Remedies(KeyTable):
    """Changes of the study that may bring receptors and zones below their limits, each solved; nothing if all are."""

    of: Annotated[tuple[Word, ...], list_entry('["instrument"]', least=1)] | None = None
    """receptors and zones that count; without it, all that are above their limit"""
    thickness_factor: Annotated[float, number_entry(1, 20, "2", above=True)] = 2.0
    """thickness of the thicker trays over the stated one"""


class Causes(KeyTable):
    """Differences between formula and finite element, split by cause; each is a solve without it."""

    of: (
        Annotated[tuple[Annotated[str, word_entry("kind of number", SPLIT)], ...], list_entry('["fields"]', least=1)]
        | None
    ) = None
    """fields at receptors, losses of the conductors, inductances of circuits; without it, all"""


LEAST_MASS, LEAST_LOSS = "mass", "loss"
MOST_SHIELDS = 200
"""Most shields of one search."""


class ShieldSearch(KeyTable):
    """Flat plates of stated ranges, each solved: which meets the limits with the least mass or loss."""

    metals: Annotated[tuple[MaterialName, ...], list_entry('["copper", "aluminium-6061"]', least=1)]
    """built-in materials, or those of the study"""
    relative_densities: Annotated[
        tuple[Annotated[float, number_entry(0.1, 25, "2.7")], ...], list_entry("[8.9, 2.7]", least=1)
    ]
    """density of each metal over that of water, 1000 kg/m^3, for the mass"""
    thicknesses: Annotated[tuple[Thickness, ...], list_entry('["3 mm", "6 mm"]', least=1)]
    """thicknesses of the plates"""
    widths: Annotated[tuple[Size, ...], list_entry('["0.5 m", "1 m"]', least=1)]
    """widths of the plates"""
    middles: Annotated[tuple[Point, ...], list_entry('[["0.5 m", "0.1 m"]]', least=1)]
    """places of the middle of the plate"""
    turned: Angle = 0.0
    """angle counter-clockwise about the middle; "90 deg" for an upright plate"""
    least: Annotated[str, word_entry("what is to be least", (LEAST_MASS, LEAST_LOSS))] = LEAST_MASS
    """what the chosen shield has least of"""


def change_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree among the changes that are asked for."""
    if isinstance(reader.data.get("remedies"), Mapping):
        yield from _remedies(reader)
    if isinstance(reader.data.get("shield_search"), Mapping):
        yield from _shields(reader)


def _shields(reader: Reader) -> Iterator[Finding]:
    """Metals are known and have one density each, there is a limit to meet, and not too many shields are solved."""
    search = reader.table("shield_search")
    if not any("limit" in entry for key in ("receptors", "zones") for _, entry in reader.entries(key)):
        yield Finding(("shield_search",), "is for limits, of which the study has none", "a limit of a receptor or zone")
    metals, densities = as_list(search.get("metals")), as_list(search.get("relative_densities"))
    for index, metal in enumerate(metals):
        known = [*reader.table("materials"), *MATERIALS]
        yield from unknown(("shield_search", "metals", index), metal, known, "known material")
    if metals and densities and len(metals) != len(densities):
        wrong = f"are {len(densities)} for {len(metals)} metals"
        yield Finding(("shield_search", "relative_densities"), wrong, "one density for each metal")
    count = math.prod(len(as_list(search.get(key))) or 1 for key in ("metals", "thicknesses", "widths", "middles"))
    if count > MOST_SHIELDS:
        yield Finding(("shield_search",), f"is of {count} shields", f"at most {MOST_SHIELDS} in one search")


def _remedies(reader: Reader) -> Iterator[Finding]:
    """Places that remedies are asked for have a limit, each named once."""
    entries = [entry for key in ("receptors", "zones") for _, entry in reader.entries(key)]
    limited = [str(entry.get("name")) for entry in entries if "limit" in entry]
    if not limited:
        yield Finding(("remedies",), "are for limits, of which the study has none", "a limit of a receptor or zone")
        return
    named = as_list(reader.table("remedies").get("of"))
    for index, name in enumerate(named):
        place: Place = ("remedies", "of", index)
        if isinstance(name, str) and name.strip() and name not in limited:
            yield Finding(place, "is no receptor or zone with a limit", choice_of(name, limited))
        elif name in named[:index]:
            yield Finding(place, "is there already", "each place once")
