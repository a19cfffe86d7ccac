"""Standard output and error that never stop a run: any encoding, full devices, closed pipes, no stream at all."""

from __future__ import annotations

import codecs
import contextlib
import os
import shutil
import sys
import unicodedata
from typing import Literal, TextIO

PLAIN = {
    "Ω": "ohm",
    "µ": "u",
    "μ": "u",
    "±": "+/-",
    "×": "x",
    "°": "deg",
    "σ": "sigma",
    "−": "-",
    "–": "-",
    "—": "-",
    "…": "...",
    "→": "->",
    "≈": "~",
    "“": '"',
    "”": '"',
    "’": "'",
    "∞": "infinite",
}
"""Replacements of characters that a terminal cannot show; other letters lose their accents."""
HANDLER = "trayfield.plain"
"""Name of the error handler of the streams."""

Name = Literal["stdout", "stderr"]


def prepare() -> None:
    """Make both streams replace characters that they cannot write; open closed ones to the null device."""
    codecs.register_error(HANDLER, _plain)
    for descriptor in (0, 1, 2):  # else the next opened file gets this number and receives what libraries print
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    for name in ("stdout", "stderr"):
        with contextlib.suppress(AttributeError, OSError, ValueError):
            getattr(sys, name).reconfigure(errors=HANDLER)


def write(name: Name, text: str) -> bool:
    """Write text to a stream and flush it; False if that fails, and all later text goes to the null device."""
    stream: TextIO | None = getattr(sys, name)
    if stream is None:
        return False
    try:
        stream.write(text)
        stream.flush()
    except (OSError, ValueError):
        _silence(name, stream)
        return False
    return True


def terminal_columns(name: Name) -> int:
    """Columns of the terminal behind a stream, as the variable COLUMNS says if it is set; 0 if there is no terminal."""
    stream: TextIO | None = getattr(sys, name)
    with contextlib.suppress(OSError, ValueError):  # a closed stream
        if stream is not None and stream.isatty():
            return shutil.get_terminal_size().columns
    return 0


def close() -> None:
    """Flush both streams, so that nothing can fail when the process ends."""
    for name in ("stdout", "stderr"):
        write(name, "")


def _silence(name: str, stream: TextIO) -> None:
    """Send a stream to the null device: its buffer would fail again at the end of the process."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def _plain(error: UnicodeError) -> tuple[str, int]:
    """Replacement of the characters that an encoding lacks, and the position after them."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_sign, error.object[error.start : error.end])), error.end


def _sign(character: str) -> str:
    if character in PLAIN:
        return PLAIN[character]
    if "\udc80" <= character <= "\udcff":  # a byte of a file name in another encoding
        return f"\\x{ord(character) - 0xDC00:02x}"
    if character.isspace():
        return " "
    return unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode() or "?"
