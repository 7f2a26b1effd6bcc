"""From `season lab` to the first chart drawn in a browser, beside a plain JupyterLab that only opens; seconds.

    python tests/bench_lab.py [RUNS]

Each run is a fresh process and a fresh browser, the two in turn; the median is printed. The chapter is opened, all its
cells are run from the menu, and the clock stops when the first chart has been drawn. Needs Chromium and its driver.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from in_browser import CHROMIUM, DRIVER, FLAGS, Page, until
from selenium import webdriver
from selenium.webdriver.chrome.service import Service

from support import DEMO

CHAPTER = "02_season_overview.ipynb"


def chrome(home):
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in (*FLAGS, f"--user-data-dir={home}"):
        options.add_argument(flag)
    return webdriver.Chrome(options=options, service=Service(DRIVER))


def said(lab):
    """The first address that a program prints."""
    for line in lab.stdout:
        if "http://127.0.0.1:" in line:
            return "http://127.0.0.1:" + line.split("http://127.0.0.1:")[1].split()[0]
    raise SystemExit("nothing was started")


def seconds(command, work, **options):
    """From the start of a command to the end of the work in the browser."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        began = time.perf_counter()
        lab = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, **options)
        browser = chrome(Path(home))
        try:
            browser.get(said(lab))
            work(Page(browser, Path(home)))
            return time.perf_counter() - began
        finally:
            browser.quit()
            lab.terminate()
            lab.wait()


def first_chart(page):
    page.open(CHAPTER)
    page.wait("#jp-main-statusbar", "| Idle", 60)
    page.menu("Run", "Run All Cells")
    until(page.drawn, "a chart is drawn", 60)


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as scratch:
        for season in DEMO.parent.glob("season_*"):
            shutil.copytree(season, Path(scratch) / season.name)
        folder = Path(scratch) / DEMO.name
        ours = [sys.executable, "-c", "from analysis.cli import main; main()", "lab", str(folder), "--no-browser"]
        plain = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--ServerApp.ip=127.0.0.1"]
        environment = {**os.environ, "JUPYTER_CONFIG_DIR": scratch}
        pairs = [
            (
                seconds(plain, lambda page: page.wait(".jp-Launcher", seconds=60), stderr=subprocess.STDOUT,
                        cwd=scratch, env=environment),
                seconds(ours, first_chart),
            )
            for _ in range(runs)
        ]  # fmt: skip
    bare, chart = (statistics.median(times) for times in zip(*pairs, strict=True))
    print(f"plain JupyterLab open {bare:.1f} s, season lab to the first chart {chart:.1f} s, ratio {chart / bare:.2f}")


if __name__ == "__main__":
    main()
