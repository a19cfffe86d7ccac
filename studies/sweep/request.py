"""A case as it is given to whoever solves it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from studies.sweep.case import Case, Section


@dataclass(frozen=True)
class Request:
    """A case to be solved."""

    key: str
    text: str
    """One line of JSON, as `studies.sweep.worker.answer` takes it."""


def request_of(case: Case | Section, source_name: str) -> Request:
    """The request for a cross-section of a study file, of a case for its first.

    Files beside the study are named from the root, for other folders.
    """
    name = str(Path(source_name).resolve())
    return Request(case.key, json.dumps({"key": case.key, "name": name, "data": case.data}))
