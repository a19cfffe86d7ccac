"""Solve a study whenever its file is saved, and put up each answer as soon as it is there."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from watchfiles import Change, watch

from studies.answers import figure_names as names
from studies.drawing.cross_section import draw_cross_section
from studies.live.first import first_verdict
from studies.live.shown import Board
from studies.output.numbers import software_versions
from studies.report.contents import write_report
from studies.report.figures import figure_set, png
from studies.report.sheet import sheet_section
from studies.report.summary import verdict_lines
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.study.file import Study, beside
from studies.study.reading import load
from studies.text.failures import Failure, collected, guarded, merged, reason
from studies.text.html import render
from studies.text.problems import StudyError, TrayfieldError

DEBOUNCE, STEP = 100, 20
"""Longest wait for the other changes of one save, and the wait between two looks. [ms]"""
SUBTITLE = "The sheet alone; the field map and the tables follow."


class _SavedAgain(BaseException):
    """The file has changed, so that the answer in hand is of use no more: no failure, so nothing rescues it."""


class Follower:
    """One study file, and what the board shows of it."""

    def __init__(self, study: Path, board: Board, tell: Callable[[str], None]) -> None:
        """Follow `study`; answers go to `board`, one line for each to `tell`."""
        self._path, self._board, self._tell = study, board, tell
        self._files = {study.resolve()}
        self._changed = threading.Event()

    def follow(self) -> None:
        """Answer the file as it is, and again after each save, until the board has ended."""
        threading.Thread(target=self._watch, daemon=True).start()
        self._changed.set()
        while not self._board.ended.is_set():
            if self._changed.wait(timeout=0.2):
                self._changed.clear()
                self._answer()

    def _watch(self) -> None:
        """Notice changes; the folder is watched, since many editors put a new file in place of the old one."""
        folder, end = self._path.resolve().parent, self._board.ended  # not what lies below it: that may be a whole disk
        for _ in watch(
            folder, watch_filter=self._is_ours, debounce=DEBOUNCE, step=STEP, stop_event=end, recursive=False
        ):
            self._changed.set()

    def _is_ours(self, change: Change, path: str) -> bool:
        return change != Change.deleted and Path(path) in self._files

    def _answer(self) -> None:
        """All answers to the file as it is now; mistakes and failures leave those of before where they are."""
        start, clock = time.monotonic(), time.strftime("%H:%M:%S")
        self._board.show(phase="solving", words="reading the file", saved_at=clock, problems=())
        try:
            words = self._answered(load(self._path), clock, start)
            self._tell(f"{clock}  {words}")
        except _SavedAgain:
            return
        except StudyError as error:
            self._board.show(phase="mistakes", words=_mistakes(error), problems=error.problems)
            self._tell(f"{clock}  {error}")
        except Exception as error:  # the page stays, whatever is wrong with one state of the file
            why = str(error) if isinstance(error, TrayfieldError) else f"error of the program: {reason(error)}"
            self._board.show(phase="failed", words=why)
            self._tell(f"{clock}  {why}")

    def _answered(self, study: Study, clock: str, start: float) -> str:
        self._files = {self._path.resolve(), *(beside(study, name).resolve() for name in study.files())}
        section = cross_section(study)
        self._board.show(title=study.title)
        if first := first_verdict(study, section, self._progress):
            self._board.show(verdict=f"{clock}: {first}", words="solving in full")
        self._board.draw(png(draw_cross_section(study, section)))
        with collected() as failures:
            return self._shown(run(study, self._progress), failures, clock, start)

    def _shown(self, result: Result, failures: list[Failure], clock: str, start: float) -> str:
        """Put up the sheet first, then the whole page with the field map."""
        title = result.study.title
        self._progress("writing the sheet")
        figures = {names.CROSS_SECTION: self._board.drawing}
        sheet = sheet_section(result, figures, software_versions())
        verdict, took = verdict_lines(result)[0], f"Solved in {time.monotonic() - start:.1f} s."
        self._board.answer(render(title, SUBTITLE, (sheet,)), answered_at=clock, verdict=f"{clock}: {verdict}")
        self._progress("drawing the field map")
        figures |= self._map_of(result)
        page = write_report(replace(result, failures=merged(result.failures, failures)), figures, software_versions())
        self._progress("putting up the page")
        self._board.answer(page, phase="solved", words=took)
        return f"{verdict} {took}"

    def _map_of(self, result: Result) -> dict[str, bytes]:
        draw = figure_set(result).get(names.FIELD_MAP)
        picture = None if draw is None else guarded("field map", lambda: png(draw()), None)
        return {} if picture is None else {names.FIELD_MAP: picture}

    def _progress(self, words: str) -> None:
        """Say what is being done; stop doing it if the file was saved again or the board has ended."""
        if self._changed.is_set() or self._board.ended.is_set():
            raise _SavedAgain
        self._board.show(words=words)


def _mistakes(error: StudyError) -> str:
    count = len(error.problems)
    return f"{count} thing{'s' if count > 1 else ''} to put right in the file"
