"""File stems of the figures of a result; free of the drawing library, so that the report can name figures too."""

from __future__ import annotations

from collections.abc import Iterable

from studies.cross_section import CrossSection
from studies.file_names import slugs
from studies.results import Result
from studies.spectrum import components

CROSS_SECTION = "cross_section"
FIELD_MAP = "field_map"
FIELD_CLOSE = "field_close"
FORMULA_DIFFERENCE = "formula_difference"
CURRENT_DENSITY = "current_density"
SHARES = "shares"


def traverse_stems(result: Result) -> tuple[str, ...]:
    """Stem of each traverse's figure, in order."""
    return _distinct("traverse", (traverse.name for traverse in result.traverses))


def loss_stems(result: Result) -> dict[str, str]:
    """Stem of the loss figure of each tray or other part without a cable, by the part's name."""
    parts = [part.name for part in result.cross_section.parts if part.cable is None]
    return dict(zip(parts, _distinct("loss_density", parts), strict=True))


def is_of(part: str, owner: str) -> bool:
    """Whether a part is a tray or metalwork of a name itself, or a piece of it."""
    return part == owner or part.startswith(f"{owner}.")


def has_parallel_cables(section: CrossSection) -> bool:
    """Whether any phase has more than one cable."""
    return any(len(section.ties[phase.tie].parts) > 1 for phase in section.phases)


def frequencies(result: Result) -> tuple[float, ...]:
    """Frequencies of a result, the study's own first. [Hz]"""
    return tuple(component.frequency for component in components(result.study))


def at_own_frequency(result: Result) -> str:
    """What a figure or table of the study's own frequency alone adds to its title; nothing where there is no other."""
    return f", at {result.cross_section.frequency:g} Hz alone" if len(frequencies(result)) > 1 else ""


def _distinct(prefix: str, names: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{prefix}_{name}" for name in slugs(names))
