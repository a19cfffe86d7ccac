"""Which keys go with which choice: arrangements of circuits, profiles of trays, shapes of metalwork.

These tables are the only place that says so; the checks, the messages and the reference of keys read them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class KeySet:
    """Keys that go with a choice: all of `required`, exactly one of `one_of`, any of `optional`."""

    required: tuple[str, ...]
    one_of: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()

    @property
    def allowed(self) -> tuple[str, ...]:
        """Every key that goes with the choice."""
        return (*self.required, *self.one_of, *self.optional)


def governed(choices: Mapping[str, KeySet]) -> tuple[str, ...]:
    """The keys that go with some of the choices and not with others, or are needed by some of them."""
    return tuple(dict.fromkeys(key for choice in choices.values() for key in choice.allowed))


ARRANGEMENTS: Mapping[str, KeySet] = MappingProxyType(
    {
        "flat": KeySet(required=("phases", "rests_at"), one_of=("spacing", "clear_gap")),
        "trefoil": KeySet(required=("phases", "rests_at"), optional=("spacing", "group_clear_gap")),
        "positions": KeySet(required=("phases", "positions")),
        "drawing": KeySet(required=("drawn_on",), optional=("phases",)),
    }
)
"""Formations of circuits by name."""

PROFILES: Mapping[str, KeySet] = MappingProxyType(
    {
        "channel": KeySet(
            required=("inside_width", "inside_height"),
            optional=("lip", "lips", "dividers", "divider_height", "cover", "open_area"),
        ),
        "plate": KeySet(required=("width",), optional=("open_area",)),
        "ladder": KeySet(required=("inside_width", "inside_height"), optional=("rail_flange", "rails", "cover")),
        "duct": KeySet(required=("inside_width", "inside_height"), optional=("dividers", "divider_height")),
        "conduit": KeySet(required=("inside_diameter",)),
    }
)
"""Profiles of trays by name."""

SHAPES: Mapping[str, KeySet] = MappingProxyType(
    {
        "path": KeySet(required=("path", "thickness"), optional=("side", "closed")),
        "I": KeySet(required=("at", "height", "width", "web", "flange"), optional=("turned",)),
        "L": KeySet(required=("at", "height", "width", "thickness"), optional=("turned",)),
        "rectangle": KeySet(required=("at", "width", "height"), optional=("turned",)),
        "tube": KeySet(required=("at", "outside_diameter", "thickness")),
        "drawing": KeySet(required=("layer",)),
    }
)
"""Shapes of metalwork by name."""

FORMS: Mapping[str, str] = MappingProxyType(
    {
        "phases": 'phases = ["L1", "L2", "L3"]',
        "rests_at": 'rests_at = ["0 mm", "0 mm"]',
        "spacing": 'spacing = "56 mm"',
        "clear_gap": 'clear_gap = "1 diameter"',
        "group_clear_gap": 'group_clear_gap = "2.15 diameter"',
        "positions": 'positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["56 mm", "28 mm"]]',
        "drawn_on": 'drawn_on = { L1 = "PHASE-1", L2 = "PHASE-2", L3 = "PHASE-3" }',
        "inside_width": 'inside_width = "300 mm"',
        "inside_height": 'inside_height = "100 mm"',
        "inside_diameter": 'inside_diameter = "100 mm"',
        "outside_diameter": 'outside_diameter = "60 mm"',
        "width": 'width = "300 mm"',
        "height": 'height = "200 mm"',
        "thickness": 'thickness = "1.5 mm"',
        "web": 'web = "6 mm"',
        "flange": 'flange = "9 mm"',
        "at": 'at = ["0 mm", "0 mm"]',
        "path": 'path = [["0 mm", "0 mm"], ["300 mm", "0 mm"], ["300 mm", "100 mm"]]',
        "layer": 'layer = "STEEL"',
    }
)
"""How a key that may be missing is written."""
