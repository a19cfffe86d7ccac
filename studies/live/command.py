"""The command `live`: follow a study file and serve its answers until it is interrupted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from studies.live.follow import Follower
from studies.live.serve import served
from studies.live.shown import Board
from studies.study.reading import text_of


def live(study: Path, port: int, say: Callable[[str], None]) -> None:
    """Serve the answers to a study file that is solved again on each save.

    study: The file; one that is not there raises `StudyError`.
    port: Port on this computer; 0 takes one that is free.
    say: Told the address, and one line for each answer.
    """
    text_of(study)
    board = Board()
    with served(board, port) as address:
        say(f"{study} is solved on each save; its answers are on {address}\nCtrl+C ends this.")
        try:
            Follower(study, board, say).follow()
        except KeyboardInterrupt:
            say("\nEnded. Nothing was written; trayfield run writes report, tables and figures.")
