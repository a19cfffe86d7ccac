"""Solving many cases: interrupted, killed, failed and done twice; the same numbers whoever solves them."""

import contextlib
import json
import re
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Generator, Sequence
from pathlib import Path

import pytest

from studies.command import BAD_INPUT, DONE, NUMERICAL_FAILURE, main
from studies.compare.case import Request, request_of
from studies.compare.case_numbers import CaseNumber
from studies.compare.cluster import ClusterError
from studies.compare.execute import Executor, duration, execute
from studies.compare.local import WorkerProcess, solved_locally
from studies.compare.measured import Measured
from studies.compare.output import compare
from studies.compare.plan import plan_of
from studies.compare.store import FILE, CaseOutcome, Store
from studies.compare.worker import answer
from tests.studies.sweep_studies import PAIR, ROOT, SPACINGS, swept, with_variants

PATIENCE = 120
"""Longest wait for anything on a machine that does other work too. [s]"""
NUMBERS = Measured({"total_loss_w_per_m": CaseNumber(1.0, 0.01), "width_m": CaseNumber(0.1)}, (), ()).text()


def silent(message: str) -> None:
    """Progress that nobody reads."""


def solver(asked: list[str], failing: Sequence[str] = (), numbers: str = NUMBERS) -> Executor:
    """An executor that notes whom it was asked for, and fails for some keys."""

    def solve(requests: Sequence[Request]) -> Generator[CaseOutcome, None, None]:
        for request in requests:
            asked.append(request.key)
            if request.key in failing:
                yield CaseOutcome(request.key, None, "no convergence", 1.0)
            else:
                yield CaseOutcome(request.key, numbers, "", 1.0)

    return solve


def wait_until(condition: Callable[[], bool], what: str) -> None:
    end = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < end, f"waited in vain for {what}"
        time.sleep(0.05)


# --- what is solved, stored and tried again -----------------------------------------------------------------------


def test_every_case_is_solved_once_and_stored_at_once(tmp_path):
    plan = plan_of(swept(("30 mm", "40 mm", "50 mm")))  # the first is the base study again
    asked: list[str] = []
    said: list[str] = []
    with Store.opened(tmp_path / FILE) as store:
        outcomes = execute(plan, store, solver(asked), said.append)
    assert len(asked) == len(set(asked)) == 3
    assert set(outcomes) == {case.key for case in plan.cases} == set(asked)
    assert said[0] == "3 cases to solve; 1 more equals one of these"
    assert re.fullmatch(r"1 of 3 cases, about \d+ s left: base study done", said[1])
    assert said[-1] == "3 of 3 cases: spacing 50 mm done"
    with Store.opened(tmp_path / FILE) as store:
        assert execute(plan, store, solver(asked), said.append) == outcomes
    assert len(asked) == 3
    assert said[-1] == "3 of 3 cases are stored from earlier, 0 left"


DAMAGED = [
    b"\xff\xfe",
    5,
    "",
    "{}",
    "[1, 2]",
    NUMBERS[:-5],
    "[" * 100_000,
    NUMBERS.replace("1.0", "NaN"),
    NUMBERS.replace("1.0", '"1.0"'),
    NUMBERS.replace("1.0", "1" + 400 * "0"),
    NUMBERS.replace("total_loss_w_per_m", "loss of another program"),
    NUMBERS.replace('"phases": []', '"phases": [["F1", "L1", [1], [0, 0], 0, null]]'),
    NUMBERS.replace('"cautions": []', '"cautions": [null]'),
]


@pytest.mark.parametrize("numbers", DAMAGED, ids=range(len(DAMAGED)))
def test_a_stored_case_that_is_damaged_is_told_and_solved_again(numbers, tmp_path):
    plan = plan_of(swept(("40 mm",)))
    asked: list[str] = []
    said: list[str] = []
    with Store.opened(tmp_path / FILE) as store:
        outcomes = execute(plan, store, solver([]), silent)
    with contextlib.closing(sqlite3.connect(tmp_path / FILE)) as others, others:
        others.execute("UPDATE cases SET numbers = ?, seconds = 'x' WHERE key = ?", (numbers, plan.cases[1].key))
    with Store.opened(tmp_path / FILE) as store:
        assert execute(plan, store, solver(asked), said.append) == outcomes
    assert asked == [plan.cases[1].key]
    assert said[0] == "1 stored case is damaged and solved again"


def test_a_failed_case_stops_no_other_and_is_tried_again(tmp_path):
    plan = plan_of(swept(("40 mm", "50 mm")))
    bad = plan.cases[1].key
    asked: list[str] = []
    first = compare(plan, tmp_path, solver(asked, failing=[bad]), silent).comparison
    assert [row.name for row in first.failed] == ["spacing 40 mm"]
    assert first.failed[0].message == "no convergence"
    assert len(first.solved) == 2
    assert "no convergence" in (tmp_path / "comparison.html").read_text(encoding="utf-8")
    asked.clear()
    second = compare(plan, tmp_path, solver(asked), silent).comparison
    assert asked == [bad]
    assert not second.failed


def test_an_executor_that_breaks_off_loses_nothing_that_was_finished(tmp_path):
    plan = plan_of(swept(SPACINGS))
    asked: list[str] = []

    def breaking(requests: Sequence[Request]) -> Generator[CaseOutcome, None, None]:
        for number, outcome in enumerate(solver(asked)(requests)):
            if number == 3:
                raise ClusterError("the connection to the scheduler is lost")
            yield outcome

    with pytest.raises(ClusterError):
        compare(plan, tmp_path, breaking, silent)
    with Store.opened(tmp_path / FILE) as store:
        assert len(store.finished(case.key for case in plan.cases)) == 3


def test_cases_are_solved_anew_where_that_is_asked(tmp_path):
    plan = plan_of(swept(("40 mm",)))
    asked: list[str] = []
    compare(plan, tmp_path, solver(asked), silent)
    compare(plan, tmp_path, solver(asked), silent, anew=True)
    assert len(asked) == 4


@pytest.mark.parametrize(("seconds", "text"), [(0.4, "0 s"), (89, "89 s"), (91, "2 min"), (5401, "1.5 h")])
def test_times_are_told_in_a_handy_unit(seconds, text):
    assert duration(seconds) == text


# --- a worker process ---------------------------------------------------------------------------------------------


def test_a_request_that_cannot_be_solved_is_answered_with_its_failure():
    (case,) = plan_of(PAIR).cases
    found = json.loads(answer(request_of(case, "pair.toml").text))
    assert found["key"] == case.key
    assert found["message"] == ""
    broken = json.dumps({"key": case.key, "name": "pair.toml", "data": {**case.data, "frequency": "50"}})
    assert "frequency" in json.loads(answer(broken))["message"]
    other = json.dumps({"key": "0" * 64, "name": "pair.toml", "data": case.data})
    assert "other versions" in json.loads(answer(other))["message"]


def test_a_worker_that_dies_fails_its_case_alone():
    base, other = plan_of(swept(("40 mm",))).cases
    worker = WorkerProcess()
    dying: list[CaseOutcome] = []
    thread = threading.Thread(target=lambda: dying.append(worker.solve(base.key, request_of(base, "").text)))
    thread.start()
    wait_until(lambda: worker._process is not None, "the process")
    worker.interrupt()
    thread.join(PATIENCE)
    assert dying[0].numbers is None
    assert dying[0].message == "the worker process ended with signal 9"
    after = worker.solve(other.key, request_of(other, "").text)
    worker.stop()
    assert after.message == ""
    assert after.numbers is not None


def test_what_a_worker_says_last_is_in_the_message_of_its_failure(monkeypatch):
    monkeypatch.setattr(sys, "executable", "/bin/sh")  # a shell that looks for a file of the module's name
    (case,) = plan_of(PAIR).cases
    outcome = WorkerProcess().solve(case.key, request_of(case, "").text)
    assert outcome.numbers is None
    assert re.match(r"the worker process ended with status \d+: .*studies\.compare\.worker", outcome.message)


def test_a_worker_ends_with_its_input_in_the_midst_of_a_case():
    (case,) = plan_of(PAIR).cases
    process = subprocess.Popen(
        [sys.executable, "-m", "studies.compare.worker"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    said, _ = process.communicate(request_of(case, "").text + "\n", timeout=PATIENCE)  # closes its input at once
    assert process.returncode == 0
    assert said == ""


def test_local_workers_give_the_same_bits_however_many_they_are():
    plan = plan_of(swept(SPACINGS[:1]))
    requests = [request_of(case, "") for case in plan.cases]
    one = {outcome.key: outcome.numbers for outcome in solved_locally(requests, 1)}
    two = {outcome.key: outcome.numbers for outcome in solved_locally(requests, 2)}
    assert None not in one.values()
    assert one == two


# --- the command, interrupted and killed --------------------------------------------------------------------------


def _as_from_a_terminal() -> None:
    """Heed Ctrl-C, which what a shell starts in the background ignores, these tests too."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Command:
    """`trayfield compare` in a process of its own."""

    def __init__(self, study: Path, out: Path, *options: str) -> None:
        arguments = ["compare", str(study), "--out", str(out), *options]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "studies.command", *arguments],
            cwd=ROOT,
            stderr=subprocess.PIPE,
            text=True,
            preexec_fn=_as_from_a_terminal,
        )
        self.lines: list[str] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stderr is not None
        self.lines.extend(self.process.stderr)

    def wait_for(self, text: str) -> None:
        wait_until(lambda: any(text in line for line in self.lines), f"{text!r} in {self.lines}")

    def children(self) -> list[int]:
        path = Path(f"/proc/{self.process.pid}/task")
        return [int(child) for task in path.iterdir() for child in (task / "children").read_text().split()]

    def end(self) -> tuple[int, str]:
        status = self.process.wait(PATIENCE)
        self._reader.join(PATIENCE)
        return status, "".join(self.lines)


def gone(processes: Sequence[int]) -> bool:
    """Whether processes have ended; one that nobody has waited for yet has ended too."""

    def state(pid: int) -> str:
        try:
            return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
        except OSError:
            return "Z"

    return all(state(pid) == "Z" for pid in processes)


def stored(folder: Path) -> dict[str, tuple[str, float]]:
    """Key of each finished case with its numbers and the time it took, which no second solution repeats."""
    with contextlib.closing(sqlite3.connect(folder / FILE)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        rows = connection.execute("SELECT key, numbers, seconds FROM cases WHERE state = 'done'").fetchall()
    return {key: (numbers, seconds) for key, numbers, seconds in rows}


needs_proc = pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="looks for processes in /proc")


@needs_proc
@pytest.mark.slow
def test_a_killed_comparison_leaves_no_process_and_goes_on_where_it_was(tmp_path, capsys):
    study, out = tmp_path / "pair.toml", tmp_path / "out"
    study.write_text(swept(), encoding="utf-8")
    command = Command(study, out, "--workers", "2")
    command.wait_for("2 of 8 cases")
    workers = command.children()
    command.process.kill()
    command.end()
    assert len(workers) == 2
    wait_until(lambda: gone(workers), "the end of the workers")
    before = stored(out)
    assert 2 <= len(before) < 8
    assert not (out / "comparison.csv").exists()

    assert main(["compare", str(study), "--out", str(out), "--workers", "1"]) == DONE
    said = capsys.readouterr().err
    assert f"{len(before)} of 8 cases are stored from earlier, {8 - len(before)} left" in said
    after = stored(out)
    assert len(after) == 8
    assert {key: after[key] for key in before} == before  # the same numbers, and the same time: not solved again
    assert (out / "comparison.csv").exists()
    assert not [path.name for path in out.iterdir() if path.name.startswith(".")]


@needs_proc
@pytest.mark.slow
def test_an_interrupted_comparison_says_so_and_meanwhile_nobody_else_may_use_its_folder(tmp_path, capsys):
    study, out = tmp_path / "pair.toml", tmp_path / "out"
    many = tuple(f"{spacing} mm" for spacing in range(31, 71))  # more than are solved while another command starts
    study.write_text(swept(many), encoding="utf-8")
    command = Command(study, out, "--workers", "1")
    command.wait_for("1 of 41 cases")
    assert main(["compare", str(study), "--out", str(out)]) == BAD_INPUT
    refusal = capsys.readouterr().err
    assert f"another process ({command.process.pid}) is at work in this folder" in refusal
    workers = command.children()
    command.process.send_signal(signal.SIGINT)
    status, said = command.end()
    assert status == 130
    count = len(stored(out))
    assert 1 <= count < 41
    assert f"interrupted; {count} of 41 cases are stored in {out}, and the same command goes on from there" in said
    assert "Traceback" not in said
    assert gone(workers)
    assert not [path.name for path in out.iterdir() if path.name.startswith(".")]


# --- the command --------------------------------------------------------------------------------------------------


def test_the_command_compares_and_says_what_is_better(tmp_path, capsys):
    study = tmp_path / "pair.toml"
    study.write_text(with_variants('name = "close"\nset = { "circuits.F1.spacing" = "20 mm" }'), encoding="utf-8")
    assert main(["compare", str(study), "--out", str(tmp_path / "out"), "--workers", "1"]) == DONE
    said = capsys.readouterr().out
    assert "Lowest field: “close”" in said
    assert (tmp_path / "out" / "comparison.html").exists()
    assert main(["check", str(study), "--out", str(tmp_path / "section.png")]) == DONE
    assert "its file states 1 further case: trayfield compare" in capsys.readouterr().out


def test_the_command_refuses_what_cannot_be_done(tmp_path, capsys):
    study, out = tmp_path / "pair.toml", tmp_path / "out"
    study.write_text(with_variants('name = "a"\nset = { "circuits.F1.spacing" = "5 mm" }'), encoding="utf-8")
    assert main(["compare", str(study), "--out", str(out)]) == BAD_INPUT
    assert 'case "a": circuits "F1" cable 1' in capsys.readouterr().err
    assert not out.exists()
    assert main(["check", str(study)]) == BAD_INPUT
    assert main(["compare", str(study), "--out", str(out), "--workers", "0"]) == BAD_INPUT
    assert "--workers 0" in capsys.readouterr().err


def test_a_failed_case_is_told_with_the_status_of_a_numerical_failure(tmp_path, monkeypatch, capsys):
    study = tmp_path / "pair.toml"
    study.write_text(swept(("40 mm",)), encoding="utf-8")
    plan = plan_of(swept(("40 mm",)), str(study))
    monkeypatch.setattr("studies.compare.command._executor", lambda options: solver([], failing=[plan.cases[1].key]))
    assert main(["compare", str(study), "--out", str(tmp_path / "out"), "-q"]) == NUMERICAL_FAILURE
    assert "numerical failure in case “spacing 40 mm”: no convergence" in capsys.readouterr().err


@pytest.mark.parametrize("begun", [False, True], ids=["before", "amid"])
def test_an_interruption_reads_as_that_of_a_run_and_says_what_is_kept(begun, tmp_path, monkeypatch, capsys):
    def interrupted(plan, target, *others):
        if begun:
            target.mkdir()
            with Store.opened(target / "cases.sqlite") as store:
                store.put("base study", CaseOutcome(plan.cases[0].key, NUMBERS, "", 1.0))
        raise KeyboardInterrupt

    monkeypatch.setattr("studies.compare.command.compare", interrupted)
    study, out = tmp_path / "pair.toml", tmp_path / "out"
    study.write_text(swept(("40 mm",)), encoding="utf-8")
    assert main(["compare", str(study), "--out", str(out), "-q"]) == 130
    kept = (
        f"1 of 2 cases are stored in {out}, and the same command goes on from there" if begun else "nothing was written"
    )
    assert capsys.readouterr().err == f"interrupted; {kept}\n"
