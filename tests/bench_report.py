"""Wall time of a report beside an empty papermill run that imports pandas and altair; prints the ratio.

    python tests/bench_report.py [--runs N] [COMMAND ...]

    python tests/bench_report.py --many [--runs N]

COMMAND is any command line (say `season report data_demo/season_2026 --out bench`); left out, the fixture notebook
is rendered. Every run is a fresh process, the two are taken in turn, and medians are compared. Aim: 1.6 or less.
With --many: the report of a simulated season of 100 pairs and 299 chicks beside the demo's (3 times at most), and the
peak memory of its largest process.
"""

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat.v4 as v4
from nbformat import write

DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"
FIXTURE = Path(__file__).parent / "fixtures" / "season.ipynb"
PAPERMILL = "import sys, papermill; papermill.execute_notebook(*sys.argv[1:], progress_bar=False)"
REPORT = "import sys; from analysis.report.render import render_report; render_report(*sys.argv[1:])"


def seconds(command: list[str]) -> float:
    began = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def many(runs: int) -> None:
    from analysis.simulate import simulate_season

    season = [sys.executable, "-c", "import sys; sys.argv[0] = 'season'; from analysis.cli import main; main()"]
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "many"
        truth = simulate_season(folder, 7, pairs=100, cages=75)
        reports = [[*season, "report", str(place), "--out", str(Path(scratch) / "out")] for place in (DEMO, folder)]
        times = [[seconds(report) for report in reports] for _ in range(runs)]
        demo_s, many_s = (statistics.median(taken) for taken in zip(*times, strict=True))
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{len(truth.pairs)} pairs, {len(truth.chicks)} chicks, {len(truth.weights)} weighings: {many_s:.1f} s")
    print(f"the demo: {demo_s:.1f} s, ratio {many_s / demo_s:.2f} (aim: 3 or less); peak {peak_mb:.0f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("command", nargs=argparse.REMAINDER)
    parser.add_argument("--many", action="store_true")
    asked = parser.parse_args()
    if asked.many:
        many(asked.runs)
        return
    with tempfile.TemporaryDirectory() as folder:
        empty = Path(folder) / "empty.ipynb"
        kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
        write(v4.new_notebook(cells=[v4.new_code_cell("import altair\nimport pandas")], metadata=kernel), empty)
        base = [sys.executable, "-c", PAPERMILL, str(empty), str(Path(folder) / "ran.ipynb")]
        ours = asked.command or [sys.executable, "-c", REPORT, str(FIXTURE), str(Path(folder) / "out")]
        pairs = [(seconds(base), seconds(ours)) for _ in range(asked.runs)]
    empty_s, report_s = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = report_s / empty_s
    print(f"empty papermill run {empty_s:.2f} s, report {report_s:.2f} s, ratio {ratio:.2f} (aim: 1.6 or less)")


if __name__ == "__main__":
    main()
