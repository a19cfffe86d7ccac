"""What the page shows at one moment: the newest answer, and what became of the file since."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import Any, Literal

from studies.text.problems import Problem

Phase = Literal["starting", "solving", "solved", "mistakes", "failed"]


@dataclass(frozen=True)
class Shown:
    """State of the page; every change has a number of its own."""

    change: int = 0
    phase: Phase = "starting"
    words: str = ""
    """What is being done, or how it ended."""
    verdict: str = ""
    """First sentence of the newest answer, with its clock time; that of coarse meshes until the study is solved."""
    saved_at: str = ""
    """Clock time at which the file was read."""
    problems: tuple[Problem, ...] = ()
    """Mistakes in the file as it stands now."""
    title: str = ""
    answer: int = 0
    """Number of the newest page of answers; 0 if there is none yet."""
    answered_at: str = ""
    """Clock time of the file that the answers belong to."""
    drawing: int = 0
    """Number of the newest drawing of the cross-section; 0 if there is none yet."""

    def as_json(self) -> dict[str, Any]:
        """The state as the page's script reads it."""
        return {key: value for key, value in vars(self).items() if key != "problems"} | {
            "problems": [{"line": p.line, "text": str(p)} for p in self.problems]
        }


class Board:
    """The state, the newest drawing and the newest page of answers: one thread writes them, another serves them."""

    def __init__(self) -> None:
        """Begin with nothing to show."""
        self._lock = threading.Lock()
        self.shown = Shown()
        self.page = ""
        self.drawing = b""
        self.ended = threading.Event()

    def show(self, **changes: Any) -> None:
        """Change fields of the state."""
        with self._lock:
            self.shown = replace(self.shown, change=self.shown.change + 1, **changes)

    def draw(self, drawing: bytes, **changes: Any) -> None:
        """Put up a new drawing of the cross-section."""
        self.drawing = drawing
        self.show(drawing=self.shown.drawing + 1, **changes)

    def answer(self, page: str, **changes: Any) -> None:
        """Put up a new page of answers."""
        self.page = page
        self.show(answer=self.shown.answer + 1, **changes)
