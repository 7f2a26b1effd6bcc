"""What is imported stands in pyproject.toml with a lowest version, and what stands there is used."""

import ast
import json
import re
import sys
import tomllib
from importlib.metadata import packages_distributions

import pytest

from support import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
BROUGHT_BY = packages_distributions()
NEEDED, TESTED = PROJECT["dependencies"], PROJECT["optional-dependencies"]["test"]
# Declared, and used without an import of ours.
OTHERWISE = {
    "fontpkg-fira-sans": "show/fonts.py finds its files",
    "jupyter-server": "lab/serving.py names its classes",
    "hatchling": "builds the wheel",
    "mypy": "a command",
    "nbval": "a plugin of pytest",
    "ruff": "a command",
}
# Run by hand, in an environment of its own, as it says itself.
APART = {"pooled_by_nuts.py"}


def named(requirements):
    return {re.match(r"[\w.-]+", one)[0].lower().replace("_", "-") for one in requirements}


def sources(folder):
    for path in folder.rglob("*.py"):
        if path.name in APART:
            continue
        yield path, path.read_text(encoding="utf-8")
    for path in folder.rglob("*.ipynb"):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        yield from ((path, "".join(cell["source"])) for cell in cells if cell["cell_type"] == "code")


def modules(code):
    for node in ast.walk(ast.parse(code)):
        names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
        names += [node.module] if isinstance(node, ast.ImportFrom) else []
        yield from (name.split(".")[0] for name in names)


def imported(*folders):
    """Yield (file, module, distributions that bring it) for each import that is neither ours nor Python's."""
    for folder in folders:
        ours = {path.stem for path in (ROOT / folder).glob("*")} | {"analysis", *sys.stdlib_module_names}
        for path, code in sources(ROOT / folder):
            for module in set(modules(code)) - ours:
                yield path.relative_to(ROOT), module, named(BROUGHT_BY.get(module, [module]))


@pytest.mark.parametrize(
    ("folders", "declared"),
    [(("analysis", "notebooks"), NEEDED), (("tests", "data_demo"), NEEDED + TESTED)],
    ids=["needed", "tested"],
)
def test_what_is_imported_is_declared(folders, declared):
    found = list(imported(*folders))
    assert "numpy" in {module for _, module, _ in found}
    assert [f"{path} imports {module}" for path, module, of in found if not of & named(declared)] == []


def test_what_is_declared_is_used():
    needed = set().union(*(of for _, _, of in imported("analysis", "notebooks")))
    tested = set().union(*(of for _, _, of in imported("tests", "data_demo")))
    assert named(NEEDED) - needed - set(OTHERWISE) == set()
    assert named(TESTED) - tested - set(OTHERWISE) == set()
    assert set(OTHERWISE) == named(NEEDED + TESTED) & set(OTHERWISE) - needed - tested, "each is still declared so"


def test_each_has_a_lowest_version():
    assert [one for one in NEEDED + TESTED if not re.fullmatch(r"[\w.-]+>=[\d.]+", one)] == []
