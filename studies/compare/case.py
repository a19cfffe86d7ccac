"""The cases of a comparison: as they are drafted, checked, and given to whoever solves them."""

from __future__ import annotations

import json
from dataclasses import KW_ONLY, dataclass
from pathlib import Path
from typing import Literal

from studies.study.dotted_keys import Tree
from studies.study.file import Study

BASE = "base study"
"""Name of the first case, where the study file gives it none by its key `case`."""

Origin = Literal["base", "variant", "sweep", "transposed"]


@dataclass(frozen=True)
class CaseLabel:
    """What a case is called and what it changes."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    """What differs from the base study, in the words of the study file."""
    settings: tuple[str, ...]
    """Value of each swept key in this case, in the order of the plan."""
    _: KW_ONLY
    short: str = ""
    """Name where there is little room; empty where it is the name."""
    sections: int = 1
    """Sections of the run that its numbers are taken from; 1 of what is no transposed run."""
    joining: str = ""
    """How the lines of a transposed run are joined, in words."""

    @property
    def label(self) -> str:
        """Its name, that of the base study marked as such."""
        return f"{self.name} (base)" if self.origin == "base" and self.name != BASE else self.name

    @property
    def brief(self) -> str:
        """Its name where there is little room; of a case of a grid its values in the order of the swept keys."""
        return self.short if self.short and self.origin == "sweep" else self.label


@dataclass(frozen=True)
class Case(CaseLabel):
    """One case: the base study with some changes, known to be sound."""

    data: Tree
    """Its tables, as in a study file; of a transposed one with the route."""
    key: str
    """What it is known by among stored cases."""


@dataclass(frozen=True)
class Plan:
    """All cases of a study file, the base study first."""

    base: Study
    cases: tuple[Case, ...]
    swept: tuple[str, ...]
    """Dotted keys of the sweep."""


@dataclass(frozen=True)
class Draft:
    """A case that is not checked yet."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    data: Tree
    """Its tables."""
    short: str = ""
    """Name where there is little room, of a case of a grid its values alone; empty where it is the name."""
    transpose: tuple[str, ...] = ()
    """Circuits that are transposed at each third of the run."""


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
