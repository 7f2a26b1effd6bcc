"""Wall time of `season sheets` of a hundred pairs beside `season report` of the demo.

    python tests/bench_sheets.py [RUNS]

Every run is a fresh process, the two are taken in turn, and medians are compared. Aim: at most twice the report.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from analysis.simulate import simulate_season

DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"
SEASON = "import sys; sys.argv[0] = 'season'; from analysis.cli import main; main()"
PAIRS, SEED, TIMES = 100, 7, 2.0


def seconds(*command: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", SEASON, *command], stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as scratch:
        folder, out = Path(scratch) / "season", str(Path(scratch) / "out")
        truth = simulate_season(folder, SEED, pairs=PAIRS, cages=3 * PAIRS // 4)
        times = [
            (seconds("report", str(DEMO), "--out", out), seconds("sheets", str(folder), "--out", out))
            for _ in range(runs)
        ]
        report_s, sheets_s = (statistics.median(taken) for taken in zip(*times, strict=True))
    ratio = sheets_s / report_s
    kept = "kept" if ratio <= TIMES else "not kept"
    print(f"{len(truth.pairs)} pair sheets ({len(truth.chicks)} chicks): {sheets_s:.1f} s")
    print(f"the demo's report: {report_s:.1f} s; ratio {ratio:.2f}, at most {TIMES:g}: {kept}")


if __name__ == "__main__":
    main()
