"""The report as a browser shows it: headless Chromium, no console message, no request, everything in sight."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import studies
from studies.command import main

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
OPTIONS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
DEMO = Path(studies.__file__).parent / "examples" / "metrology_hall_flat.toml"

pytestmark = pytest.mark.skipif(
    CHROMIUM is None and "CI" not in os.environ, reason="Chromium is not installed; CI installs it"
)


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("browser") / "results"
    assert main(["run", "-q", str(DEMO), "--out", str(folder)]) == 0
    return folder / "report.html"


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM, args=list(OPTIONS))
        yield chromium
        chromium.close()


def test_the_report_opens_from_disk_without_a_console_message_or_a_request(browser, report):
    said: list[str] = []
    asked: list[str] = []
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(report.as_uri(), wait_until="load")
    assert said == []
    assert [url for url in asked if not url.startswith("data:")] == [report.as_uri()]
    page.close()


def test_every_picture_of_the_report_is_drawn(browser, report):
    page = browser.new_page()
    page.goto(report.as_uri(), wait_until="load")
    widths = page.evaluate("[...document.images].map(image => image.naturalWidth)")
    assert len(widths) >= 4  # cross-section, field map, traverse, loss density
    assert min(widths) > 100
    page.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_does_not_scroll_sideways(width, browser, report):
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(report.as_uri(), wait_until="load")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()
