"""The wheel, installed in an environment of its own, makes a report in a folder of the keeper's own."""

import os
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import numpy
import pytest

import analysis
from analysis import open_season
from support import DEMO, ROOT

KINDS = ("py", "typed", "toml", "typ", "json")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, env=_environment())
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def run(wheel, tmp_path_factory):
    """The Python of an environment that has the wheel, and sees this one's libraries but not the checkout."""
    home = tmp_path_factory.mktemp("env")
    venv.create(home, with_pip=False)
    (site,) = home.glob("lib/python*/site-packages") if os.name != "nt" else [home / "Lib" / "site-packages"]
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    # a path in a .pth file is searched, but the .pth files in it (our editable install) are not read
    (site / "libraries.pth").write_text(str(Path(numpy.__file__).parent.parent))
    python = home / ("Scripts/python.exe" if os.name == "nt" else "bin/python")

    def run(*arguments, cwd):
        command = [str(python), "-P", *map(str, arguments)]
        return subprocess.run(command, cwd=cwd, capture_output=True, text=True, env=_environment())

    return run


def _environment():
    return {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}


def test_what_is_in_the_wheel(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    rooms = [path.relative_to(ROOT) for kind in KINDS for path in (ROOT / "analysis").rglob(f"*.{kind}")]
    beside = [path.relative_to(ROOT) for path in (*ROOT.glob("notebooks/*.ipynb"), *DEMO.parent.glob("season_*/*.csv"))]
    wanted = {path.as_posix() for path in [*rooms, *(Path("analysis") / path for path in beside)]}
    assert {name for name in names if ".dist-info/" not in name} == wanted
    about = {Path(name).name: zipfile.ZipFile(wheel).read(name).decode() for name in names if ".dist-info/" in name}
    assert "season = analysis.__main__:main" in about["entry_points.txt"]
    assert f"\nVersion: {analysis.__version__}\n" in about["METADATA"]


@pytest.mark.slow
def test_a_chapter_that_is_given_no_season_shows_the_demo(run, tmp_path):
    begun = "from analysis.chapters import begin; print(len(begin().pairs))"
    made = run("-c", begun, cwd=tmp_path)
    assert (made.stdout, made.stderr) == (f"{len(open_season(DEMO).pairs)}\n", "")


@pytest.mark.slow
def test_a_keepers_own_folder(run, tmp_path):
    mine = tmp_path / "My birds"
    mine.mkdir()
    for log in ("hatches", "weights"):
        shutil.copy(ROOT / "tests" / "odd" / "first_clutch" / f"{log}.csv", mine)
    made = run("-m", "analysis", "report", "My birds", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    assert (tmp_path / "reports" / "My birds" / "season_report.pdf").read_bytes().startswith(b"%PDF")
    assert sorted(path.name for path in mine.iterdir()) == ["hatches.csv", "weights.csv"]
    where = run("-m", "analysis", "check", "nowhere", cwd=tmp_path)
    assert (where.returncode, where.stderr.startswith("season: There is no folder nowhere.")) == (2, True)
