"""A process that solves cases: one request a line on its standard input, one answer a line on its standard output.

It ends when its input does, in the midst of a case as well, so that it never outlives who started it.
"""

from __future__ import annotations

import json
import os
import queue
import threading
import time
from typing import TextIO


def answer(request: str) -> str:
    """The answer to a request, both as JSON: the numbers of the case, or why there are none."""
    # imported late: the process listens at once, and a case that breaks an import is told as its failure
    from studies.compare.case_key import case_key
    from studies.compare.measured_run import measured_case
    from studies.output.numbers import software_versions
    from studies.study.reading import loads_data
    from studies.text.failures import collected, kind_of, reason

    start = time.perf_counter()
    asked = json.loads(request)
    key, numbers, message, kind = asked["key"], None, "", "numerical"
    try:
        study = loads_data(asked["data"], asked["name"])
        if case_key(study, software_versions()) != key:
            message = "this worker has other versions of the program or its libraries, or other files beside the study"
        else:
            with collected() as failures:
                numbers = measured_case(study).text()
            message = "; ".join(map(str, failures))
            kind = "program" if any(failure.kind == "program" for failure in failures) else kind
    except (Exception, SystemExit) as error:  # whatever a case raises is its failure, and the next case is solved
        message, kind = reason(error), kind_of(error)
    seconds = time.perf_counter() - start
    return json.dumps({"key": key, "numbers": numbers, "message": message, "seconds": seconds, "kind": kind})


def serve(requests: TextIO, answers: TextIO) -> None:
    """Answer requests until there are no more."""
    waiting: queue.SimpleQueue[str] = queue.SimpleQueue()

    def listen() -> None:
        for line in requests:
            waiting.put(line)
        os._exit(0)  # who asked is gone, or needs no more

    threading.Thread(target=listen, daemon=True).start()
    while True:
        answers.write(answer(waiting.get()) + "\n")
        answers.flush()


def work() -> None:
    """Serve on the process's own input and output; what libraries print goes to standard error."""
    with os.fdopen(os.dup(1), "w", encoding="utf-8") as answers, os.fdopen(0, encoding="utf-8") as requests:
        os.dup2(2, 1)
        serve(requests, answers)


if __name__ == "__main__":
    work()
