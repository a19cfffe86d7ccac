"""The results folder: written whole or not at all; what an earlier run or a user put there is not lost."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

MANIFEST = "results.json"
"""Its list "files" names every file that the run wrote."""


class FolderError(ValueError):
    """A results folder that must not or cannot be written."""


def check_folder(target: Path) -> None:
    """Refuse a target that is not a folder of results, before anything is computed.

    Raises
    ------
    FolderError
        Where the target is a file, a folder with other things than results, or cannot be written to.
    """
    if target.is_symlink() and not target.exists():
        raise FolderError(f"{target}: is a link to nothing; name another folder with --out")
    if target.exists() and not target.is_dir():
        raise FolderError(f"{target}: is a file; name a folder with --out")
    if target.is_dir() and any(target.iterdir()) and _written_by_run(target) is None:
        raise FolderError(f"{target}: holds other things than results; name a new or an empty folder with --out")
    parent = target.resolve().parent  # the folder itself is not written into: a fresh one takes its place
    while not parent.exists():
        parent = parent.parent
    if not parent.is_dir():
        raise FolderError(f"{target}: {parent} is a file; name a folder with --out")
    if not os.access(parent, os.W_OK | os.X_OK):
        raise FolderError(f"{target}: no permission to write in {parent}; name another folder with --out")


@contextlib.contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A fresh folder to write results into; it takes the target's place when all is written, or is removed.

    Files in the target that no run wrote are carried over.
    """
    check_folder(target)
    target = target.resolve()
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        fresh.chmod(0o777 & ~_umask())
        yield fresh
        _take_place(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _take_place(fresh: Path, target: Path) -> None:
    if not target.exists():
        fresh.rename(target)
        return
    _copy_foreign(target, fresh)
    aside = Path(tempfile.mkdtemp(prefix=f".{target.name}-earlier-", dir=target.parent))
    earlier = aside / "results"
    try:
        target.rename(earlier)
        fresh.rename(target)
    except BaseException:  # an interrupt between the two renamings must not cost the earlier results either
        if earlier.exists() and not target.exists():
            earlier.rename(target)
        raise
    finally:
        if target.exists():
            shutil.rmtree(aside, ignore_errors=True)


def _copy_foreign(target: Path, fresh: Path) -> None:
    """Carry over what no run wrote: notes and photographs that were put beside the results."""
    written = _written_by_run(target) or set()
    for entry in sorted(target.rglob("*")):
        name = entry.relative_to(target)
        if entry.is_dir() and not entry.is_symlink():
            if not any(entry.iterdir()):
                (fresh / name).mkdir(parents=True, exist_ok=True)
            continue
        if name.as_posix() in written:
            continue
        copy = fresh / name
        while copy.exists() or (copy != fresh / name and (target / copy.relative_to(fresh)).exists()):
            copy = copy.with_name(f"{copy.stem} (kept){copy.suffix}")
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(entry, copy, follow_symlinks=False)


def _written_by_run(folder: Path) -> set[str] | None:
    """Names of the files that the run wrote, None where the folder holds no results."""
    try:
        document = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(document, dict) or "schema" not in document:
        return None
    files = document.get("files")
    return {str(name) for name in (files if isinstance(files, list) else [])} | {MANIFEST}


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
