"""Changes of the study that are solved beside it: what would meet a limit; and what must agree in what is asked."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from studies.study.entries import KeyTable, Word, list_entry, number_entry, word_entry
from studies.study.findings import Finding, Place, Reader, as_list
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


def change_findings(reader: Reader) -> Iterator[Finding]:
    """What does not agree among the changes that are asked for."""
    if isinstance(reader.data.get("remedies"), Mapping):
        yield from _remedies(reader)


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
