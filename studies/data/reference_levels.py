"""Named reference, action and immunity levels of the power-frequency magnetic field, each a law of the frequency.

The table `LEVEL_SETS` is all there is: lookups, messages, documents and tests read it. A set covers the frequencies its
pieces cover and no others. Levels are resultant rms flux densities.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fem.constants import mu_0
from studies.text.problems import nearest

PERSONS = "persons"
EQUIPMENT = "equipment"
MARKS: Mapping[str, str] = MappingProxyType({"C": "confirmed in a public text", "M": "named, not read", "D": "derived"})
"""Meaning of the mark of a level."""
SAME_FREQUENCY = 1e-9
"""A frequency this close to the end of a piece belongs to it. [-]"""


@dataclass(frozen=True)
class Piece:
    """The law coefficient/f^power over a range of frequency, both ends included."""

    low_hz: float
    high_hz: float
    coefficient: float
    """Level if the power is 0, else level times f^power with f in Hz. [T Hz^power]"""
    power: int
    mark: str
    """Key of `MARKS`."""
    note: str = ""

    def covers(self, frequency: float) -> bool:
        """Whether the law holds at a frequency [Hz]."""
        return frequency > 0 and self.low_hz * (1 - SAME_FREQUENCY) <= frequency <= self.high_hz * (1 + SAME_FREQUENCY)

    def value(self, frequency: float) -> float:
        """The level at a frequency [Hz]. [T]"""
        return self.coefficient / frequency**self.power


@dataclass(frozen=True)
class LevelSet:
    """The levels of one document for one kind of exposure."""

    name: str
    """As a study writes it."""
    subject: str
    """persons or equipment."""
    source: str
    pieces: tuple[Piece, ...]
    """Single confirmed values first, then laws by rising frequency, that of 0 Hz left out."""
    note: str = ""

    def piece(self, frequency: float) -> Piece | None:
        """The piece that holds at a frequency [Hz], None if the set has none.

        A single value goes before the law around it; if two laws meet, the smaller level holds.
        """
        covering = [piece for piece in self.pieces if piece.covers(frequency)]
        single = [piece for piece in covering if piece.low_hz == piece.high_hz]
        return min(single or covering, key=lambda piece: piece.value(frequency), default=None)

    def covered(self) -> str:
        """The frequencies of the set in words, such as "1 Hz to 10 MHz" or "50 Hz and 60 Hz"."""
        spans: list[tuple[float, float]] = []
        for low, high in sorted((piece.low_hz, piece.high_hz) for piece in self.pieces):
            if spans and low <= spans[-1][1]:
                spans[-1] = (spans[-1][0], max(high, spans[-1][1]))
            else:
                spans.append((low, high))
        return " and ".join(span_words(low, high) for low, high in spans)


@dataclass(frozen=True)
class Level:
    """The level of a set at one frequency."""

    value_t: float
    """Resultant rms flux density."""
    source: str
    mark: str
    """C confirmed in a public text, M named, not read, D derived."""
    note: str
    """Further conditions, and what was not read."""


def _constant(low: float, high: float, level: float, mark: str, note: str = "") -> Piece:
    return Piece(low, high, level, 0, mark, note)


def _inverse(low: float, high: float, coefficient: float, mark: str, note: str = "") -> Piece:
    return Piece(low, high, coefficient, 1, mark, note)


def _mains(level_50: float, level_60: float, mark_50: str, mark_60: str, note: str = "") -> tuple[Piece, ...]:
    return _constant(50, 50, level_50, mark_50, note), _constant(60, 60, level_60, mark_60, note)


def _field_strength(name: str, strength: float, mark: str, source: str, note: str = "") -> LevelSet:
    """Set of one field strength [A/m] at 50 and 60 Hz."""
    conversion = f"{strength:g} A/m times mu0"
    pieces = _mains(mu_0 * strength, mu_0 * strength, mark, mark, conversion)
    return LevelSet(name, EQUIPMENT, source, pieces, note)


_ICNIRP_2010 = "ICNIRP 2010, Health Physics 99(6), reference levels for the magnetic field"
_ICNIRP_1998 = "ICNIRP 1998, Health Physics 74(4), p. 511, reference levels for the magnetic field"
_RECOMMENDATION = "Council Recommendation 1999/519/EC, Annex III, table 2, reference levels"
_DIRECTIVE = (
    "Directive 2013/35/EU, Annex II, table B2, action levels (restated in the Commission's guide to good practice, "
    "vol. 1, table D.6)"
)
_C95 = "IEEE C95.1-2019 (as IEEE C95.6-2002), maximum permissible exposure"
_IMMUNITY = "IEC 61000-4-8, continuous field"
_NUMBERING = "the numbering of the levels was not read either"

_AS_1998 = "by identity with ICNIRP 1998, which two public texts state; the table itself was not read"
_FLAT = "derived: the basic restriction of the brain rises with the frequency, so that the field stays"
_BREAK = "the break at 759 Hz was not read either"
_PUBLIC_1998 = (
    _constant(0, 1, 4e-2, "C"),
    Piece(1, 8, 4e-2, 2, "C"),
    _inverse(8, 800, 5e-3, "C"),  # 5000/f uT to 25 Hz, 5/f uT with f in kHz from there on: the same
    _constant(800, 150e3, 6.25e-6, "C"),
    _inverse(150e3, 10e6, 0.92, "C"),
)

_SETS = (
    LevelSet(
        "ICNIRP 2010 public",
        PERSONS,
        _ICNIRP_2010,
        (
            Piece(1, 8, 4e-2, 2, "C"),
            _inverse(8, 25, 0.5e-2, "C"),
            _constant(25, 50, 0.2e-3, "C"),
            _constant(50, 400, 0.2e-3, "C"),
            _inverse(400, 3e3, 0.08, "C"),
            _constant(3e3, 10e6, 27e-6, "C"),
        ),
    ),
    LevelSet(
        "ICNIRP 2010 occupational",
        PERSONS,
        _ICNIRP_2010,
        (
            Piece(1, 8, 0.2, 2, "C"),
            _inverse(8, 25, 2.5e-2, "C"),
            _constant(25, 300, 1e-3, "C"),
            _inverse(300, 3e3, 0.3, "C"),
            _constant(3e3, 10e6, 0.1e-3, "C"),
        ),
    ),
    LevelSet("ICNIRP 1998 public", PERSONS, _ICNIRP_1998, _PUBLIC_1998),
    LevelSet(
        "ICNIRP 1998 occupational",
        PERSONS,
        _ICNIRP_1998,
        (
            _constant(0, 1, 0.2, "C"),
            Piece(1, 8, 0.2, 2, "C"),
            _inverse(8, 820, 2.5e-2, "C"),  # 2.5e4/f uT to 25 Hz, 25/f uT with f in kHz from there on: the same
            _constant(820, 65e3, 30.7e-6, "C"),
            _inverse(65e3, 10e6, 2.0, "C"),
        ),
    ),
    LevelSet("EU 1999/519/EC public", PERSONS, _RECOMMENDATION, _PUBLIC_1998, _AS_1998),
    LevelSet(
        "EU 2013/35/EU low action",
        PERSONS,
        _DIRECTIVE,
        (
            Piece(1, 8, 0.2, 2, "C"),
            _inverse(8, 25, 2.5e-2, "C"),
            _constant(25, 300, 1e-3, "C"),
            _inverse(300, 3e3, 0.3, "C"),
            _constant(3e3, 10e6, 100e-6, "C"),
        ),
    ),
    LevelSet(
        "EU 2013/35/EU high action",
        PERSONS,
        _DIRECTIVE,
        (_inverse(1, 3e3, 0.3, "C"), _constant(3e3, 10e6, 100e-6, "C")),
    ),
    LevelSet(
        "EU 2013/35/EU limbs",
        PERSONS,
        _DIRECTIVE,
        (_inverse(1, 3e3, 0.9, "C"), _constant(3e3, 10e6, 300e-6, "C")),
        "localised field at the limbs",
    ),
    LevelSet(
        "IEEE C95.1-2019 unrestricted head and torso",
        PERSONS,
        _C95,
        (
            *_mains(0.904e-3, 0.904e-3, "C", "C"),
            _inverse(1, 20, 18.1e-3, "C", "read on one health authority's page alone"),
            _constant(20, 759, 0.904e-3, "D", _FLAT),
            _inverse(759, 3e3, 0.687, "M", _BREAK),
        ),
    ),
    LevelSet(
        "IEEE C95.1-2019 restricted head and torso",
        PERSONS,
        _C95,
        (
            *_mains(2.71e-3, 2.71e-3, "C", "C"),
            _inverse(1, 20, 54.3e-3, "M"),
            _constant(20, 759, 2.71e-3, "D", _FLAT),
            _inverse(759, 3e3, 2.06, "M", _BREAK),
        ),
    ),
    LevelSet(
        "IEEE C95.1-2019 limbs",
        PERSONS,
        _C95,
        (
            *_mains(75.8e-3, 63.2e-3, "C", "C"),
            _inverse(10.7, 3e3, 3.79, "D", "derived from the confirmed levels at 50 and 60 Hz"),
        ),
        "restricted and unrestricted environments alike",
    ),
    _field_strength("IEC 61000-4-8 level 1", 1, "C", _IMMUNITY, _NUMBERING),
    _field_strength("IEC 61000-4-8 level 2", 3, "C", _IMMUNITY, _NUMBERING),
    _field_strength("IEC 61000-4-8 level 3", 10, "C", _IMMUNITY, _NUMBERING),
    _field_strength("IEC 61000-4-8 level 4", 30, "C", _IMMUNITY, _NUMBERING),
    _field_strength("IEC 61000-4-8 level 5", 100, "M", _IMMUNITY),
    _field_strength("IEC 60601-1-2 (2014)", 30, "C", "IEC 60601-1-2:2014, immunity test level of medical equipment"),
    _field_strength("IEC 60601-1-2 (2007)", 3, "C", "IEC 60601-1-2:2007, immunity test level of medical equipment"),
)

LEVEL_SETS: Mapping[str, LevelSet] = MappingProxyType({level_set.name: level_set for level_set in _SETS})
"""Every set by its name."""


def level_set(name: str) -> LevelSet:
    """The set of a name; an unknown name raises ValueError with the nearest one and all there are."""
    if name not in LEVEL_SETS:
        raise ValueError(f'there are no reference levels "{name}"; right: {right_name(name)}')
    return LEVEL_SETS[name]


def right_name(name: str, known: Iterable[str] = LEVEL_SETS) -> str:
    """Correction of an unknown name: the nearest name if one is near, then all of them."""
    names = list(known)
    near = nearest(name, names)
    listing = ", ".join(f'"{known_name}"' for known_name in names)
    return f"one of {listing}" if near is None else f'"{near}" is near; known are {listing}'


def reference_level(name: str, frequency: float) -> Level:
    """Level of a named set at a frequency [Hz]: resultant rms flux density [T] with its source, mark and note.

    If two pieces of a law meet, the smaller level holds. An unknown name or a frequency outside the set raises
    ValueError with those that are right. The source of each set and the mark of each piece stand in `LEVEL_SETS`.
    """
    found = level_set(name)
    piece = found.piece(frequency)
    if piece is None:
        raise ValueError(f'"{name}" says nothing at {frequency:g} Hz; it covers {found.covered()}')
    memory = MARKS["M"] if piece.mark == "M" else ""
    note = "; ".join(text for text in (memory, piece.note, found.note) if text)
    return Level(piece.value(frequency), found.source, piece.mark, note)


def span_words(low: float, high: float) -> str:
    """A range of frequencies [Hz] in words, such as "1 Hz to 10 MHz"; both ends alike for one frequency."""
    if low == 0:
        return f"all up to {_hertz(high)}"
    return _hertz(low) if low == high else f"{_hertz(low)} to {_hertz(high)}"


def _hertz(frequency: float) -> str:
    for scale, unit in ((1e6, "MHz"), (1e3, "kHz")):
        if math.isfinite(frequency) and frequency >= scale:
            return f"{frequency / scale:g} {unit}"
    return f"{frequency:g} Hz"
