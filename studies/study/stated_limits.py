"""Limits as makers and codes state them: rms, peak or peak to peak, of one axis or of all, in a band; their checks."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from studies.data.reference_levels import LEVEL_SETS, PERSONS
from studies.study.circuits import stated_frequencies
from studies.study.entries import KeyTable, Name, Word, pair_entry, quantity_entry, word_entry
from studies.study.findings import Finding, Place, Plain, Reader, as_list, unknown
from studies.study.requests import Limit, limit_findings

RMS, PEAK, PEAK_TO_PEAK, WEIGHTED_PEAK = "rms", "peak", "peak to peak", "weighted peak"
VALUES = (RMS, PEAK, PEAK_TO_PEAK, WEIGHTED_PEAK)
"""Which value of the alternating field a limit is of."""
RESULTANT, MAJOR_AXIS, X, Y = "resultant", "major axis", "x", "y"
COMPONENTS = (RESULTANT, MAJOR_AXIS, X, Y)
"""Which component of the field a limit is of."""
WORST, AS_STATED = "worst", "as stated"
PHASES = (WORST, AS_STATED)
"""Phases of the frequencies of one circuit to each other."""
SAME_FREQUENCY = 1e-9
"""A frequency this close to the end of a band is in it. [-]"""

Frequency = Annotated[float, quantity_entry("frequency")]


class StatedLimit(KeyTable):
    """A limit of the field at a receptor in the maker's or the code's own terms."""

    name: Name = Field(examples=['"microscope, horizontal"'])
    """name of the limit"""
    receptor: Word = Field(examples=['"microscope"'])
    """the receptor where it holds"""
    limit: Limit
    """the limit; a reference level goes with the weighted peak alone"""
    value: Annotated[str, word_entry("value of the field", VALUES, '"peak to peak"')] = RMS
    """which value of the alternating field; weighted peak: as ICNIRP 2010, against a reference level"""
    component: Annotated[str, word_entry("component of the field", COMPONENTS, '"x"')] = RESULTANT
    """x: to the right, y: upwards, major axis: the worst direction"""
    band: Annotated[tuple[Frequency, Frequency], pair_entry('["40 Hz", "70 Hz"]', "lowest and highest")] | None = None
    """frequencies that count, both ends included; without it, all"""
    phases: Annotated[str, word_entry("choice of phases", PHASES)] = WORST
    """phases of harmonics to each other in peak values: worst, or as their angles are stated"""


def in_band(frequency: float, band: tuple[float, float] | None) -> bool:
    """Whether a frequency [Hz] counts; every one does without a band."""
    if band is None:
        return True
    return band[0] * (1 - SAME_FREQUENCY) <= frequency <= band[1] * (1 + SAME_FREQUENCY)


def stated_limit_findings(reader: Reader) -> Iterator[Finding]:
    """Receptors that are not there, bands without a frequency, and limits that do not go with their value."""
    for index, stated in reader.entries("stated_limits"):
        place: Place = ("stated_limits", index)
        none = "a name of [[receptors]], which the study has none of"
        yield from unknown((*place, "receptor"), stated.get("receptor"), reader.titles("receptors"), "receptor", none)
        yield from limit_findings(reader, (*place, "limit"), stated.get("limit"))
        yield from _of_value(place, stated)
        yield from _band(reader, (*place, "band"), stated.get("band"))


def _of_value(place: Place, stated: Plain) -> Iterator[Finding]:
    limit, value, component = (stated.get(key) for key in ("limit", "value", "component"))
    level = LEVEL_SETS.get(limit) if isinstance(limit, str) else None
    if value == WEIGHTED_PEAK and limit is not None and (level is None or level.subject != PERSONS):
        right = 'the name of a reference level for persons, such as "ICNIRP 2010 public"'
        yield Finding((*place, "limit"), "does not go with the weighted peak", right)
    elif level is not None and value in (None, RMS, PEAK, PEAK_TO_PEAK):
        right = 'value = "weighted peak", or this limit at the receptor itself'
        yield Finding((*place, "limit"), f"is a reference level, which does not go with {value or RMS}", right)
    if value == WEIGHTED_PEAK and component not in (None, RESULTANT):
        yield Finding((*place, "component"), "does not go with the weighted peak", "leave it out: it takes all of them")


def _band(reader: Reader, place: Place, band: object) -> Iterator[Finding]:
    ends = [reader.number(end, "frequency") for end in as_list(band)]
    if len(ends) != 2 or ends[0] is None or ends[1] is None:
        return
    if ends[0] >= ends[1]:
        yield Finding(place, "ends below its beginning", 'lowest, then highest frequency: ["40 Hz", "70 Hz"]')
        return
    known = sorted(stated_frequencies(reader))
    if known and not any(in_band(frequency, (ends[0], ends[1])) for frequency in known):
        wrong = f"holds no frequency of the study: {', '.join(f'{frequency:g} Hz' for frequency in known)}"
        yield Finding(place, wrong, "a band with currents in it, or the harmonics that flow in this band")
