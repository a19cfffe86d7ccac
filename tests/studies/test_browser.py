"""The report as a browser shows it: headless Chromium, no console message, no request, everything in sight."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import studies
from studies.command import main
from studies.text.blocks import Figure, Readable
from studies.text.html import render
from tests.studies.pages import Page

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
OPTIONS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
DEMO = Path(studies.__file__).parent / "examples" / "metrology_hall_flat.toml"

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None and "CI" not in os.environ, reason="Chromium is not installed; CI installs it"),
    pytest.mark.usefixtures("coarse_mesh", "fine_map"),
]


@pytest.fixture(scope="module")
def report(coarse_mesh: None, fine_map: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
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


def test_no_verdict_is_out_of_sight_on_a_telephone(browser, report):
    page = browser.new_page(viewport={"width": 390, "height": 800})
    page.goto(report.as_uri(), wait_until="load")
    tables = page.locator("table.judged")
    assert tables.count() >= 2  # the sheet to sign, the receptors
    for table in tables.all():
        for cell in table.locator("td").all():
            box = cell.bounding_box()
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= 390
    verdicts = page.locator("table.judged td[data-of=Verdict]")
    assert verdicts.first.inner_text().split() == ["above", "the", "limit"]
    shown = verdicts.first.evaluate("cell => getComputedStyle(cell, '::before').content")
    assert shown == '"Verdict"' or "attr" in shown
    page.close()


@pytest.fixture(scope="module")
def opened(browser, report):
    page = browser.new_page(viewport={"width": 1100, "height": 900})
    page.goto(report.as_uri(), wait_until="load")
    page.wait_for_selector("figure.readings.map.live")
    yield page
    page.close()


READ = """points => {
  const {data} = document.querySelector('figure.readings.map').readings;
  return points.map(([x, y]) => ({...reading({...data, marks: []}, x, y)}));
}"""
"""What the grids give at points, without the numbers of the receptors."""


def results_of(report):
    return json.loads((report.parent / "results.json").read_text())


def test_readings_agree_with_the_results_at_every_receptor(opened, report):
    receptors = results_of(report)["receptors"]
    read = opened.evaluate(READ, [[one["x_m"], one["y_m"]] for one in receptors])
    for receptor, own in zip(receptors, read, strict=True):
        assert own["b"] == pytest.approx(receptor["b_rms_t"], rel=2e-3)
        assert own["formula"] == pytest.approx(receptor["line_formula_b_rms_t"], rel=2e-3)
        assert own["bx"] == pytest.approx(abs(complex(*receptor["bx_t"])), rel=2e-3)
        assert own["by"] == pytest.approx(abs(complex(*receptor["by_t"])), rel=2e-3)


def test_the_error_of_a_reading_covers_its_deviation_along_the_traverses(opened, report):
    for traverse in results_of(report)["traverses"]:
        points = traverse["points_m"]
        told = zip(points, traverse["b_rms_t"], traverse["b_rms_error_t"], opened.evaluate(READ, points), strict=True)
        for (x, _), exact, numerical, own in told:
            if abs(x) > 4.5:
                assert own == {}  # beyond the map
                continue
            assert abs(own["b"] - exact) <= own["error"]
            assert own["error"] <= numerical + 0.02 * exact  # and it is of use


def test_a_receptor_that_is_dragged_turns_its_verdict(opened):
    opened.select_option("#reader-place", label="interferometer")
    assert "above, 4.51 times the limit" in opened.inner_text(".verdicts.here li")
    assert "above" in opened.get_attribute(".readings .marker", "class").split()
    opened.locator(".readings .frame").scroll_into_view_if_needed()
    frame = opened.locator(".readings .frame").bounding_box()
    marker = opened.locator(".readings .marker").bounding_box()
    start = marker["x"] + marker["width"] / 2, marker["y"] + marker["height"] / 2
    opened.mouse.move(*start)
    opened.mouse.down()
    opened.mouse.move(start[0] + frame["width"] / 4, start[1], steps=4)
    opened.mouse.up()
    assert "0.5 µT (interferometer): within as drawn" in plain(opened.inner_text(".verdicts.taken"))
    assert "None is stated for this point." in opened.inner_text(".limits")
    assert "above" not in opened.get_attribute(".readings .marker", "class").split()
    assert float(opened.input_value("#reader-x")) == pytest.approx(1.5 + 9.0 / 4, abs=0.03)


def test_a_point_is_judged_by_the_limits_that_hold_there_and_by_no_other(opened):
    opened.select_option("#reader-place", label="electron microscope")
    assert limits_of(opened) == {
        "Limits that hold here": ["0.05 µT (electron microscope): above, 6.66 times the limit"],
        "For comparison, limits of other places": [
            "0.5 µT (interferometer): within as drawn, 33 % left",
            "200 µT (desk): within as drawn, 99 % left",
        ],
    }
    assert opened.eval_on_selector_all(".verdicts.others li", "entries => entries.map(e => e.className)") == ["", ""]
    assert "interferometer" not in opened.text_content(".readings.map [aria-live]")


def test_a_zone_is_judged_by_its_limit_wherever_the_point_stands_in_it(opened):
    groups = opened.evaluate(
        """() => {
      const data = {marks: [{name: "desk", x: 0, y: 0}], zones: [{name: "room", box: [-1, -1, 1, 1]}],
        limits: [{places: ["desk"]}, {places: ["room", "hall"]}, {places: ["shop"]}]};
      const names = (x, y, taken) => Object.values(limitsAt(data, x, y, taken)).map((g) => g.map((l) => l.places[0]));
      return [names(0, 0, "desk"), names(0.5, -1, "desk"), names(1.1, 0, "desk"), names(1.1, 0, "")];
    }"""
    )
    assert groups == [
        [["desk", "room"], [], ["shop"]],
        [["room"], ["desk"], ["shop"]],
        [[], ["desk"], ["room", "shop"]],
        [[], [], ["desk", "room", "shop"]],
    ]


def limits_of(page):
    """What is said of limits, by the headings."""
    headings = [plain(text) for text in page.locator(".limits .of").all_inner_texts()]
    lists = [[plain(text) for text in own.locator("li").all_inner_texts()] for own in page.locator(".verdicts").all()]
    return dict(zip(headings, lists, strict=True))


def plain(text):
    return text.replace("\u202f", " ")


def test_arrow_keys_move_the_reading_and_a_screen_reader_hears_it(opened):
    opened.select_option("#reader-place", label="desk")
    opened.focus(".readings .marker")
    opened.keyboard.press("Shift+ArrowLeft")
    assert float(opened.input_value("#reader-x")) == pytest.approx(-1.3)
    heard = opened.text_content(".readings.map [aria-live]")
    assert heard.startswith("x −1.300 m, y −0.600 m: ")
    assert "200 µT (desk): within as drawn" in heard.replace("\u202f", " ")


def test_the_cursor_of_a_traverse_reads_the_results(opened, report):
    traverse = results_of(report)["traverses"][0]
    slider = opened.locator("figure.readings.line input").first
    slider.focus()
    opened.keyboard.press("Home")
    for _ in range(30):
        opened.keyboard.press("ArrowRight")
    told = opened.locator("figure.readings.line output").first.text_content().replace("\u2212", "-")
    (read,) = re.findall(r"^(\S+) m: (\S+) ± (\S+) (\S+); line formula (\S+) µT \((\S+) %\)$", told)
    distance, value, error, unit, formula, difference = read
    assert float(distance) == pytest.approx(traverse["distance_m"][30], abs=5e-3)
    assert float(value) * 1e-6 == pytest.approx(traverse["b_rms_t"][30], abs=float(error) * 1e-6)
    assert float(error) * 1e-6 >= traverse["b_rms_error_t"][30]
    assert float(formula) * 1e-6 == pytest.approx(traverse["line_formula_b_rms_t"][30], rel=1e-3)
    ratio = traverse["line_formula_b_rms_t"][30] / traverse["b_rms_t"][30] - 1
    assert float(difference) == pytest.approx(100 * ratio, abs=0.06)
    assert unit == "µT"
    area = opened.locator("figure.readings.line .picture").first.bounding_box()
    cursor = opened.locator("figure.readings.line .cursor").first.bounding_box()
    share = traverse["distance_m"][30] / traverse["distance_m"][-1]
    assert cursor["x"] - area["x"] == pytest.approx(area["width"] * (0.72 + share * (6.7 - 0.92)) / 6.7, abs=2)


def test_print_shows_the_figure_instead_of_the_reader(opened):
    opened.emulate_media(media="print")
    assert opened.is_visible("figure.readings.map img")
    assert not opened.is_visible("figure.readings .reader")
    opened.emulate_media(media="screen")
    assert not opened.is_visible("figure.readings.map img")


def test_the_figure_stays_if_scripts_are_off(browser, report):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(report.as_uri(), wait_until="load")
    assert page.is_visible("figure.readings.map img")
    context.close()


def test_the_page_runs_no_script_but_its_own(browser, report, tmp_path):
    strange = tmp_path / "strange.html"
    strange.write_text(report.read_text().replace("</main>", "<script>document.title = 'run'</script></main>"))
    page = browser.new_page()
    page.goto(strange.as_uri(), wait_until="load")
    assert page.title() != "run"
    page.close()


def test_a_name_in_the_readings_cannot_end_their_script():
    shown = Readable("map", Figure("Map", "A map", b""), '{"name": "</script><script>alert(1)</script>"}')
    page = Page(render("Title", "", (shown,)))
    assert page.tags.count("script") == 2
    assert "<script>alert" not in page.html


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_checker_of_accessibility_finds_nothing(scheme, browser, report):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed")
    page = browser.new_page(viewport={"width": 390, "height": 800}, color_scheme=scheme)
    page.goto(report.as_uri(), wait_until="load")
    page.wait_for_selector("figure.readings.map.live")
    found = axe.Axe().run(page)
    assert [(rule["id"], rule["nodes"][0]["html"][:200]) for rule in found.response["violations"]] == []
    page.close()


def test_a_limit_of_several_frequencies_is_read_as_their_exposure_index(browser, tmp_path):
    example = DEMO.with_name("harmonics_and_neutral.toml").read_text()
    (tmp_path / "study.toml").write_text(example)
    assert main(["run", "-q", str(tmp_path / "study.toml"), "--out", str(tmp_path / "results")]) in (0, 1)
    receptors = json.loads((tmp_path / "results" / "results.json").read_text())["receptors"]
    page = browser.new_page()
    page.goto((tmp_path / "results" / "report.html").as_uri(), wait_until="load")
    page.wait_for_selector("figure.readings.map.live")
    read = page.evaluate(READ, [[one["x_m"], one["y_m"]] for one in receptors])
    for receptor, own in zip(receptors, read, strict=True):
        assert own["indices"][0][0] == pytest.approx(receptor["exposure_index"], rel=2e-3)
        more = own["indices"][0][1] - receptor["exposure_error"]  # of reading between the points
        assert -1e-3 * receptor["exposure_error"] <= more <= 2e-3 * receptor["exposure_index"]
    page.close()


def test_the_demo_prints_on_ten_pages_and_the_sheet_to_sign_on_the_first(browser, report):
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    page = browser.new_page()
    page.goto(report.as_uri(), wait_until="load")
    pages = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    first, second = (" ".join(own.extract_text().split()) for own in pages[:2])
    assert len(pages) <= 10
    for words in ("Table 1. Verdicts", "Measure after installation.", "SHA-256", "Author: A. Author", "Signature"):
        assert words in first
    assert f"page 1 of {len(pages)}" in first
    assert "2 Notes to the sheet" in second
    assert "2 Notes to the sheet" not in first
    page.close()
