"""The record of a verification: two files that are filed with a report, both written or neither."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path

from studies.output.numbers import software_versions
from studies.verify.checks import CheckOutcome
from studies.verify.table import markdown, verification_json

NAMES = ("verification.md", "verification.json")
"""What is written."""


class PlaceError(ValueError):
    """A folder that the record cannot be written to."""


def check_place(folder: Path) -> None:
    """Refuse a folder that cannot be written to, before anything is computed; other files in it do not matter."""
    if folder.is_symlink() and not folder.exists():
        raise PlaceError(f"{folder}: is a link to nothing; name another folder with --out")
    if folder.exists() and not folder.is_dir():
        raise PlaceError(f"{folder}: is a file; name a folder with --out")
    for name in NAMES:
        if (folder / name).is_dir():
            raise PlaceError(f"{folder / name}: is a folder; name another folder with --out")
    nearest = folder.resolve()
    while not nearest.exists():
        nearest = nearest.parent
    if not nearest.is_dir():
        raise PlaceError(f"{folder}: {nearest} is a file; name a folder with --out")
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise PlaceError(f"{folder}: no permission to write in {nearest}; name another folder with --out")


def write_record(outcomes: Sequence[CheckOutcome], folder: Path) -> None:
    """Write verification.md and verification.json; the same outcomes give the same bytes."""
    software = software_versions()
    texts = dict(zip(NAMES, (markdown(outcomes, software), verification_json(outcomes, software)), strict=True))
    check_place(folder)
    made = [place for place in (folder, *folder.parents) if not place.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        _write_all(texts, folder)
    except BaseException:
        for place in made:
            with contextlib.suppress(OSError):  # something else was put there meanwhile
                place.rmdir()
        raise


def _write_all(texts: dict[str, str], folder: Path) -> None:
    """Write files beside their places, then put them there; undo what was done if one cannot be put there."""
    aside = Path(tempfile.mkdtemp(prefix=".verification-", dir=folder))
    earlier = aside / "earlier"
    try:
        earlier.mkdir()
        for name, text in texts.items():
            (aside / name).write_text(text, encoding="utf-8")
        done: list[str] = []
        try:
            for name in texts:
                if (folder / name).exists():
                    (folder / name).rename(earlier / name)
                done.append(name)
                (aside / name).rename(folder / name)
        except BaseException:
            for name in done:
                if (earlier / name).exists():
                    (earlier / name).replace(folder / name)
                else:
                    (folder / name).unlink(missing_ok=True)
            raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)
