"""Wall time of `season check` on the demo beside importing pandas; prints the ratio.

    python tests/bench_check.py [RUNS]

Every run is a fresh process, the two are taken in turn, and medians are compared. Aim: 2 or less.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"
CHECK = "import sys; sys.argv[0] = 'season'; from analysis.cli import main; main()"


def seconds(*command: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *command], stdout=subprocess.DEVNULL, check=False)
    return time.perf_counter() - began


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    pairs = [(seconds("-c", "import pandas"), seconds("-c", CHECK, "check", str(DEMO))) for _ in range(runs)]
    pandas_s, check_s = (statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = check_s / pandas_s
    print(f"import pandas {pandas_s:.2f} s, season check {check_s:.2f} s, ratio {ratio:.2f} (aim: 2 or less)")


if __name__ == "__main__":
    main()
