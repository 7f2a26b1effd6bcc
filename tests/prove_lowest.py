"""Whether the workbook still works with the lowest version of each library that pyproject.toml allows.

`python tests/prove_lowest.py`, with the lowest Python too (3.11), makes an environment of its own in a passing folder,
installs each library at just its lowest version, and runs a check, a report, a round and some tests there: some
minutes, and the network. `--short` only asks pip whether these versions are to be had together.
"""

import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).parent.parent
COMMANDS = (("check", "{demo}"), ("report", "{demo}", "--out", "{out}"), ("round", "{demo}", "--out", "{out}"))
TESTS = ("cli", "ending", "declared", "fit", "book", "show", "render", "exporter", "lab", "controls", "pdf_ua")


def lowest() -> list[str]:
    """Each library at its lowest version.

    >>> "numpy==2.0" in lowest()
    True
    """
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [one.replace(">=", "==") for one in [*project["dependencies"], *project["optional-dependencies"]["test"]]]


def proved(home: Path) -> bool:
    """Install them below a folder, and run all that is to be run."""
    venv.create(home / "env", with_pip=True)
    python = next(
        path for path in (home / "env" / "bin" / "python", home / "env" / "Scripts" / "python.exe") if path.exists()
    )
    places = {"demo": ROOT / "data_demo" / "season_2026", "out": home / "out"}
    runs = [["pip", "install", "-q", "-e", str(ROOT), *lowest()]]
    runs += [["analysis", *(word.format(**places) for word in command)] for command in COMMANDS]
    runs += [["pytest", "-q", *(str(ROOT / "tests" / f"test_{name}.py") for name in TESTS)]]
    for run in runs:
        print("->", *run[:2], flush=True)
        shown = subprocess.DEVNULL if run[0] == "analysis" else None
        code = subprocess.run([str(python), "-m", *run], cwd=ROOT, stdout=shown).returncode
        if code not in (0, int("check" in run)):  # the demo has rows that are not used
            print(f"failed: {code}")
            return False
    return True


if __name__ == "__main__":
    if "--short" in sys.argv:
        asked = [sys.executable, "-m", "pip", "install", "-q", "--dry-run", "--ignore-installed", *lowest()]
        sys.exit(subprocess.run(asked).returncode)
    with tempfile.TemporaryDirectory() as folder:
        sys.exit(not proved(Path(folder)))
