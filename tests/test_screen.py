"""Whatever stands in a folder's name, a cell or an option: no character of it commands the terminal."""

import json
import re
import sys
from pathlib import Path

import pytest

from analysis.check.summary import check_json, check_text
from analysis.guard import on_screen
from analysis.season import open_season

pytest.importorskip("pty")
from terminal import COMMANDS_A_SCREEN, commands_in, on_terminal

PACKAGE = Path(__file__).parent.parent / "analysis"
SEASON = str(Path(sys.executable).with_name("season"))
EVERY = [chr(n) for n in range(0x110000) if COMMANDS_A_SCREEN.match(chr(n))]
EVIL = "\x1b]0;owned\x07\x1b[31m\x9b32m\u202eback\u2066\u200f\u061c\u2028\x7f"
NAME = EVIL + "\nseason: All is well.\udcff"  # and a byte that is no letter
BIRD = "K\u202eevil\u2067\u200e\u2029"  # a cell without controls, so that its row is used


@pytest.fixture
def evil(tmp_path):
    """Write a season in a folder of a hostile name, with hostile cells, headings and log names."""
    folder = tmp_path / NAME
    folder.mkdir()
    pairs = f"pair,species,cage\n{BIRD}P,cockatiel,{BIRD}\nP2,cockatiel,{BIRD}\n"
    hatches = f"pair,clutch,egg,outcome,hatched_at,chick,reared_by,{BIRD}\n" + "".join(
        f"{BIRD}P,1,{n},hatched,2026-04-0{n},{BIRD}{n},hand,\n" for n in range(1, 6)
    )
    weights = "chick,weighed_at,weight,notes\n" + "".join(
        f"{BIRD}{n},2026-04-{day:02d},{day - n + 4},{BIRD}\n" for n in range(1, 6) for day in range(n, 16)
    )
    lost = f"chick,found_on,cause\n{BIRD}1,{EVIL},x\n{BIRD}2,2026-04-12,{BIRD}\n{EVIL},2026-04-13,{EVIL}\n"
    logs = {"pairs": pairs, "hatches": hatches, "weights": weights, "losses": lost, f"notes {BIRD}": "a\nb\n"}
    logs["settings"] = f"setting,value\naviary,{BIRD}\nseason,2026\n{BIRD},{BIRD}\n"
    for log, text in logs.items():
        (folder / f"{log}.csv").write_text(text, encoding="utf-8")
    return folder


def test_every_character_that_commands_a_screen_is_shown_and_no_other():
    assert len(EVERY) == 32 + 33 + 1 + 2 + 7 + 4 + 2048
    for sign in EVERY:
        shown = on_screen(f"a{sign}b")
        assert not COMMANDS_A_SCREEN.search(shown)
        assert len(shown) > 2
    for plain in ("Żółw ♀ 中文 🐣", "K1 = 5 °C", "", "a<b>"):
        assert on_screen(plain) == plain


def test_one_function_prints_and_nothing_else_does():
    cli = (PACKAGE / "cli.py").read_text(encoding="utf-8")
    assert cli.count("click.echo(") == 1
    assert not re.search(r"print\(|secho|sys\.std\w+\.write|click\.(prompt|confirm)", cli.replace("_print(", ""))
    for path in PACKAGE.rglob("*.py"):
        code = re.sub(r"^ *(>>>|\.\.\.) .*$", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
        assert not re.search(r"(?<![\w.])print\(", code), path


def test_the_check_as_text_and_as_json(evil):
    season = open_season(evil)
    assert not COMMANDS_A_SCREEN.search(check_text(season).replace("\n", ""))
    told = check_json(season)
    assert not COMMANDS_A_SCREEN.search(told.replace("\n", ""))
    assert json.loads(told)["problems"][0].keys() == set(season.problems.columns)
    assert any(BIRD in problem["value"] for problem in json.loads(told)["problems"]), "as JSON nothing is changed"


WORKS = {
    "new": ["new", "new\x1b[31m\u202e"],
    "new workbook": ["new", "other\x1b[31m\u202e", "--workbook", "--all"],
    "check": ["check", NAME],
    "check json": ["check", NAME, "--json"],
    "check mark": ["check", NAME, "--mark"],
    "report": ["report", NAME],
    "round": ["round", NAME, "--on", "2026-04-14", "--csv"],
    "sheets": ["sheets", NAME, "--chick", f"{BIRD}3"],
}
REFUSED = {
    "no command": [NAME],
    "no option": ["check", f"--{NAME}"],
    "too much": ["check", NAME, NAME],
    "no number": ["lab", "--port", EVIL],
    **{f"no folder {name}": [name, f"no{NAME}"] for name in ("check", "report", "round", "sheets", "outlook", "lab")},
    "no place for new": ["new", f"{NAME}/pairs.csv/{EVIL}"],
    "no place for a report": ["report", NAME, "--out", f"{NAME}/pairs.csv"],
    "no place for a round": ["round", NAME, "--out", f"{NAME}/pairs.csv"],
    "no day": ["report", NAME, "--up-to", EVIL],
    "no day for the round": ["round", NAME, "--on", EVIL],
    "no chick": ["sheets", NAME, "--chick", EVIL],
    "damaged logs": ["outlook", NAME],
    "no pair": ["outlook", NAME, "--keep", EVIL],
    "no earlier season": ["check", NAME, "--with", EVIL],
}


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param(one, id=name, marks=pytest.mark.slow if name in ("report", "sheets") else ())
        for name, one in WORKS.items()
    ],
)
def test_no_command_lets_a_name_or_a_cell_command_the_terminal(evil, arguments):
    code, screen = on_terminal([SEASON, *arguments], evil.parent)
    assert (code in (0, 1), commands_in(screen)) == (True, []), screen
    assert re.search(r"U\+001B|U\+202E|\\u202e", screen)
    assert "\nseason: All is well." not in screen


@pytest.mark.parametrize("arguments", REFUSED.values(), ids=REFUSED)
def test_no_refusal_lets_a_name_or_an_option_command_the_terminal(evil, arguments):
    code, screen = on_terminal([SEASON, *arguments], evil.parent)
    assert (code, commands_in(screen)) == (2, []), screen
    assert "\nseason: All is well." not in screen


@pytest.mark.slow
def test_the_lab_says_where_it_is_and_no_more(evil):
    code, screen = on_terminal([SEASON, "lab", NAME, "--no-browser"], evil.parent, until=b"Ctrl-C ends it")
    assert (code, commands_in(screen)) == (0, []), screen
    assert "U+001B" in screen
