"""Output folders of processes that are killed, at work at the same time, or on a file system of their own."""

import errno
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import studies.solve.accuracy
from studies.command import BAD_INPUT, main
from studies.output.folder import FolderError, check_folder, held_folder, whole_folder
from tests.studies.command_studies import BASE
from tests.studies.test_folder import earlier_results, fill, snapshot

NEW = ("report.html", "tables/a.csv", "notes.txt")
"""Files of the second run: one of a file that the first wrote, one new, one where a user has put one of this name."""

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="a process that is killed at a certain call")


def in_another_process(work: Callable[[], None]) -> int:
    """Do some work in a process of its own; the signal that ended it, 0 where none did."""
    process = os.fork()
    if process == 0:
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def killed_at(call: int, target: Path) -> bool:
    """Write new files and be killed before the given renaming or removal; False where it is not reached."""

    def work() -> None:
        calls = [0]

        def counted(function):
            def counting(*arguments, **choices):
                calls[0] += 1
                if calls[0] == call:
                    os.kill(os.getpid(), signal.SIGKILL)
                return function(*arguments, **choices)

            return counting

        for owner, name in ((Path, "replace"), (Path, "rename"), (Path, "unlink"), (shutil, "rmtree")):
            setattr(owner, name, counted(getattr(owner, name)))
        with whole_folder(target) as folder:
            fill(folder, *NEW)

    return in_another_process(work) == -signal.SIGKILL


def visible(target: Path) -> dict[str, bytes]:
    return {name: content for name, content in snapshot(target).items() if not name.startswith(".")}


@needs_fork
def test_a_run_killed_at_any_renaming_loses_nothing_and_the_next_one_repairs_it(tmp_path):
    users = {"notes.txt": b"seen on site", "photos/1.jpg": b"\xff\xd8"}
    ends = []
    for call in range(1, 40):
        target = tmp_path / str(call)
        before = earlier_results(target)
        for name, content in users.items():
            (target / name).parent.mkdir(exist_ok=True)
            (target / name).write_bytes(content)
        killed = killed_at(call, target)
        left = snapshot(target)
        if "results.json" in left:  # where it stands, all files are of its run
            ours = {name: content for name, content in visible(target).items() if content not in users.values()}
            assert ours == before or {*ours} == {*NEW, "results.json"}
        assert {*users.values()} <= {*left.values()}

        check_folder(target)
        with held_folder(target):  # the next run, which may be interrupted before it has anything to write
            pass

        after = snapshot(target)
        assert not [path.name for path in target.iterdir() if path.name.startswith(".")]
        if after["results.json"] == before["results.json"]:
            assert after == {**before, **users}
            ends.append("earlier")
        else:
            assert after.pop("results.json")
            kept = {"notes (kept).txt": b"seen on site", "photos/1.jpg": b"\xff\xd8"}
            assert after == {**{name: f"new {name}".encode() for name in NEW}, **kept}
            assert not (target / "figures").exists()  # what the second run did not write is gone, with its folder
            ends.append("new")
        if not killed:
            break
    assert not killed
    # earlier files until the whole is renamed; new ones from then on: the manifest aside, the file that goes, two out
    # of the way, four into place, removals, the lock
    assert ends == ["earlier"] * ends.count("earlier") + ["new"] * ends.count("new")
    assert ends.count("earlier") <= 4
    assert ends.count("new") >= 10


@needs_fork
def test_what_a_run_leaves_that_is_killed_while_it_writes_goes_with_the_next(tmp_path):
    before = earlier_results(tmp_path / "feeder")

    def work() -> None:
        with whole_folder(tmp_path / "feeder") as folder:
            fill(folder, *NEW)
            os.kill(os.getpid(), signal.SIGKILL)

    assert in_another_process(work) == -signal.SIGKILL
    assert visible(tmp_path / "feeder") == before
    with whole_folder(tmp_path / "feeder") as folder:
        assert list(folder.iterdir()) == []
        fill(folder, "report.html")
    assert {*snapshot(tmp_path)} == {"feeder/report.html", "feeder/results.json"}
    assert [path.name for path in tmp_path.iterdir()] == ["feeder"]


@needs_fork
def test_a_folder_that_a_killed_run_has_just_made_is_taken(tmp_path):
    def work() -> None:
        with held_folder(tmp_path / "feeder"):
            os.kill(os.getpid(), signal.SIGKILL)

    assert in_another_process(work) == -signal.SIGKILL
    check_folder(tmp_path / "feeder")
    with held_folder(tmp_path / "feeder"):
        pass
    assert list((tmp_path / "feeder").iterdir()) == []


def test_a_second_run_into_a_folder_in_use_is_refused_before_it_computes(tmp_path, monkeypatch, capsys):
    (tmp_path / "feeder.toml").write_text(BASE)
    monkeypatch.chdir(tmp_path)
    code = (
        "import sys; from pathlib import Path; from studies.output.folder import held_folder\n"
        "with held_folder(Path('results/feeder')): print('held', flush=True); sys.stdin.read()"
    )
    root = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    line = [sys.executable, "-c", code]
    with subprocess.Popen(line, text=True, env=root, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as first:
        assert first.stdout is not None
        assert first.stdin is not None
        assert first.stdout.readline() == "held\n"
        monkeypatch.setattr(studies.solve.accuracy, "unit_fields", lambda *_, **__: pytest.fail("computed"))
        assert main(["run", "-q", "feeder.toml"]) == BAD_INPUT
        said = capsys.readouterr().err
        first.stdin.close()
        first.wait(60)
    assert said.startswith(f"{Path('results/feeder')}: another process ({first.pid}) is at work in this folder; wait")


@pytest.mark.parametrize("number", [errno.EXDEV, errno.EBUSY])
def test_a_folder_that_cannot_be_renamed_is_written_into(number, tmp_path, monkeypatch):
    target = tmp_path / "feeder"
    earlier_results(target)
    (target / "photo.jpg").write_bytes(b"\xff\xd8")
    rename = os.rename

    def failing_rename(self, new):
        if target in (Path(self), Path(new)):
            raise OSError(number, os.strerror(number))  # as the system answers where a volume is mounted there
        return rename(self, new)

    monkeypatch.setattr(Path, "rename", failing_rename)
    with whole_folder(target) as folder:
        fill(folder, *NEW)
    assert {*snapshot(target)} == {*NEW, "results.json", "photo.jpg"}
    assert list(tmp_path.iterdir()) == [target]


def test_files_are_copied_where_a_folder_within_is_on_another_file_system(tmp_path, monkeypatch):
    target = tmp_path / "feeder"
    earlier_results(target)

    def across(self, new):
        raise OSError(errno.EXDEV, "Invalid cross-device link")

    monkeypatch.setattr(Path, "replace", across)
    with whole_folder(target) as folder:
        fill(folder, *NEW)
    assert {*snapshot(target)} == {*NEW, "results.json"}
    assert (target / "report.html").read_text() == "new report.html"


@pytest.fixture
def volume(tmp_path) -> Iterator[Path]:
    """A folder that is a file system of its own, as a container has it."""
    place = tmp_path / "volume"
    place.mkdir()
    if (
        shutil.which("mount") is None
        or subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=1m", "trayfield-test", str(place)], capture_output=True, check=False
        ).returncode
    ):
        pytest.skip("nothing may be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_mounted_volume_is_written_into_again_and_again(volume):
    (volume / "lost+found").mkdir()  # as at the top of many a file system
    for name in ("first.csv", "second.csv"):
        check_folder(volume)
        with whole_folder(volume) as folder:
            fill(folder, name)
        assert {*snapshot(volume)} == {name, "results.json"}
    with pytest.raises(OSError, match="No space left"), whole_folder(volume) as folder:
        (folder / "results.json").write_bytes(b"x" * 2_000_000)
    assert {*snapshot(volume)} == {"second.csv", "results.json"}


HIDDEN = """
import sys, warnings
sys.modules["fcntl"] = None  # as where there is none
warnings.simplefilter("ignore")
from pathlib import Path
from concurrent.futures import ThreadPoolExecutor
import studies.compare.command
from studies.output.folder import FolderError, held_folder, whole_folder
target = Path(sys.argv[1])
def other():
    try:
        with held_folder(target):
            return "held"
    except FolderError as error:
        return str(error)
with held_folder(target), ThreadPoolExecutor() as pool:
    print(pool.submit(other).result())
print(other())
print(sorted(path.name for path in target.iterdir()) if target.exists() else [])
"""


def test_folders_are_held_without_the_locks_of_unix(tmp_path):
    line = [sys.executable, "-c", HIDDEN, str(tmp_path)]
    root = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    said = subprocess.run(line, capture_output=True, text=True, check=True, env=root).stdout.splitlines()
    assert "is at work in this folder" in said[0]
    assert said[1:] == ["held", "[]"]


def test_a_file_system_without_locks_is_written_to_all_the_same(tmp_path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")

    def none(*arguments):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", none)
    for _ in range(2):
        with held_folder(tmp_path), whole_folder(tmp_path) as folder:
            fill(folder, "report.html")
        assert {path.name for path in tmp_path.iterdir()} == {"report.html", "results.json"}


def test_a_held_folder_with_a_wrong_number_of_its_process_is_refused_all_the_same(tmp_path):
    def held_by_another_thread() -> None:
        with held_folder(tmp_path):
            pass

    with held_folder(tmp_path), ThreadPoolExecutor() as other:
        (tmp_path / ".in-use" / "process").write_text("\x1b[31m")
        with pytest.raises(FolderError, match=r"another process \(unknown\)"):
            other.submit(held_by_another_thread).result()
