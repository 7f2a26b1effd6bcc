"""Wall time of `season round` beside `season check` of the same folder, for the demo and for 300 chicks.

    python tests/bench_round.py [RUNS]

Every run is a fresh process, the two are taken in turn, and medians are compared. Aims: 3 s on the demo, 6 s on 300
chicks, on a machine that does nothing else.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"
SEASON = "import sys; sys.argv[0] = 'season'; from analysis.cli import main; main()"
ON = pd.Timestamp("2026-05-20")
KINDS = {"cockatiel": 95, "budgerigar": 38, "sun conure": 120}


def seconds(*command: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", SEASON, *command], stdout=subprocess.DEVNULL, check=False)
    return time.perf_counter() - began


def many_chicks(folder: Path) -> Path:
    """300 chicks of 60 pairs fed by hand, weighed every morning; 180 eggs in an incubator, weighed every third day."""
    rng = np.random.default_rng(5)
    hatches, weights, eggs = [], [], []
    for number in range(300):
        pair, kind = f"P{number // 5:02d}", list(KINDS)[number // 5 % 3]
        age = int(rng.integers(0, 45))
        hatches.append(
            (pair, 1, f"{number % 5}", "", f"{ON - pd.Timedelta(days=age):%Y-%m-%d}", f"K{number:03d}", "hand", "")
        )
        grams = (
            KINDS[kind] / (1 + np.exp(-0.22 * (np.arange(age + 1) - 12))) * np.exp(0.02 * rng.standard_normal(age + 1))
        )
        days = pd.date_range(ON - pd.Timedelta(days=age), ON)
        weights += [
            (f"K{number:03d}", f"{day:%Y-%m-%d}", round(mass_g, 1)) for day, mass_g in zip(days, grams, strict=True)
        ]
    for number in range(180):
        set_on = ON - pd.Timedelta(days=int(rng.integers(1, 18)))
        hatches.append((f"P{number // 3:02d}", 2, f"X{number}", f"{set_on:%Y-%m-%d}", "", "", "", "incubator"))
        days = range(0, (ON - set_on).days + 1, 3)
        eggs += [
            (f"X{number}", f"{set_on + pd.Timedelta(days=d):%Y-%m-%d}", round(6 * (1 - 0.15 * d / 19), 2)) for d in days
        ]
    columns = ["pair", "clutch", "egg", "set_on", "hatched_at", "chick", "reared_by", "incubated_by"]
    pairs = [(f"P{number:02d}", list(KINDS)[number % 3]) for number in range(60)]
    for name, rows, heads in (
        ("hatches", hatches, columns),
        ("weights", weights, ["chick", "weighed_at", "weight"]),
        ("egg_weights", eggs, ["egg", "weighed_on", "weight"]),
        ("pairs", pairs, ["pair", "species"]),
    ):
        pd.DataFrame(rows, columns=heads).to_csv(folder / f"{name}.csv", index=False)
    (folder / "settings.csv").write_text("setting,value\nseason,2026\n")
    return folder


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as made, tempfile.TemporaryDirectory() as out:
        for what, folder in (("the demo", DEMO), ("300 chicks", many_chicks(Path(made)))):
            order = ("round", str(folder), "--on", "2026-05-20", "--out", out)
            pairs = [(seconds("check", str(folder)), seconds(*order)) for _ in range(runs)]
            check_s, round_s = (statistics.median(times) for times in zip(*pairs, strict=True))
            print(f"{what}: check {check_s:.2f} s, round {round_s:.2f} s, ratio {round_s / check_s:.2f}")


if __name__ == "__main__":
    main()
