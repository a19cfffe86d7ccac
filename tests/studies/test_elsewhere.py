"""What differs on other systems than Linux, simulated: consoles, closed pipes, ends of lines, locks, processes."""

import errno
import io
import re
import sqlite3
import subprocess
from pathlib import Path

import pytest
from filelock import FileLock

from studies.compare.local import WorkerProcess
from studies.compare.store import Store
from studies.output.files import write_text
from studies.output.folder import FolderError, held_folder, whole_folder
from studies.text import streams
from studies.text.progress import progress


class Console(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(text: str, width: int) -> str:
    """The last line of a console that knows carriage returns alone, as old ones do."""
    cells = [" "] * width
    for line in text.split("\r"):
        cells[: len(line)] = line
    return "".join(cells).rstrip()


def test_progress_needs_no_escapes_of_the_console(monkeypatch):
    console = Console()
    monkeypatch.setattr("sys.stderr", console)
    monkeypatch.setenv("COLUMNS", "40")
    with progress(quiet=False) as report_progress:
        report_progress("a long message about the first mesh of two")
        report_progress("short")
        assert re.fullmatch(r" *\d\.\d s  short", shown(console.getvalue(), 40))
    assert shown(console.getvalue(), 40) == ""
    assert "\x1b" not in console.getvalue()
    assert max(map(len, console.getvalue().split("\r"))) == 39  # a full line would begin another one


def test_a_closed_pipe_that_is_an_invalid_argument_ends_nothing(monkeypatch):
    class Pipe(io.StringIO):
        def flush(self) -> None:
            raise OSError(errno.EINVAL, "Invalid argument")

    monkeypatch.setattr("sys.stdout", Pipe())
    assert not streams.write("stdout", "results")


def test_text_has_the_same_bytes_where_lines_end_otherwise(monkeypatch, tmp_path):
    real = io.open

    def elsewhere(file, mode="r", buffering=-1, encoding=None, errors=None, newline=None, *rest):
        ends = "\r\n" if newline is None and "b" not in mode else newline
        return real(file, mode, buffering, encoding, errors, ends, *rest)

    monkeypatch.setattr("io.open", elsewhere)
    write_text(tmp_path / "a.csv", "b_rms_t\n1e-06\n")
    assert (tmp_path / "a.csv").read_bytes() == b"b_rms_t\n1e-06\n"


def test_a_lock_that_cannot_be_removed_while_it_is_open_is_removed_afterwards(monkeypatch, tmp_path):
    real, own = Path.unlink, FileLock.release
    held: list[bool] = []

    def elsewhere(path: Path, *choices, **more) -> None:
        if path.name == ".lock" and held:
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        real(path, *choices, **more)

    def release(lock: FileLock, force: bool = False) -> None:
        own(lock, force)
        held.clear()

    monkeypatch.setattr("pathlib.Path.unlink", elsewhere)
    monkeypatch.setattr("filelock.FileLock.release", release)
    with held_folder(tmp_path / "out"):
        held.append(True)
        (tmp_path / "out" / "mine").touch()
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine"]


def test_results_are_kept_if_a_reader_holds_an_earlier_file_open(monkeypatch, tmp_path):
    def written(text: str) -> None:
        with whole_folder(tmp_path / "out") as folder:
            (folder / "results.json").write_text('{"schema": 1, "files": ["report.html"]}')
            (folder / "report.html").write_text(text)

    written("earlier")
    real = Path.replace

    def elsewhere(path: Path, target: Path) -> Path:
        if path.name == "report.html" and "earlier" in Path(target).parts:
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        return real(path, target)

    monkeypatch.setattr("pathlib.Path.replace", elsewhere)
    with pytest.raises(FolderError, match="whole in new files there"):
        written("new")
    assert (tmp_path / "out" / "report.html").read_text() == "earlier"
    assert (tmp_path / "out" / "new files" / "report.html").read_text() == "new"


def test_cases_are_stored_without_the_shared_memory_that_network_drives_lack(tmp_path):
    with Store.opened(tmp_path / "cases.sqlite"):
        pass
    with sqlite3.connect(tmp_path / "cases.sqlite") as other:
        assert other.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert [path.name for path in tmp_path.iterdir()] == ["cases.sqlite"]


def test_an_interrupt_of_a_console_is_not_for_the_workers(monkeypatch):
    asked = {}

    def started(line, **choices):
        asked.update(choices)
        raise OSError("enough")

    monkeypatch.setattr(subprocess, "Popen", started)
    monkeypatch.setattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0x200, raising=False)
    with pytest.raises(OSError, match="enough"):
        WorkerProcess().solve("key", "{}")
    assert asked["start_new_session"] is True  # elsewhere
    assert asked["creationflags"] == 0x200  # Windows
