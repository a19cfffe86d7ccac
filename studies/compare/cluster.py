"""Solving cases on a Dask cluster that is there already."""

from __future__ import annotations

import asyncio
import concurrent.futures
import importlib
import threading
from collections.abc import Generator, Sequence
from dataclasses import asdict
from typing import Any

from studies.compare.case import Request
from studies.compare.local import WorkerProcess
from studies.compare.store import CaseOutcome
from studies.text.problems import Refused

PATIENCE = 15
"""Time that a scheduler has to answer. [s]"""

LOST = "{address}: the connection to the scheduler is lost; the same command goes on where it was"


class ClusterError(Refused):
    """A cluster that cannot be used, or is lost."""


_OWN = threading.local()
"""The process of each thread of a cluster's worker."""


def solve_on_worker(key: str, text: str) -> dict[str, object]:
    """What becomes of a case; runs on a worker of the cluster.

    The worker's thread has a process of its own that computes with one thread, as every executor does: the numbers do
    not depend on who solves the case.
    """
    if not hasattr(_OWN, "process"):
        _OWN.process = WorkerProcess()
    process: WorkerProcess = _OWN.process
    return asdict(process.solve(key, text))


def solved_on_cluster(requests: Sequence[Request], address: str) -> Generator[CaseOutcome, None, None]:
    """The outcomes of cases as they come from the workers of the cluster whose scheduler is at an address.

    A worker that dies costs nothing but time: its cases go to others.
    """
    try:
        distributed: Any = importlib.import_module("distributed")  # an extra
    except ImportError:
        raise ClusterError("--dask needs the package distributed: pip install 'trayfield[dask]'") from None
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ClusterError(f"{address}: no scheduler answers ({error}); give its address as tcp://HOST:PORT") from None
    try:
        if not client.nthreads():
            raise ClusterError(f"{address}: the cluster has no workers; start some, then run the same command")
        keys, texts = [request.key for request in requests], [request.text for request in requests]
        futures = client.map(solve_on_worker, keys, texts, pure=False)
        keys_of = {future.key: key for future, key in zip(futures, keys, strict=True)}
        for future in distributed.as_completed(futures, loop=client.loop):
            if future.status == "finished":
                yield CaseOutcome(**_fetched(future, address))
            elif future.status == "error":
                yield CaseOutcome(keys_of[future.key], None, f"on the cluster: {future.exception()}", 0.0)
            else:
                raise ClusterError(LOST.format(address=address))
            future.release()
    finally:
        client.close()


def _fetched(future: Any, address: str) -> dict[str, Any]:
    try:
        found: dict[str, Any] = future.result()
    except (asyncio.CancelledError, concurrent.futures.CancelledError, OSError):
        # it was finished when the scheduler, or all that hold its result, went
        raise ClusterError(LOST.format(address=address)) from None
    return found
