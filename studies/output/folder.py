"""Output folders: held by one process at a time; new files take their places all or not at all.

New files are written into `.in-use/new` within the folder, so that the folder itself may be a mount point or a link.
When all are there, `new` becomes `whole`. From then on each file takes its place, and earlier ones go to `earlier`. The
manifest leaves first and comes last: where it stands, all files are of the same run. The next process repairs what a
killed one left: it removes an incomplete `new` and moves the rest of a `whole`.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from studies.text.problems import Refused

LOCK = ".lock"
WORK = ".in-use"
OF_NOBODY = (LOCK, WORK, "lost+found")
"""Entries that say nothing of whose a folder is; the last stands at the top of a file system of its own."""
NEW, WHOLE, EARLIER, PROCESS = "new", "whole", "earlier", "process"
"""Within `WORK`: files being written, files all written, files of the run before, number of the process at work."""
NO_LOCKS = (errno.ENOLCK, errno.ENOTSUP, errno.EOPNOTSUPP)
"""What file systems without locks answer; results are written there all the same."""


class FolderError(Refused):
    """A folder that must not or cannot be written."""


@dataclass(frozen=True)
class FolderKind:
    """What a folder is for."""

    what: str
    """In words, "results"."""
    manifest: str
    """Name of the JSON document whose list "files" names every file that was written with it."""
    recognises: Callable[[Path], bool] = lambda folder: False
    """Whether a folder without a manifest is one of these all the same."""


RESULTS = FolderKind("results", "results.json")
MANIFESTS = (RESULTS.manifest, "comparison.json", "verification.json")
"""Of every kind: several may lie in one folder, and each repairs what any of them left."""


def check_folder(target: Path, kind: FolderKind = RESULTS) -> None:
    """Refuse a target that is not a folder of its kind, before anything is computed.

    Raises FolderError if the target is a file, a folder with other things in it, or cannot be written to.
    """
    if target.is_symlink() and not target.exists():
        raise FolderError(f"{target}: is a link to nothing; name another folder with --out")
    if target.exists() and not target.is_dir():
        raise FolderError(f"{target}: is a file; name a folder with --out")
    if target.is_dir() and not _is_ours(target, kind):
        raise FolderError(f"{target}: holds other things than {kind.what}; name a new or an empty folder with --out")
    place = target.resolve()
    while not place.exists():
        place = place.parent
    if not place.is_dir():
        raise FolderError(f"{target}: {place} is a file; name a folder with --out")
    if not os.access(place, os.W_OK | os.X_OK):
        raise FolderError(f"{target}: no permission to write in {place}; name another folder with --out")


@contextlib.contextmanager
def held_folder(target: Path, kind: FolderKind = RESULTS) -> Iterator[None]:
    """Hold a folder, which is made where it is not there, for this process alone, and repair what a killed one left.

    The thread that holds it may hold it again.

    Raises FolderError if the folder is none of its kind, or if another process holds it.
    """
    check_folder(target, kind)
    place = target.resolve()
    made = [folder for folder in (place, *place.parents) if not folder.exists()]
    place.mkdir(parents=True, exist_ok=True)
    try:
        with _locked(place / LOCK, target) as outermost:
            if not outermost:
                yield
                return
            try:
                _repair(place)
                (place / WORK).mkdir(exist_ok=True)
                (place / WORK / PROCESS).write_text(str(os.getpid()), encoding="ascii")
                yield
            finally:
                if _whole_manifest(place) is None:
                    shutil.rmtree(place / WORK, ignore_errors=True)
    finally:
        with contextlib.suppress(OSError):  # something is in it
            for folder in made:
                folder.rmdir()


@contextlib.contextmanager
def whole_folder(target: Path, kind: FolderKind = RESULTS) -> Iterator[Path]:
    """A fresh folder to write into; its files take their places in the target when all are written, or are removed.

    It must contain the manifest in the end. Files that an earlier run wrote there and this one did not are removed.
    Files that no run wrote stay, under another name where theirs is needed.
    """
    with held_folder(target, kind):
        place = target.resolve()
        new = place / WORK / NEW
        shutil.rmtree(new, ignore_errors=True)
        new.mkdir()
        try:
            yield new
            new.rename(place / WORK / WHOLE)
            _take_places(place, kind.manifest, target)
        finally:
            shutil.rmtree(new, ignore_errors=True)


def _is_ours(folder: Path, kind: FolderKind) -> bool:
    entries = {entry.name for entry in folder.iterdir()}
    return (
        WORK in entries or entries <= {*OF_NOBODY} or bool(_written(folder, kind.manifest)) or kind.recognises(folder)
    )


@contextlib.contextmanager
def _locked(path: Path, target: Path) -> Iterator[bool]:
    """Hold the lock of a file that is made for it and removed again; whether this thread did not hold it before."""
    lock = FileLock(path, timeout=0, is_singleton=True)
    try:
        lock.acquire()
    except Timeout:
        raise FolderError(
            f"{target}: another process ({_holder(path.parent)}) is at work in this folder; wait for it, or name "
            "another folder with --out"
        ) from None
    except OSError as error:
        if error.errno not in NO_LOCKS:  # there, results without a lock are better than none
            raise
    outermost = lock.lock_counter <= 1
    try:
        yield outermost
    finally:
        removed = not outermost
        with contextlib.suppress(OSError):
            if outermost:  # while it is still held, so that nobody waits for a file that is gone
                path.unlink()
                removed = True
        lock.release()
        if not removed:  # where open files cannot be removed
            with contextlib.suppress(OSError):
                path.unlink()


def _holder(folder: Path) -> str:
    with contextlib.suppress(OSError, ValueError):
        return str(int((folder / WORK / PROCESS).read_text(encoding="ascii")))
    return "unknown"


def _whole_manifest(folder: Path) -> str | None:
    return next((name for name in MANIFESTS if (folder / WORK / WHOLE / name).exists()), None)


def _repair(folder: Path) -> None:
    if manifest := _whole_manifest(folder):
        _take_places(folder, manifest, folder)
    shutil.rmtree(folder / WORK, ignore_errors=True)


def _take_places(folder: Path, manifest: str, target: Path) -> None:
    """Move the whole new files into their places; it may go on where a killed process stopped.

    Where a file cannot be moved, all go back, and the new files are kept in a folder beside the earlier ones.
    """
    whole, earlier = folder / WORK / WHOLE, folder / WORK / EARLIER
    written = _written(earlier, manifest) or _written(folder, manifest)
    left = [path.relative_to(whole) for path in whole.rglob("*") if path.is_symlink() or not path.is_dir()]
    left.sort(key=lambda name: (name.as_posix() == manifest, name))
    new = {name.as_posix() for name in left} | _written(whole, manifest)
    moved: list[tuple[Path, Path]] = []
    try:
        for gone in [manifest, *sorted(written - new)]:
            if _is_file(folder / gone) and gone in written:
                _move(folder / gone, earlier / gone, moved)
        for name in left:
            obstacle = _obstacle(folder, name)
            if obstacle is not None:
                ours = name.as_posix() in written and _is_file(obstacle)
                aside = earlier / name if ours else _kept_name(obstacle, folder, new)
                _move(obstacle, aside, moved)
            _move(whole / name, folder / name, moved)
    except OSError as error:
        _move_back(moved, folder)
        kept = _kept_name(folder / "new files", folder, new)
        whole.rename(kept)
        raise FolderError(
            f"{target}: the new files cannot take their places ({error}); they are whole in {kept.name} there, and the "
            "earlier ones are as they were"
        ) from error
    except BaseException:
        _move_back(moved, folder)
        shutil.rmtree(whole, ignore_errors=True)
        raise
    for gone in sorted(written - new):
        _remove_empty((folder / gone).parent, folder)
    shutil.rmtree(whole, ignore_errors=True)
    shutil.rmtree(earlier, ignore_errors=True)


def _move(old: Path, new: Path, moved: list[tuple[Path, Path]]) -> None:
    moved.append((old, new))  # first, so that an interrupt finds it
    new.parent.mkdir(parents=True, exist_ok=True)
    try:
        old.replace(new)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise
        shutil.copy2(old, new, follow_symlinks=False)
        old.unlink()


def _move_back(moved: list[tuple[Path, Path]], folder: Path) -> None:
    for old, new in reversed(moved):
        if not os.path.lexists(old):
            _move(new, old, [])
        _remove_empty(new.parent, folder)


def _remove_empty(place: Path, folder: Path) -> None:
    """Remove a folder within another where nothing is left in it, and those above it."""
    with contextlib.suppress(OSError):
        while place != folder:
            place.rmdir()
            place = place.parent


def _is_file(path: Path) -> bool:
    return path.is_symlink() or path.is_file()


def _obstacle(folder: Path, name: Path) -> Path | None:
    """What stands where a file is to be: something of its name, or a file in the place of a folder above it."""
    for above in [*reversed(name.parents[:-1])]:
        if os.path.lexists(folder / above) and not (folder / above).is_dir():
            return folder / above
    return folder / name if os.path.lexists(folder / name) else None


def _kept_name(place: Path, folder: Path, taken: set[str]) -> Path:
    """The place itself or one beside it where nothing is and nothing will be."""
    kept = place
    while os.path.lexists(kept) or kept.relative_to(folder).as_posix() in taken:
        kept = kept.with_name(f"{kept.stem} (kept){kept.suffix}")
    return kept


def _written(folder: Path, manifest: str) -> set[str]:
    """Names of the files written with the manifest of a folder, itself among them; none where there is no manifest."""
    try:
        document = json.loads((folder / manifest).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return set()
    if not isinstance(document, dict) or "schema" not in document:
        return set()
    files = document.get("files")
    names = [Path(str(name)) for name in (files if isinstance(files, list) else [])]
    return {name.as_posix() for name in names if ".." not in name.parts and not name.is_absolute()} | {manifest}
