"""Standard output and error that cannot stop a run: any encoding, full devices, closed pipes, no stream at all."""

from __future__ import annotations

import codecs
import contextlib
import os
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
"""What stands for a sign that a terminal cannot show; of other letters the accents are left out."""
HANDLER = "trayfield.plain"
"""Name of the error handler of the streams."""

Name = Literal["stdout", "stderr"]


def prepare() -> None:
    """Let both streams write what they can, with plain signs for the rest; closed ones are opened to nowhere."""
    codecs.register_error(HANDLER, _plain)
    for descriptor in (0, 1, 2):  # else the next file that is opened gets the number, and what libraries print
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    for name in ("stdout", "stderr"):
        with contextlib.suppress(AttributeError, OSError, ValueError):
            getattr(sys, name).reconfigure(errors=HANDLER)


def write(name: Name, text: str) -> bool:
    """Write text to a stream at once; False where it takes none, and from then on it is written to nowhere."""
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


def close() -> None:
    """Write what is left to be written, so that nothing can fail when the process ends."""
    for name in ("stdout", "stderr"):
        write(name, "")


def _silence(name: str, stream: TextIO) -> None:
    """Lead a stream to nowhere: what is still in its buffer would fail again at the end of the process."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def _plain(error: UnicodeError) -> tuple[str, int]:
    """What stands for the signs that an encoding does not have, and where to go on."""
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
