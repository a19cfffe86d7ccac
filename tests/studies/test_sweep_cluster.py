"""Cases solved on a cluster: workers and schedulers that are lost, and addresses that lead nowhere."""

import json
import os
import subprocess
import sys
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from studies.command import BAD_INPUT, main
from studies.compare.case import Request
from studies.compare.cluster import ClusterError, solved_on_cluster
from studies.compare.local import solved_locally
from studies.compare.output import compare
from studies.compare.plan import plan_of
from studies.compare.store import CaseOutcome
from tests.studies.sweep_studies import PAIR, ROOT, SPACINGS, swept
from tests.studies.test_sweep_execution import PATIENCE, gone, needs_proc, silent, stored, wait_until

# --- a cluster ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Cluster:
    """A scheduler on this machine, and its two workers."""

    address: str
    scheduler: subprocess.Popen[bytes]
    workers: tuple[subprocess.Popen[bytes], ...]


@pytest.fixture(scope="module")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    """A cluster of processes of this machine: one test ends one of its workers, the next all that is left."""
    pytest.importorskip("distributed")
    path = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    folder = tmp_path_factory.mktemp("cluster")
    environment = {**os.environ, "PYTHONPATH": path, "DASK_DISTRIBUTED__SCHEDULER__WORKER_TTL": "30s"}

    def start(*arguments: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", *arguments], cwd=folder, env=environment, stderr=subprocess.DEVNULL
        )

    file = folder / "scheduler.json"
    scheduler = start(
        *("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"),
        *("--scheduler-file", str(file)),
    )
    workers = []
    try:
        wait_until(lambda: file.exists() and file.read_text().strip().endswith("}"), "the scheduler")
        address = json.loads(file.read_text())["address"]
        options = ("--no-nanny", "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1")
        workers = [start("distributed.cli.dask_worker", address, *options) for _ in range(2)]
        yield Cluster(address, scheduler, tuple(workers))
    finally:
        for process in (*workers, scheduler):
            process.kill()
            process.wait()


def wait_for_workers(address: str, count: int) -> None:
    import distributed

    with distributed.Client(address, set_as_default=False) as client:
        client.wait_for_workers(count, timeout=PATIENCE)


@needs_proc
@pytest.mark.slow
def test_a_cluster_that_loses_a_worker_gives_the_same_bits_as_this_machine(cluster, tmp_path):
    address, workers = cluster.address, cluster.workers
    plan = plan_of(swept(SPACINGS[:5]))
    wait_for_workers(address, 2)

    def lose_a_worker() -> None:
        own = Path(f"/proc/{workers[0].pid}/task").glob("*/children")
        solving = [int(pid) for entry in own for pid in entry.read_text().split()]
        assert solving  # it has begun to work
        workers[0].kill()
        workers[0].wait()
        wait_until(lambda: gone(solving), "the end of what the lost worker had started")

    def losing_a_worker(requests: Sequence[Request]) -> Generator[CaseOutcome, None, None]:
        for number, outcome in enumerate(solved_on_cluster(requests, address)):
            if number == 0:
                lose_a_worker()
            yield outcome

    there = compare(plan, tmp_path / "cluster", losing_a_worker, silent).comparison
    here = compare(plan, tmp_path / "here", partial(solved_locally, workers=1), silent).comparison
    assert [row.message for row in there.rows] == [""] * 6
    assert [row.measured for row in there.rows] == [row.measured for row in here.rows]
    numbers = [{key: numbers for key, (numbers, _) in stored(tmp_path / n).items()} for n in ("cluster", "here")]
    assert numbers[0] == numbers[1]  # the very text of the numbers


def test_a_cluster_that_is_lost_altogether_ends_the_comparison_and_keeps_what_is_done(cluster, tmp_path):
    plan = plan_of(swept(SPACINGS))
    wait_for_workers(cluster.address, 1)

    def losing_all(requests: Sequence[Request]) -> Generator[CaseOutcome, None, None]:
        for number, outcome in enumerate(solved_on_cluster(requests, cluster.address)):
            if number == 0:
                for process in processes:
                    process.kill()
            yield outcome

    processes = (cluster.scheduler, *cluster.workers)
    with pytest.raises(ClusterError, match="the connection to the scheduler is lost"):
        compare(plan, tmp_path / "out", losing_all, silent)
    assert stored(tmp_path / "out")


def test_a_scheduler_that_does_not_answer_is_told(tmp_path, monkeypatch, capsys):
    pytest.importorskip("distributed")
    monkeypatch.setattr("studies.compare.cluster.PATIENCE", 1)
    (tmp_path / "pair.toml").write_text(PAIR)
    arguments = ["compare", str(tmp_path / "pair.toml"), "--out", str(tmp_path / "out"), "-q"]
    assert main([*arguments, "--dask", "tcp://127.0.0.1:9"]) == BAD_INPUT
    assert "no scheduler answers" in capsys.readouterr().err


def test_without_the_package_for_clusters_that_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ClusterError, match=r"trayfield\[dask\]"):
        list(solved_on_cluster([Request("1", "{}")], "tcp://127.0.0.1:9"))
