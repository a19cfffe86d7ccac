"""Text that terminals and pages may show: no sign that steers them or turns its surroundings, and no long echo."""

from __future__ import annotations

import re

LONGEST_ECHO = 200
"""Longest part of a value of the user that a message repeats. [characters]"""

STEERING = re.compile(
    "["
    "\x00-\x1f\x7f-\x9f"  # control characters, among them the escape that begins an order to a terminal
    "\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"  # unseen, or turning
    "\ud800-\udfff\U000e0000-\U000e007f"
    "]"
)
"""Signs that are not shown but change how what stands beside them is shown."""


def steering_signs(text: str) -> str:
    """Code points of the steering signs of a text in words, empty where it has none."""
    return ", ".join(dict.fromkeys(f"U+{ord(sign):04X}" for sign in STEERING.findall(text)))


def printable(text: str, kept: str = "") -> str:
    """The text with each steering sign but the kept ones written as its code point."""
    return STEERING.sub(lambda sign: sign[0] if sign[0] in kept else f"\\u{ord(sign[0]):04x}", text)


def visible(text: str) -> str:
    """The text on one line, as a message repeats it: what no reader sees, unusual spaces too, as its code point."""
    return "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in text)


def shortened(text: str, longest: int = LONGEST_ECHO) -> str:
    """The text, or its beginning with dots where it is longer."""
    return text if len(text) <= longest else text[: longest - 3] + "..."
