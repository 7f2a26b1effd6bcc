"""Wall time of a report beside an empty papermill run that imports pandas and altair; prints the ratio.

    python tests/bench_report.py [--runs N] [COMMAND ...]

COMMAND is any command line (say `season report data_demo/season_2026 --out bench`); left out, the fixture notebook
is rendered. Every run is a fresh process, the two are taken in turn, and medians are compared. Aim: 2.0 or less.
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat.v4 as v4
from nbformat import write

FIXTURE = Path(__file__).parent / "fixtures" / "season.ipynb"
PAPERMILL = "import sys, papermill; papermill.execute_notebook(*sys.argv[1:], progress_bar=False)"
REPORT = "import sys; from analysis.report.render import render_report; render_report(*sys.argv[1:])"


def seconds(command: list[str]) -> float:
    began = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("command", nargs=argparse.REMAINDER)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        empty = Path(folder) / "empty.ipynb"
        kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
        write(v4.new_notebook(cells=[v4.new_code_cell("import altair\nimport pandas")], metadata=kernel), empty)
        base = [sys.executable, "-c", PAPERMILL, str(empty), str(Path(folder) / "ran.ipynb")]
        ours = asked.command or [sys.executable, "-c", REPORT, str(FIXTURE), str(Path(folder) / "out")]
        pairs = [(seconds(base), seconds(ours)) for _ in range(asked.runs)]
    empty_s, report_s = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = report_s / empty_s
    print(f"empty papermill run {empty_s:.2f} s, report {report_s:.2f} s, ratio {ratio:.2f} (aim: 2.0 or less)")


if __name__ == "__main__":
    main()
