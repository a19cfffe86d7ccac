"""Files of a folder, each for itself: one that cannot be written costs no other and leaves no half."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from studies.output.folder import FolderKind, whole_folder
from studies.text.failures import Failure, collected, guarded, merged
from studies.text.html import plain_page

TRACES = "failures.txt"
"""File with the traceback of everything that failed, written where anything did."""
ManifestText = Callable[[Sequence[str], Sequence[Failure]], str]
"""Text of a manifest, from the names of the other files and what failed so far."""


@contextlib.contextmanager
def folder_with_manifest(
    target: Path, kind: FolderKind, manifest: ManifestText, earlier: Sequence[Failure] = ()
) -> Iterator[tuple[Path, list[Failure]]]:
    """A fresh folder to write into, and what fails meanwhile: it costs only itself and is named in the manifest.

    The manifest is written first, since all else may fail, and again with the names of all files at the end; then the
    files take their places in the target. Tracebacks include those of earlier failures.
    """
    with whole_folder(target, kind) as folder, collected() as found:
        document = folder / kind.manifest
        write_text(document, manifest((), found))
        yield folder, found
        if failures := merged(earlier, found):
            traces = "\n\n".join(f"{failure}\n\n{failure.trace}" for failure in failures)
            whole_file(folder / TRACES, partial(write_text, text=traces))
        written = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        files = sorted(name for name in written if name != kind.manifest)
        whole_file(folder / "new.json", lambda path: write_text(path, manifest(files, found)))
        guarded(f"list of files in {kind.manifest}", lambda: (folder / "new.json").replace(document), None)


def whole_file(path: Path, write: Callable[[Path], object]) -> None:
    """Write a file, its folder first where there is none; of one that fails nothing is left."""

    def make() -> None:
        path.parent.mkdir(exist_ok=True)
        try:
            write(path)
        except BaseException:
            path.unlink(missing_ok=True)
            raise

    guarded(f"file {path.name}", make, None)


def write_page(path: Path, title: str, make: Callable[[], str], plain: Callable[[], str]) -> None:
    """Write a report, or a page of plain text if it fails."""
    page = guarded("report", make, None)
    if page is None:
        page = guarded("plain report", lambda: plain_page(title, plain()), None)
    if page is not None:
        whole_file(path, partial(write_text, text=page))


def write_text(path: Path, text: str) -> None:
    """Write text as UTF-8; half a character, as of a file name in another encoding, is written as its number."""
    path.write_bytes(text.encode("utf-8", "backslashreplace"))  # the same bytes on every system
