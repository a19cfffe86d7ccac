"""How the load of a year is stated, and the price of its losses; their checks."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from studies.study.entries import KeyTable, Label, list_entry, number_entry, quantity_entry
from studies.study.findings import Finding, Reader, as_list

YEAR = 8760.0
"""Hours of a year of 365 days."""
WAYS = ("load_factor", "loss_factor", "hours")
"""Ways of stating the load of a year, one of which is needed."""


class Energy(KeyTable):
    """Load of a year relative to the study's currents, as a factor or as a load duration curve, and a price."""

    load_factor: Annotated[float, quantity_entry("load factor")] | None = None
    """mean load over the study's currents; the loss factor is then estimated, its bounds stand beside"""
    loss_factor: Annotated[float, quantity_entry("load factor")] | None = None
    """mean square of the load over the square of the study's currents, in place of load_factor"""
    hours: (
        Annotated[
            tuple[Annotated[float, number_entry(0, YEAR, "1000", above=True)], ...],
            list_entry("[1000, 4000, 3000]", least=1),
        ]
        | None
    ) = None
    """hours of a year at each of the loads; the rest of its 8760 hours is without load"""
    loads: (
        Annotated[tuple[Annotated[float, number_entry(0, 2, "0.6")], ...], list_entry("[1, 0.6, 0.3]", least=1)] | None
    ) = None
    """loads over the study's currents, one for each entry of hours"""
    length: Annotated[float, quantity_entry("route length")] | None = None
    """of the run; without one that of the route, or per metre alone"""
    price_per_kwh: Annotated[float, number_entry(0, 1000, "0.12", above=True)] | None = None
    """price of a kilowatt-hour, in the currency"""
    currency: Label | None = None
    """of the price, as it stands in tables"""


def energy_findings(reader: Reader) -> Iterator[Finding]:
    """A load that is stated twice or not at all, and lists that do not fit each other or the year."""
    asked = reader.data.get("energy")
    if not isinstance(asked, Mapping):
        return
    given = [way for way in WAYS if way in asked]
    if len(given) != 1:
        wrong = f"states the load twice, by {' and '.join(given)}" if given else "does not state the load of the year"
        right = 'one of load_factor = "60 %", loss_factor = "42 %", or hours = [1000, 4000] and loads = [1, 0.6]'
        yield Finding(("energy",), wrong, right)
    hours, loads = as_list(asked.get("hours")), as_list(asked.get("loads"))
    lists = all(isinstance(asked.get(key, []), list | tuple) for key in ("hours", "loads"))
    if lists and (("hours" in asked) != ("loads" in asked) or len(hours) != len(loads)):
        wrong = f"has {len(loads)} loads for {len(hours)} hours"
        yield Finding(("energy",), wrong, "hours = [1000, 4000] and loads = [1, 0.6], one load for each")
    total = sum(one for one in hours if isinstance(one, int | float) and not isinstance(one, bool))
    if total > YEAR * (1 + 1e-9):
        yield Finding(("energy", "hours"), f"add up to {total:g} hours", f"{YEAR:g} at most, the hours of a year")
    if "currency" in asked and "price_per_kwh" not in asked:
        yield Finding(("energy", "currency"), "has no price", "price_per_kwh = 0.12, or leave it out")
