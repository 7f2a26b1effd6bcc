"""Imports point one way: the allowed edges between the rooms, and any other fails; and what is written of the house."""

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from support import ROOT

HOUSE = ROOT / "analysis"
# may be imported by all
LEAVES = {"disk", "ending", "errors", "finding", "guard", "names", "needed", "say", "theme", "trouble", "words"}
# who → whom it may import; of the three subjects only eggs is asked by the others
ALLOWED = {
    "logs": set(),
    "season": {"logs", "rates", "show"},  # how many clutches, and a season shown in a cell
    "growth": set(),
    "rates": set(),
    "charts": set(),
    "show": set(),
    "simulate": {"logs"},
    "eggs": {"logs", "season"},
    "chicks": {"logs", "season", "growth", "rates", "eggs"},
    "pairs": {"logs", "season", "rates", "eggs"},
    "day": {"logs", "season", "eggs", "chicks", "pairs"},
    "check": {"logs", "season"},
    "chapters": {"logs", "season", "growth", "rates", "charts", "eggs", "chicks", "pairs", "day", "show"},
    "report": {"logs", "season", "eggs", "chicks", "pairs", "day", "show", "chapters"},
    "lab": {"season", "report", "chapters"},
    "cli": {"logs", "season", "check", "pairs", "report", "lab"},
    "__main__": {"cli"},
    "": {"season", "growth", "rates", "pairs", "simulate"},  # analysis itself
}


def imported(path):
    """Yield the rooms of `analysis` that a module imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are absolute"
            if node.module == "analysis":
                yield from (a.name for a in node.names if (ROOT / "analysis" / a.name).exists() or in_package(a.name))
            elif (node.module or "").startswith("analysis."):
                yield node.module.split(".")[1]
        if isinstance(node, ast.Import):
            yield from (a.name.split(".")[1] for a in node.names if a.name.startswith("analysis."))


def in_package(name):
    return (ROOT / "analysis" / f"{name}.py").exists()


def room(path):
    first = path.relative_to(ROOT / "analysis").parts[0].removesuffix(".py")
    return "" if first == "__init__" else first


def test_imports_point_one_way():
    seen = set()
    for path in (ROOT / "analysis").rglob("*.py"):
        here = room(path)
        seen.add(here)
        for other in imported(path):
            if other not in {here, *LEAVES}:
                assert other in ALLOWED.get(here, set()), f"{path.relative_to(ROOT)} imports {other}"
    assert seen == set(ALLOWED) | LEAVES


def modules_in(path, modules):
    """Yield the modules that one imports, wherever in it and be it for types alone."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            whole = {f"{node.module}.{alias.name}" for alias in node.names}
            yield from whole & set(modules) or {node.module}
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def test_no_modules_import_each_other_in_a_circle():
    paths = [path.relative_to(ROOT) for path in HOUSE.rglob("*.py")]
    modules = {".".join(path.with_suffix("").parts).removesuffix(".__init__"): ROOT / path for path in paths}
    edges = {name: set(modules_in(path, modules)) & set(modules) for name, path in modules.items()}
    TopologicalSorter(edges).prepare()  # a CycleError names the circle


def test_heavy_libraries_are_imported_where_they_are_used():
    import subprocess
    import sys

    code = "import sys, analysis, analysis.cli, analysis.check.summary; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    modules = set(loaded.stdout.split())
    assert "pandas" in modules
    assert not modules & {
        "altair",
        "statsmodels",
        "scipy",
        "papermill",
        "typst",
        "vl_convert",
        "nbconvert",
        "IPython",
        "openpyxl",
    }


def test_the_command_alone_loads_nothing_heavy():
    import subprocess
    import sys

    code = "import sys, analysis.cli; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert not set(loaded.stdout.split()) & {"numpy", "pandas"}


CUTS = {"split", "rsplit", "partition", "rpartition", "removesuffix", "removeprefix", "startswith", "endswith"}
CUTS |= {"sub", "match", "search", "fullmatch", "findall", "contains"}
# What a keeper typed is read: the setting `checked`, the cell `sex`, a place's name, who is named in a place.
READ = {
    ("record.py", "checked"),
    ("one_chick.py", "sex_words"),
    ("one_chick.py", "_sex_known"),
    ("fed.py", "names_in"),
}


def test_nothing_is_read_back_out_of_a_sentence():
    house = ROOT / "analysis"
    rooms = ("eggs", "chicks", "pairs", "day", "chapters")
    files = [path for room in rooms for path in (house / room).glob("*.py")]
    found, seen = [], set()
    for path in [*files, house / "report" / "round_page.py"]:
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(function, ast.FunctionDef):
                continue
            calls = {node.func.attr for node in ast.walk(function) if is_method(node)} & CUTS
            seen |= {(path.name, function.name)} if calls else set()
            found += [f"{path.name}: {function.name}: {', '.join(sorted(calls))}"] if calls else []
    assert seen == READ, found


def private(tree):
    """The private names that a program uses of others: imported, or as attributes, or set by name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom | ast.Import):
            found = [part for alias in node.names for part in alias.name.split(".")]
            found += (getattr(node, "module", None) or "").split(".")
        elif isinstance(node, ast.Attribute) and not (isinstance(node.value, ast.Name) and node.value.id == "self"):
            found = [node.attr]
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith(
            (".setattr", ".object", "patch", "getattr")
        ):
            texts = [one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]
            found = [part for text in texts for part in text.split(".")]
        else:
            continue
        yield from ((node.lineno, name) for name in found if name.startswith("_") and not name.endswith("_"))


def test_tests_use_no_private_names():
    files = sorted((ROOT / "tests").glob("*.py"))
    trees = [(path.name, ast.parse(path.read_text(encoding="utf-8"))) for path in files]
    assert [f"{name}:{line}: {used}" for name, tree in trees for line, used in private(tree)] == []


@pytest.mark.parametrize(
    "program",
    [
        "from analysis.lab.server import _end",
        "import analysis._old",
        "server._end(1)",
        "patch.setattr(server, '_end', 1)",
        "patch('analysis.lab.server._end')",
    ],
)
def test_a_private_name_is_seen(program):
    assert [name for _, name in private(ast.parse(program))] in (["_end"], ["_old"])


def is_method(node):
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)


WRITTEN = (ROOT / "DEVELOPERS.md").read_bytes()
FILES = {".py", ".toml", ".typ", ".ipynb", ".md"}


def test_what_is_written_of_the_house_is_read_at_one_sitting():
    assert len(WRITTEN) <= 9_000


def test_every_path_in_what_is_written_of_the_house_is_there():
    words = [word.strip(",") for code in re.findall(r"`([^`\n]+)`", WRITTEN.decode()) for word in code.split()]
    paths = {word for word in words if "/" in word or Path(word).suffix in FILES}
    assert len(paths) > 60
    assert [path for path in sorted(paths) if not any((place / path).exists() for place in (ROOT, HOUSE))] == []


def test_each_calibration_stands_with_the_script_that_makes_it():
    scripts = sorted((ROOT / "tests").glob("calibrate_*.py"))
    assert len(scripts) == 6
    for path in scripts:
        told = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
        assert f"`python tests/{path.name} 200 1`" in told, path.name
        assert "|---|" in told, path.name
