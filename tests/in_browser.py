"""`season lab` in a real browser, with nothing outside this machine: chapters as a keeper opens them.

`prove_browser.py` runs it, since it takes a minute and a half; nbval runs the chapters in every run of the suite.

Skipped where there is no Chromium; on the build machine (CI=true) that fails, as `.ci/run` puts one there.
"""

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
from contextlib import suppress
from itertools import product

import pytest
from pypdf import PdfReader
from selenium import webdriver
from selenium.common.exceptions import (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    StaleElementReferenceException,
)
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.support.select import Select
from started_lab import SLOW_S

from analysis import open_season
from analysis.pairs.of_season import heaviest
from analysis.report.kernel import VARIABLE, work_ahead
from analysis.report.render import notebooks_folder
from support import DEMO, ROOT

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
DRIVER = shutil.which("chromedriver")
CHAPTERS = sorted(path.name for path in notebooks_folder().glob("[0-9]*.ipynb"))
LIVE = "application/vnd.vegalite.v5+json"
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--window-size=1280,1600"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage"),
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)
CONTROL, END = "\ue009", "\ue010"  # as WebDriver names the keys
OPEN = ".jp-NotebookPanel:not(.lm-mod-hidden)"  # the chapter in front
NOT_YET = (StaleElementReferenceException, ElementClickInterceptedException, ElementNotInteractableException)
ONE_CHICK = "09_one_chick.ipynb"
REMARK = "A remark of mine: the hen of P03 was off her eggs."

pytestmark = pytest.mark.skipif(
    not (CHROMIUM and DRIVER) and "CI" not in os.environ, reason="no Chromium on this machine"
)


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The demo with its earlier seasons, in a folder named as people name folders."""
    aviary = tmp_path_factory.mktemp("home") / "Vögel [all] d'Or 1"
    for season in DEMO.parent.glob("season_*"):
        shutil.copytree(season, aviary / season.name)
    return aviary / DEMO.name


@pytest.fixture(scope="module")
def ahead(place, tmp_path_factory):
    """What four chapters would each work out of the same record, worked out once; nbval runs them without it."""
    file = tmp_path_factory.mktemp("ahead") / "record"
    work_ahead(open_season(place), file, heaviest)
    return {VARIABLE: str(file)}


@pytest.fixture(scope="module")
def address(place, ahead):
    """`season lab` as a keeper starts it; where it says it is."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "from analysis.cli import main; main()", "lab", str(place), "--no-browser"]
    more = {"stdout": subprocess.PIPE, "text": True, "cwd": ROOT, "env": os.environ | ahead}
    with subprocess.Popen([*command, f"--port={port}"], **more) as lab:
        said = []
        for line in lab.stdout:
            said.append(line.strip())
            if said[-1].startswith("http://127.0.0.1:"):
                break
        assert said, "season lab said nothing"
        yield said[-1]
        lab.terminate()
        assert lab.wait(SLOW_S) == 0


@pytest.fixture(scope="module")
def page(address, tmp_path_factory):
    """The first chapter, open in a browser that reaches nothing but this machine."""
    assert CHROMIUM, "no Chromium on this machine"
    assert DRIVER, "no chromedriver on this machine"
    home = tmp_path_factory.mktemp("browser")
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in (*FLAGS, f"--user-data-dir={home / 'profile'}"):
        options.add_argument(flag)
    options.add_experimental_option("prefs", {"download.default_directory": str(home)})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    browser = webdriver.Chrome(options=options, service=Service(DRIVER))
    try:
        browser.get(address)
        yield Page(browser, home)
    finally:
        browser.quit()


class Page:
    """JupyterLab as a keeper works it: menus, files, cells."""

    def __init__(self, browser, downloads):
        self.browser, self.downloads = browser, downloads

    def all(self, css):
        return self.browser.find_elements("css selector", css)

    def script(self, code, *given):
        return self.browser.execute_script(code, *given)

    def wait(self, css, text=""):
        """The first element that matches and holds the text, once it is there."""
        return until(lambda: next((e for e in self.all(css) if text in e.text), None), f"{css} {text}")

    def menu(self, *path):
        """Choose in the menus at the top, by the words that stand there."""
        self.click(".lm-MenuBar-itemLabel", path[0])
        for words in path[1:]:
            self.click(".lm-Menu-itemLabel", words)

    def click(self, css, text):
        def clicked():
            self.wait(css, text).click()
            return True

        until(clicked, f"a click on {text}")

    def act(self):
        return webdriver.ActionChains(self.browser, duration=0)

    def open(self, chapter):
        """Open a chapter from the list of files, or bring it to the front."""

        def asked():
            self.act().double_click(self.wait(".jp-DirListing-item", chapter)).perform()
            return True

        until(asked, f"a click on {chapter}")
        until(lambda: chapter in self.wait(".jp-mod-current .lm-TabBar-tabLabel").text, chapter)
        self.wait(f"{OPEN} .jp-Cell")

    def drawn(self):
        """The charts of the chapter in front that have been drawn."""
        return [e for e in self.all(f"{OPEN} .vega-embed canvas, {OPEN} .vega-embed svg.marks") if e.size["width"] > 99]

    def save(self):
        self.menu("File", "Save Notebook")
        until(lambda: not self.all(".jp-mod-current.jp-mod-dirty"), "the chapter is saved")

    def run_and_saved(self, chapter):
        """The chapter's programs as they were saved, once all have run; nothing before that."""
        if self.all(f"{OPEN} .jp-Notebook-ExecutionIndicator[data-status=idle]"):
            self.save()
            with suppress(ValueError):  # read while it is being written
                cells = json.loads(chapter.read_text(encoding="utf-8"))["cells"]
                programs = [cell for cell in cells if cell["cell_type"] == "code"]
                return programs if all(cell["execution_count"] for cell in programs) else None

    def close(self):
        self.menu("File", "Close Tab")

    def errors(self):
        """What the browser itself complained of since it was asked last."""
        return [e["message"] for e in self.browser.get_log("browser") if e["level"] == "SEVERE"]


def until(found, what):
    """What is found, once there is something; an element that is just being drawn anew is not there yet."""
    latest = time.monotonic() + SLOW_S
    while time.monotonic() < latest:
        with suppress(*NOT_YET):
            if result := found():
                return result
        time.sleep(0.15)  # each look costs the browser as well
    pytest.fail(f"not within {SLOW_S} s: {what}")


@pytest.fixture(scope="module")
def ran(page, place):
    """The chapters run from the menu and saved: its cells, and how many charts were drawn. Two run at a time."""
    seen = {}
    for last, chapter in zip([None, *CHAPTERS], [*CHAPTERS, None], strict=True):
        if chapter:
            page.open(chapter)
            page.wait("#jp-main-statusbar", "| Idle")
            page.menu("Run", "Run All Cells")
        if last:
            page.open(last)
            cells = until(lambda last=last: page.run_and_saved(place / "workbook" / last), f"{last} has run")
            outputs = [out for cell in cells for out in cell["outputs"]]
            charts = sum(LIVE in out.get("data", {}) for out in outputs)
            until(lambda charts=charts: len(page.drawn()) >= charts, f"{charts} charts of {last} are drawn")
            seen[last] = outputs, len(page.drawn()), page.errors()
            if last != ONE_CHICK:
                page.close()
    return seen


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_a_chapter_runs_and_draws_its_charts(ran, chapter):
    outputs, drawn, errors = ran[chapter]
    assert outputs, "it shows something"
    assert [out for out in outputs if out["output_type"] == "error" or out.get("name") == "stderr"] == []
    assert drawn == sum(LIVE in out.get("data", {}) for out in outputs)
    assert errors == []


def test_pointing_at_a_weighing_shows_its_numbers(ran, page):
    growth(page)
    chart = page.wait(f"{OPEN} .vega-embed:has(.vega-bind) canvas")
    page.script("arguments[0].scrollIntoView({block: 'center'})", chart)
    wide, high = chart.size["width"], chart.size["height"]
    for across, down in product(range(-45, 46, 3), repeat=2):
        page.act().move_to_element_with_offset(chart, wide * across // 100, high * down // 100).perform()
        shown = [e.text for e in page.all("#vg-tooltip-element.visible")]
        if shown and re.search(r"^chick: ", shown[0], re.MULTILINE):
            assert re.search(r"^weight \(g\): \d", shown[0], re.MULTILINE)
            return
    pytest.fail("no weighing shows its numbers beside the mouse")


def growth(page):
    """The growth chapter as it was saved, opened anew: its charts are alive before anything is run."""
    if "04_growth" not in page.wait(".jp-mod-current .lm-TabBar-tabLabel").text:
        page.open("04_growth.ipynb")
    until(page.drawn, "the saved charts are drawn")


def test_the_menu_of_a_chart_saves_it_and_leads_nowhere_else(ran, page):
    growth(page)
    corner = page.wait(f"{OPEN} .vega-embed summary")
    page.script("arguments[0].scrollIntoView({block: 'center'})", corner)
    corner.click()
    links = f"{OPEN} .vega-embed details[open] .vega-actions a"
    until(lambda: [link.text for link in page.all(links) if link.text] == ["Save as SVG", "Save as PNG"], "two forms")
    corner.click()


def test_choosing_in_the_list_below_a_chart_changes_it(ran, page):
    growth(page)
    pairs = page.wait(f"{OPEN} .vega-bind select")
    picture = "return arguments[0].closest('.vega-embed').querySelector('canvas').toDataURL()"
    page.script("arguments[0].scrollIntoView({block: 'center'})", pairs)
    page.act().move_to_element(pairs).pause(0.5).perform()  # off the chart: pointing at it changes it too
    before = page.script(picture, pairs)
    Select(pairs).select_by_index(1)
    until(lambda: page.script(picture, pairs) != before, "the chart has changed")


def test_a_remark_stays_and_is_in_the_pdf(ran, page, place):
    growth(page)
    until(lambda: edited(page, "What to do next"), "the text can be changed").click()
    page.act().key_down(CONTROL).send_keys(END).key_up(CONTROL).send_keys(f"\n\n{REMARK}").perform()
    page.menu("Run", "Run Selected Cell")
    page.wait(f"{OPEN} .jp-RenderedMarkdown", REMARK)
    page.save()
    assert REMARK in (place / "workbook" / "04_growth.ipynb").read_text(encoding="utf-8")
    page.menu("File", "Save and Export Notebook As", "SeasonPDF")
    pdf = until(lambda: next(page.downloads.glob("*.pdf"), None), "the PDF is there")
    assert REMARK in " ".join("".join(sheet.extract_text() for sheet in PdfReader(pdf).pages).split())


def edited(page, heading):
    """The text under a heading, opened for writing; again where the page moved under the mouse."""
    if editor := page.all(f"{OPEN} .jp-MarkdownCell.jp-mod-active .cm-content"):
        return editor[0]
    for found in page.all(f"{OPEN} .jp-RenderedMarkdown h2"):
        if heading in found.get_attribute("textContent"):
            page.script("arguments[0].scrollIntoView({block: 'center'})", found)
            page.act().double_click(found).perform()
    return None


def test_choosing_a_chick_changes_what_is_shown(ran, page):
    page.open(ONE_CHICK)
    chosen = Select(page.wait(f"{OPEN} .widget-dropdown select"))

    def shown():
        outputs = page.all(f"{OPEN} .jp-RenderedHTML.jp-OutputArea-output")
        return [e.get_attribute("textContent") for e in outputs]  # `text` is without what is not on the screen

    until(lambda: any("Not known" in text for text in shown()), "the last part of the page")
    before = shown()
    chosen.select_by_index(20)
    until(lambda: shown() != before, "what is shown has changed")
    assert page.errors() == []
    page.close()
