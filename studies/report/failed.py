"""Sections of a report each for itself: what stands in the place of one that fails, and the list of all failures."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from studies.text.blocks import Caution, Section
from studies.text.failures import Failure, collected, merged, rescued
from studies.text.file_names import slugs


def sections_of(
    makers: Mapping[str, Callable[[], Section | None]], failures: Sequence[Failure] = ()
) -> tuple[Section, ...]:
    """The sections by their titles; first one that names what failed, in them and before, where anything did."""
    with collected() as found:
        sections = [
            rescued(f"section “{title}” of the report", make, partial(_lost, title)) for title, make in makers.items()
        ]
    every = merged(failures, found)
    first = (_failure_section(every),) if every else ()
    return (*first, *(section for section in sections if section is not None))


def _lost(title: str, failure: Failure) -> Section:
    """A section in place of one that could not be written."""
    line = f"{failure.why}. Its numbers stand in the other files of the results folder."
    return Section(title, slugs([title])[0], (Caution("This section could not be written", (line,)),))


def _failure_section(failures: Sequence[Failure]) -> Section:
    what = "What is named here could not be made; everything else stands and was computed without it"
    return Section("Not complete", "failures", (Caution(what, tuple(map(str, failures))),))
