"""The folder of a comparison: one process at a time, stored cases stay, and so do other people's files."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from studies.sweep.lock import LockedError, held
from studies.sweep.store import FILE, LOCK, is_store

MANIFEST = "comparison.json"
"""Its list "files" names every file that the comparison wrote."""
FRESH = ".fresh-"


class FolderError(ValueError):
    """A folder that must not or cannot be used for a comparison."""


def check_folder(target: Path) -> None:
    """Refuse a target that is not a folder of comparisons, before anything is computed.

    Raises
    ------
    FolderError
        Where the target is a file, a folder with other things than a comparison, or cannot be written to.
    """
    if target.is_symlink() and not target.exists():
        raise FolderError(f"{target}: is a link to nothing; name another folder with --out")
    if target.exists() and not target.is_dir():
        raise FolderError(f"{target}: is a file; name a folder with --out")
    if target.is_dir() and not _is_ours(target):
        raise FolderError(f"{target}: holds other things than a comparison; name a new or an empty folder with --out")
    place = target.resolve()
    while not place.exists():
        place = place.parent
    if not place.is_dir():
        raise FolderError(f"{target}: {place} is a file; name a folder with --out")
    if not os.access(place, os.W_OK | os.X_OK):
        raise FolderError(f"{target}: no permission to write in {place}; name another folder with --out")


@contextlib.contextmanager
def held_folder(target: Path) -> Iterator[None]:
    """Hold a folder, which is made where it is not there, for this process alone."""
    check_folder(target)
    target.mkdir(parents=True, exist_ok=True)
    try:
        with held(target / LOCK):
            yield
    except LockedError as error:
        raise FolderError(
            f"{target}: another comparison (process {error.holder}) is at work in this folder; wait for it, or name "
            "another folder with --out"
        ) from None


@contextlib.contextmanager
def fresh_files(target: Path) -> Iterator[Path]:
    """A fresh folder within a held one to write into; its files take their places when all are written.

    It must contain the manifest in the end. Files of an earlier comparison that are not written again are removed; a
    file of the same name that no comparison wrote is kept under another one.
    """
    for left in target.glob(f"{FRESH}*"):  # of a run that was killed while it wrote
        shutil.rmtree(left, ignore_errors=True)
    fresh = Path(tempfile.mkdtemp(prefix=FRESH, dir=target))
    try:
        yield fresh
        _take_places(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _take_places(fresh: Path, target: Path) -> None:
    earlier = _written(target)
    files = sorted(path.relative_to(fresh) for path in fresh.rglob("*") if path.is_file())
    files.sort(key=lambda name: name.as_posix() == MANIFEST)  # last: it says that all are there
    for name in files:
        place = target / name
        if place.exists() and name.as_posix() not in earlier:
            place.rename(_kept_name(place))
        place.parent.mkdir(parents=True, exist_ok=True)
        (fresh / name).replace(place)
    for gone in sorted(earlier - {name.as_posix() for name in files}):
        (target / gone).unlink(missing_ok=True)


def _kept_name(place: Path) -> Path:
    kept = place
    while kept.exists():
        kept = kept.with_name(f"{kept.stem} (kept){kept.suffix}")
    return kept


def _is_ours(folder: Path) -> bool:
    entries = [entry for entry in folder.iterdir() if entry.name != LOCK]
    return not entries or is_store(folder / FILE) or bool(_written(folder))


def _written(folder: Path) -> set[str]:
    """Names of the files that an earlier comparison wrote there."""
    try:
        document = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return set()
    if not isinstance(document, dict) or "schema" not in document:
        return set()
    files = document.get("files")
    inside = [str(name) for name in (files if isinstance(files, list) else [])]
    return {name for name in inside if ".." not in Path(name).parts and not Path(name).is_absolute()} | {MANIFEST}
