"""JupyterLab in a real browser, with nothing outside this machine: charts alive in a saved, untrusted notebook.

JupyterLab draws Vega-Lite 5 itself; a later one may not, and then this fails. Skipped where there is no Chromium.
"""

import json
import os
import shutil
import socket
import subprocess
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from analysis.report.lab import copy_chapters, lab_command
from analysis.report.render import render_report

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FIXTURE = Path(__file__).parent / "fixtures" / "season.ipynb"
TOKEN = "only-for-this-test"
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


@pytest.fixture
def server(write_logs):
    """JupyterLab as `season lab` starts it, on a free port, with a token that the test knows."""
    folder = write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    workbook = copy_chapters(folder)
    command = [*lab_command(workbook, port=port, browser=False), f"--IdentityProvider.token={TOKEN}"]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}
    with subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as lab:
        try:
            yield workbook, f"http://127.0.0.1:{port}"
        finally:
            lab.terminate()


def wait_for(url):
    for _ in range(120):
        try:
            with urlopen(url):
                return
        except URLError:
            time.sleep(0.5)
    pytest.fail("JupyterLab did not start within a minute")


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")
def test_charts_are_alive_in_a_saved_notebook(server, tmp_path):
    workbook, url = server
    shutil.copy(render_report(FIXTURE, tmp_path / "out").notebook, workbook / "saved.ipynb")
    cells = json.loads((workbook / "saved.ipynb").read_text())["cells"]
    bundles = [out.get("data", {}) for cell in cells for out in cell.get("outputs", ())]
    charts = sum("application/vnd.vegalite.v5+json" in data for data in bundles)
    wait_for(f"{url}/api?token={TOKEN}")
    command = [CHROMIUM, *FLAGS, f"--user-data-dir={tmp_path / 'browser'}", "--virtual-time-budget=30000", "--dump-dom"]
    page = subprocess.run([*command, f"{url}/lab/tree/saved.ipynb?token={TOKEN}"], capture_output=True, text=True)
    assert charts > 0
    assert page.stdout.count('class="vega-embed') == charts
    assert "Jupyter news" not in page.stdout
