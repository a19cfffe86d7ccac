"""Solving cases by processes of this machine."""

from __future__ import annotations

import os
import queue
import threading
from collections.abc import Generator, Sequence

from studies.compare.request import Request
from studies.compare.store import Outcome
from studies.compare.worker_process import WorkerProcess

PATIENCE = 0.2
"""Time between two attempts to end a process that is just being started. [s]"""


def cores() -> int:
    """Number of processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def solved_locally(requests: Sequence[Request], workers: int) -> Generator[Outcome, None, None]:
    """The outcomes of cases as they come, each solved by one of some single-threaded processes.

    The processes end when the iterator is closed, in the midst of their cases as well.
    """
    waiting: queue.SimpleQueue[Request] = queue.SimpleQueue()
    outcomes: queue.SimpleQueue[Outcome | BaseException] = queue.SimpleQueue()
    stopping = threading.Event()
    for request in requests:
        waiting.put(request)

    def work(worker: WorkerProcess) -> None:
        try:
            while not stopping.is_set():
                try:
                    request = waiting.get_nowait()
                except queue.Empty:
                    return
                outcomes.put(worker.solve(request.key, request.text))
        except BaseException as error:  # such as a process that cannot be started: told where the outcomes are read
            outcomes.put(error)
        finally:
            worker.stop()

    processes = [WorkerProcess() for _ in range(max(1, min(workers, len(requests))))]
    threads = [threading.Thread(target=work, args=(process,), daemon=True) for process in processes]
    try:
        for thread in threads:
            thread.start()
        for _ in requests:
            outcome = outcomes.get()
            if isinstance(outcome, BaseException):
                raise outcome
            yield outcome
    finally:
        stopping.set()
        for process, thread in zip(processes, threads, strict=True):
            while thread.is_alive():
                process.interrupt()
                thread.join(PATIENCE)
