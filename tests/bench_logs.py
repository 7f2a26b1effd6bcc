"""A million weighings, read and checked, against the library that does the reading alone, in one run.

    python tests/bench_logs.py [chicks] [weighings of each]

Each row is measured in a process of its own; memory is the peak of that process, as Linux tells it.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

_CSV = "import pandas as pd", "pd.read_csv(path / 'weights.csv')"
_SHEET = "CalamineWorkbook.from_path(path / 'season.xlsx').get_sheet_by_name('weights').to_python()"
OURS = "from analysis import open_season", "open_season(path)"
PEER = {
    "list.csv": _CSV,
    "grid.csv": _CSV,
    "list.xlsx": ("from python_calamine import CalamineWorkbook", _SHEET),
}
RUN = """
import sys, time
from pathlib import Path
{imports}
path = Path(sys.argv[1])
begun = time.perf_counter()
made = {code}
took = time.perf_counter() - begun
status = Path("/proc/self/status").read_text()
print(took, int(status.split("VmHWM:")[1].split()[0]) / 1024)
"""


def make(folder: Path, form: str, chicks: int, days: int) -> None:
    """Write hatches and weights of many chicks."""
    rng = np.random.default_rng(1)
    names = np.array([f"K{number:05d}" for number in range(chicks)])
    hatched = np.datetime64("2026-01-01") + rng.integers(0, 60, chicks)
    own = {"pair": [f"P{n // 20:03d}" for n in range(chicks)], "chick": names, "hatched_at": hatched.astype(str)}
    age, who = np.tile(np.arange(days), chicks), np.repeat(np.arange(chicks), days)
    mass = np.round(90 / (1 + np.exp(-(age - 12) / 5)) * np.exp(rng.normal(0, 0.02, len(age))) + 1, 1)
    when = (hatched[who] + age).astype("datetime64[m]") + rng.integers(400, 440, len(age))
    weights = pd.DataFrame(
        {"chick": names[who], "weighed_at": pd.Series(when).dt.strftime("%Y-%m-%d %H:%M"), "weight": mass}
    )
    if form == "grid.csv":
        weights["weighed_at"] = weights["weighed_at"].str[:10]
        weights = weights.set_index(["chick", "weighed_at"])["weight"].unstack().reset_index()  # noqa: PD010
    if form == "list.xlsx":
        with pd.ExcelWriter(folder / "season.xlsx") as book:
            pd.DataFrame(own).to_excel(book, sheet_name="hatches", index=False)
            weights.to_excel(book, sheet_name="weights", index=False)
        return
    pd.DataFrame(own).to_csv(folder / "hatches.csv", index=False)
    weights.to_csv(folder / "weights.csv", index=False)


def measure(imports: str, code: str, folder: Path) -> tuple[float, float]:
    """Return seconds and megabytes of one run."""
    run = [sys.executable, "-c", RUN.format(imports=imports, code=code), str(folder)]
    took, most = subprocess.run(run, capture_output=True, text=True, check=True).stdout.split()
    return float(took), float(most)


def main(chicks: int, days: int) -> None:
    """Print a row a form."""
    print(f"{chicks} chicks, {days} weighings each")
    for form, peer in PEER.items():
        with tempfile.TemporaryDirectory() as space:
            folder = Path(space)
            make(folder, form, chicks, days)
            (theirs, their_mb), (ours, our_mb) = measure(*peer, folder), measure(*OURS, folder)
        print(f"{form:10} peer {theirs:6.2f} s {their_mb:6.0f} MB   ours {ours:6.2f} s {our_mb:6.0f} MB", end="   ")
        print(f"time {ours / theirs:5.1f} x, memory {our_mb / their_mb:4.1f} x")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:3] or ("10000", "100")))
