"""A case of a comparison, and the cross-sections that are solved for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from studies.dotted_keys import Tree
from studies.study import Study

BASE = "base study"
"""Name of the first case, where the study file gives it none by its key `case`."""

Origin = Literal["base", "variant", "sweep"]


@dataclass(frozen=True)
class Section:
    """One cross-section that is solved: a case, or a third of a transposed one."""

    name: str
    data: Tree
    """Its tables, as in a study file."""
    key: str
    """What it is known by among stored cases."""


@dataclass(frozen=True)
class Case:
    """One case: the base study with some changes, known to be sound."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    """What differs from the base study, in the words of the study file."""
    settings: tuple[str, ...]
    """Value of each swept key in this case, in the order of the plan."""
    short: str
    """Name where there is little room."""
    sections: tuple[Section, ...]
    """What is solved for it: one cross-section, or the three equal sections of a transposed run."""

    @property
    def data(self) -> Tree:
        """Tables of its cross-section, of a transposed one of the first."""
        return self.sections[0].data

    @property
    def key(self) -> str:
        """Key of its cross-section among stored cases, of a transposed one of the first."""
        return self.sections[0].key


@dataclass(frozen=True)
class Plan:
    """All cases of a study file, the base study first."""

    base: Study
    cases: tuple[Case, ...]
    swept: tuple[str, ...]
    """Dotted keys of the sweep."""

    @property
    def sections(self) -> tuple[Section, ...]:
        """Every cross-section of every case; those that are equal in all numbers have one key."""
        return tuple(section for case in self.cases for section in case.sections)


@dataclass(frozen=True)
class Draft:
    """A case that is not checked yet."""

    name: str
    origin: Origin
    changes: tuple[str, ...]
    sections: tuple[Tree, ...]
    """Tables of each cross-section that it is solved by."""
    short: str = ""
    """Name where there is little room, of a case of a grid its values alone; empty where it is the name."""
