"""A case as it is given to whoever solves it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from studies.compare.case import Case


@dataclass(frozen=True)
class Request:
    """A case to be solved."""

    key: str
    text: str
    """One line of JSON, as `studies.compare.worker.answer` takes it."""


def request_of(case: Case, source_name: str) -> Request:
    """The request for a case of a study file.

    Files beside the study are named from the root, for other folders.
    """
    name = str(Path(source_name).resolve())
    return Request(case.key, json.dumps({"key": case.key, "name": name, "data": case.data}))
