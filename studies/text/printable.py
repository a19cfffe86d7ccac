"""Text safe for terminals and pages: without control or direction characters and without long repeated values."""

from __future__ import annotations

import re
from collections.abc import Sequence

LONGEST_ECHO = 200
"""Longest part of a user's value in a message. [characters]"""

STEERING = re.compile(
    "["
    "\x00-\x1f\x7f-\x9f"  # control characters, including the escape that starts a terminal command
    "\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"  # invisible or reversing
    "\ud800-\udfff\U000e0000-\U000e007f"
    "]"
)
"""Invisible characters that change the display of the text around them."""


def steering_signs(text: str) -> str:
    """Code points of the control characters of a text, in words; empty if it has none."""
    return ", ".join(dict.fromkeys(f"U+{ord(sign):04X}" for sign in STEERING.findall(text)))


def printable(text: str, kept: str = "") -> str:
    """The text with each control character, except the kept ones, written as its code point."""
    return STEERING.sub(lambda sign: sign[0] if sign[0] in kept else f"\\u{ord(sign[0]):04x}", text)


def visible(text: str) -> str:
    """The text on one line for a message, with invisible characters and unusual spaces as code points."""
    return "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in text)


def shortened(text: str, longest: int = LONGEST_ECHO) -> str:
    """The text, cut and ended by dots if it is too long."""
    return text if len(text) <= longest else text[: longest - 3] + "..."


def in_words(names: Sequence[str]) -> str:
    """Names in a sentence: "A", "A and B", "A, B and C"."""
    *others, last = names
    return f"{', '.join(others)} and {last}" if others else last
