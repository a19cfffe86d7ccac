"""Solving cases by processes of this machine, each started when needed and started anew when it dies."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Generator, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed, wait
from pathlib import Path
from typing import IO

from studies.compare.case import Request
from studies.compare.store import CaseOutcome
from studies.text.threads import SINGLE_THREADED

ROOT = Path(__file__).parents[2]
"""Where the packages of the program are."""
LAST_WORDS = 2.0
"""Time that the last words of a process have to arrive. [s]"""


class WorkerProcess:
    """One single-threaded process that solves cases."""

    def __init__(self) -> None:
        """Begin without a process; the first case starts one."""
        self._process: subprocess.Popen[str] | None = None
        self._complaints: deque[str] = deque(maxlen=1)
        self._reader: threading.Thread | None = None

    def solve(self, key: str, request: str) -> CaseOutcome:
        """The outcome of a case, given by its key and as the line of JSON that `studies.compare.worker.answer` takes.

        A process that dies is a failure of the case alone.
        """
        start = time.perf_counter()
        process = self._running()
        line = ""
        try:
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write(request + "\n")
            process.stdin.flush()
            line = process.stdout.readline()
        except (OSError, ValueError):  # it died before it was asked, or was stopped
            pass
        if line:
            found = json.loads(line)
            return CaseOutcome(**found)
        message = self._obituary(process)
        self.stop()
        return CaseOutcome(key, None, message, time.perf_counter() - start)

    def interrupt(self) -> None:
        """End the process at once from another thread than the one that waits for its answer."""
        process = self._process
        if process is not None:
            process.kill()

    def stop(self) -> None:
        """End the process at once, and forget what it said."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                _close(stream)

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None:
            path = os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])])
            self._process = subprocess.Popen(
                [sys.executable, "-m", "studies.compare.worker"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                encoding="utf-8",
                errors="replace",
                env={**os.environ, **SINGLE_THREADED, "PYTHONPATH": path},
                start_new_session=True,  # an interrupt of the terminal is for the owner, who then stops it
                creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),  # the same on Windows
            )
            self._complaints = deque(maxlen=1)
            arguments = (self._process.stderr, self._complaints)
            self._reader = threading.Thread(target=_keep_last, args=arguments, daemon=True)
            self._reader.start()
        return self._process

    def _obituary(self, process: subprocess.Popen[str]) -> str:
        status = process.wait()
        how = f"signal {-status}" if status < 0 else f"status {status}"
        if self._reader is not None:
            self._reader.join(LAST_WORDS)
        return f"the worker process ended with {how}" + "".join(f": {line}" for line in self._complaints)


def _keep_last(lines: Iterable[str], kept: deque[str]) -> None:
    """Keep what a process says last before it ends; that it says more must not stop it."""
    kept.extend(line.strip() for line in lines if line.strip())


def _close(stream: IO[str] | None) -> None:
    if stream is not None:
        with contextlib.suppress(OSError):  # what was not sent is of no use any more
            stream.close()


PATIENCE = 0.2
"""Time between two attempts to end a process that is just being started. [s]"""


def cores() -> int:
    """Number of processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def solved_locally(requests: Sequence[Request], workers: int) -> Generator[CaseOutcome, None, None]:
    """The outcomes of cases as they come, each solved by one of some single-threaded processes.

    The processes end when the iterator is closed, in the midst of their cases as well.
    """
    own = threading.local()
    processes: list[WorkerProcess] = []

    def begin() -> None:
        own.process = WorkerProcess()
        processes.append(own.process)

    def solve(request: Request) -> CaseOutcome:
        process: WorkerProcess = own.process
        return process.solve(request.key, request.text)

    pool = ThreadPoolExecutor(max(1, min(workers, len(requests))), initializer=begin)
    futures = [pool.submit(solve, request) for request in requests]
    try:
        for future in as_completed(futures):
            yield future.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        while wait([future for future in futures if not future.cancelled()], PATIENCE).not_done:
            for process in processes:
                process.interrupt()
        for process in processes:
            process.stop()
