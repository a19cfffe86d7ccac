"""The page that follows a study file, in Chromium: answers after each save, mistakes, nothing for other computers."""

from __future__ import annotations

import os
import re
import shutil
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

import studies
from studies.command import main
from studies.live import follow
from studies.live.first import first_verdict
from studies.live.follow import Follower
from studies.live.serve import HOST, served
from studies.live.shown import Board
from studies.section.cross_section import cross_section
from studies.study.starter import TEMPLATES
from studies.text.problems import Refused

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
pytestmark = [
    pytest.mark.skipif(CHROMIUM is None and "CI" not in os.environ, reason="Chromium is not installed; CI installs it"),
    pytest.mark.usefixtures("coarse_mesh"),
]
STUDY = TEMPLATES["instrument"]
PATIENCE = 60_000
"""Longest wait for an answer on a busy machine. [ms]"""


@dataclass
class Followed:
    file: Path
    board: Board
    address: str
    told: list[str]


@pytest.fixture(scope="module")
def followed(coarse_mesh: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Followed]:
    file = tmp_path_factory.mktemp("live") / "feeder.toml"
    file.write_text(STUDY, encoding="utf-8")
    board, told = Board(), list[str]()
    with served(board, 0) as address:
        following = threading.Thread(target=Follower(file, board, told.append).follow)
        following.start()
        yield Followed(file, board, address, told)
        board.ended.set()
        following.join(timeout=30)
    assert not following.is_alive()


@pytest.fixture(scope="module")
def page(followed):
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        opened = chromium.new_page()
        opened.said = []
        opened.on("console", lambda message: opened.said.append(message.text))
        opened.on("pageerror", lambda error: opened.said.append(str(error)))
        opened.goto(followed.address)
        yield opened
        chromium.close()


def saved(followed: Followed, text: str, page, phase: str) -> None:
    """Save the file, and wait until the page shows what came of it."""
    followed.board.show(phase="starting")
    followed.file.write_text(text, encoding="utf-8")
    until(lambda: followed.board.shown.phase == phase)
    page.wait_for_selector(f"#state[data-phase={phase}]", timeout=PATIENCE)


def until(is_so) -> None:
    end = time.monotonic() + PATIENCE / 1000
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_the_page_shows_the_verdict_of_the_file_with_its_field_map(followed, page):
    page.wait_for_selector("#state[data-phase=solved]", timeout=PATIENCE)
    answers = page.frame_locator("#answers")
    _, _, verdict = followed.board.shown.verdict.partition(": ")
    assert verdict in answers.locator("body").inner_text()
    assert verdict in page.locator("#verdict").inner_text()
    assert followed.board.shown.words.startswith("Solved in ")
    answers.locator("figure.readings.map.live").wait_for(timeout=PATIENCE)


def test_a_save_renews_the_answers(followed, page):
    saved(followed, STUDY.replace('current = "', 'current = "1'), page, "solved")
    assert f"{followed.board.shown.answer}" in page.locator("#answers").get_attribute("src")
    source = page.frame_locator("#answers").locator("pre").first
    assert 'current = "1' in source.text_content(timeout=PATIENCE)


def test_the_first_verdict_is_that_of_coarse_meshes_with_their_error(followed, page, monkeypatch):
    solved, begun, go_on = studies.run, threading.Event(), threading.Event()

    def held(study, progress):
        begun.set()
        go_on.wait(timeout=60)
        return solved(study, progress)

    monkeypatch.setattr(follow, "run", held)
    answers = followed.board.shown.answer
    followed.board.show(phase="starting")
    followed.file.write_text(STUDY.replace('current = "', 'current = "2'), encoding="utf-8")
    assert begun.wait(timeout=60)
    first = followed.board.shown.verdict
    assert (followed.board.shown.answer, followed.board.shown.phase) == (answers, "solving")
    assert page.locator("#verdict").inner_text() == first
    (error,) = map(float, re.findall(r"First answer on coarse meshes, numerical error at most ([0-9.]+) %", first))
    go_on.set()
    until(lambda: followed.board.shown.phase == "solved")
    assert 0 < error <= 5
    last = followed.board.shown.verdict
    times = [float(found) for said in (first, last) for found in re.findall(r"([0-9.]+) times the limit", said)]
    assert len(times) == 2
    # three digits and the errors of both, the second being smaller than the first
    assert times[0] == pytest.approx(times[1], rel=2 * error / 100 + 0.005)
    assert "coarse" not in followed.board.shown.verdict


def test_the_first_verdict_says_what_it_leaves_out():
    study = studies.loads(STUDY).with_({"circuits.F1.net_current": {"share": "1 %"}, "laying_tolerance.across": "3 mm"})
    said = first_verdict(study, cross_section(study), lambda words: None)
    assert "First answer without net currents, laying tolerance on coarse meshes" in said


def test_a_study_without_limits_has_no_first_verdict():
    study = studies.loads(STUDY).with_({}, remove=["receptors.instrument.limit"])
    assert first_verdict(study, cross_section(study), print) == ""


def test_a_mistake_is_shown_with_its_line_above_the_last_answers(followed, page):
    saved(followed, STUDY, page, "solved")
    answers, at = page.locator("#answers").get_attribute("src"), followed.board.shown.answered_at
    saved(followed, STUDY.replace("current =", "curent ="), page, "mistakes")
    mistakes = page.locator("#mistakes")
    assert mistakes.is_visible()
    assert "curent" in mistakes.inner_text()
    assert f"line {STUDY[: STUDY.index('current =')].count(chr(10)) + 1}," in mistakes.inner_text()
    assert f"still the answers of {at}" in mistakes.inner_text()
    assert page.locator("#answers").get_attribute("src") == answers
    saved(followed, STUDY, page, "solved")
    assert not mistakes.is_visible()


def test_an_error_of_the_program_leaves_the_page_and_the_next_save_is_solved(followed, page, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(follow, "cross_section", lambda study: 1 / 0)
        saved(followed, STUDY + "# a\n", page, "failed")
        assert "error of the program: ZeroDivisionError" in page.locator("#state").inner_text()
    saved(followed, STUDY, page, "solved")


def test_a_save_during_a_solve_ends_it(followed, page, monkeypatch):
    solved, begun, go_on = studies.run, threading.Event(), threading.Event()

    def held(study, progress):
        begun.set()
        go_on.wait(timeout=60)
        return solved(study, progress)

    monkeypatch.setattr(follow, "run", held)
    answers = followed.board.shown.answer
    followed.file.write_text(STUDY + "# first\n", encoding="utf-8")
    assert begun.wait(timeout=60)
    followed.file.write_text(STUDY + "# second\n", encoding="utf-8")
    time.sleep(0.5)  # until the change is noticed
    told = len(followed.told)
    go_on.set()
    until(lambda: len(followed.told) > told)
    assert followed.board.shown.answer == answers + 2  # sheet and page of the second alone
    assert "# second" in followed.board.page


def test_the_page_says_nothing_on_the_console(page):
    assert page.said == []


def test_a_page_of_another_name_is_refused(followed):
    request = urllib.request.Request(followed.address, headers={"Host": "elsewhere.example"})
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request)
    assert refused.value.code == 400


def test_the_page_is_on_the_loopback_interface(followed):
    assert followed.address.startswith(f"http://{HOST}:")
    assert HOST == "127.0.0.1"


def test_a_port_that_is_taken_is_refused(followed):
    port = int(followed.address.rstrip("/").rsplit(":", 1)[1])
    with pytest.raises(Refused, match=f"--port {port}: cannot be used"), served(Board(), port):
        pass


def test_a_file_that_is_not_there_is_refused_at_once(tmp_path, capsys):
    assert main(["live", str(tmp_path / "none.toml")]) == 2
    assert "there is no such file" in capsys.readouterr().err
