"""Every code is said once, with the facts that its sentence names; and no sentence stands outside `say`."""

import ast
import re
from functools import cache
from string import Formatter

import pandas as pd
import pytest

from analysis.finding import Finding, Rates, found
from analysis.logs.ledger import RULES
from analysis.logs.tables import LOGS
from analysis.say import in_words, say, speaking
from analysis.say.voice import sentences
from support import ROOT

HOUSE = ROOT / "analysis"
SAYS = {"say", "found", "Finding", "heads"}
SUBJECTS = sorted(path.stem for path in (HOUSE / "say").glob("*.toml"))
# Rooms in which English still stands; one that is done is taken out, and never put in again.
UNSAID: set[str] = set()
NOT_SAID = {"say", "simulate"}  # the sentences themselves, and seasons that no keeper reads
# Values of columns, compared and counted, and what keepers type, that look like prose.
VALUES = {"light for age", "small for age", "no gain twice running", "no gain over two days"}
VALUES |= {"hatch of fertile", "hatch of set", "not enough to judge", "dead in shell", "pipped and died"}
VALUES |= {"cold, heat or power", "attacked or injured", "crop or feeding", "weak or small", "disturbed or abandoned"}
VALUES |= {
    "nothing against it so far",
    "lost too fast",
    "species not written",
    "by whom is asked",
    "before the next feed",
}
VALUES |= {"did not grow", "left the nest", "criadora, caja de cria artificial, caja caliente"}
VALUES |= {"papilla, papillas, pasta de embuche, embuche, a mano"}
VALUES |= {"cell not used", "look at this", "read me first"}
VALUES |= {choice for log in LOGS.values() for column in log.columns for choice in column.choices}
PROGRAM = re.compile(r"\bimport \w+; ")
PROSE = re.compile(r"[a-z]{2,} [a-z]{2,} [a-z]{2,}")


@cache
def house():
    """Every module of the house and its tree, parsed once."""
    paths = sorted(HOUSE.rglob("*.py"))
    return [(path.relative_to(HOUSE), ast.parse(path.read_text(encoding="utf-8"))) for path in paths]


def trees(rooms=None):
    return [(path, tree) for path, tree in house() if rooms is None or path.parts[0].removesuffix(".py") in rooms]


def said(node):
    """Yield (code, names of the facts or None where they are not all written out) of a call."""
    name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    if name not in SAYS or not node.args:
        return
    for code in node.args if name == "heads" else node.args[:1]:
        for one in ast.walk(code):
            if isinstance(one, ast.Constant) and isinstance(one.value, str):
                given = None if any(word.arg is None for word in node.keywords) else {k.arg for k in node.keywords}
                yield f"heads.{one.value}" if name == "heads" else one.value, None if name == "Finding" else given


def named(sentence):
    return {name for _, name, _, _ in Formatter().parse(sentence) if name is not None}


def sentence(code):
    subject, _, what = code.partition(".")
    return sentences(subject).get(what) if subject in SUBJECTS else None


def test_every_code_has_its_sentence_and_every_fact_is_given():
    wrong = []
    for path, tree in trees():
        for node in ast.walk(tree):
            for code, given in said(node) if isinstance(node, ast.Call) else ():
                if not re.fullmatch(r"[a-z]+\.[a-z0-9-]*[a-z0-9]", code):  # else the beginning of several
                    continue
                if (asks := sentence(code)) is None:
                    wrong.append(f"{path}:{node.lineno}: {code} stands in no file")
                elif given is not None and named(asks) - given:
                    wrong.append(f"{path}:{node.lineno}: {code} is not given {named(asks) - given}")
    assert wrong == []


def test_no_sentence_names_a_fact_that_a_finding_has_itself():
    own = {"code", "about", "level"}
    named_so = [
        f"{subject}.{what}" for subject in SUBJECTS for what, text in sentences(subject).items() if named(text) & own
    ]
    assert named_so == []


def told(node):
    """Yield (rule, names of its facts or None where they are not all written out) of a call that tells a ledger."""
    if getattr(node.func, "attr", "") in {"say", "drop", "bad_cell", "refuse"} and node.args:
        given = {"seems"} if node.func.attr == "refuse" else set()
        given = None if any(word.arg is None for word in node.keywords) else given | {k.arg for k in node.keywords}
        for one in ast.walk(node.args[0]):
            if isinstance(one, ast.Constant) and one.value in RULES:
                yield one.value, given


def test_every_rule_has_its_words_and_every_fact_is_given():
    assert [code for code in RULES if not (sentence(f"problems.{code}") and sentence(f"problems.{code}-do"))] == []
    calls = [told(node) for _, tree in trees() for node in ast.walk(tree) if isinstance(node, ast.Call)]
    found_there = [one for call in calls for one in call]
    wrong = [
        (code, given)
        for code, given in found_there
        if given is not None and named(sentence(f"problems.{code}-do")) - given
    ]
    assert wrong == []
    assert len({code for code, _ in found_there}) > len(RULES) / 2


def test_every_sentence_is_said_somewhere():
    text = "\n".join(path.read_text(encoding="utf-8") for path in HOUSE.rglob("*") if path.suffix in {".py", ".toml"})
    literal = set(re.findall(r"[\"']([a-z0-9.-]+)[\"']", text))
    families = tuple(re.findall(r"f\"([a-z]+\.[a-z0-9-]*)\{", text))
    unused = []
    for subject in SUBJECTS:
        for what in sentences(subject):
            code = what if subject == "heads" else f"{subject}.{what}"
            if code not in literal and not (families and f"{subject}.{what}".startswith(families)):
                unused.append(f"{subject}.{what}")
    assert unused == []


def prose(tree):
    apart = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):  # what only whoever writes code reads, and patterns
        raises = isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and isinstance(node.exc.func, ast.Name)
        if raises and node.exc.func.id in {"ValueError", "TypeError", "KeyError", "AttributeError"}:
            apart |= {id(one) for one in ast.walk(node)}
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "re.compile":
            apart |= {id(one) for one in ast.walk(node)}
    for node in ast.walk(tree):
        text = node.value if isinstance(node, ast.Constant) and id(node) not in apart else None
        if isinstance(text, str) and text not in VALUES and PROSE.search(text) and not PROGRAM.search(text):
            yield node.lineno, text


def test_no_sentence_stands_outside():
    rooms = {path.parts[0].removesuffix(".py") for path, _ in trees()} - UNSAID - NOT_SAID
    found_there = [f"{path}:{line}: {text}" for path, tree in trees(rooms) for line, text in prose(tree)]
    assert found_there == []


@pytest.mark.parametrize(
    ("template", "facts", "written"),
    [
        ("{n:# egg|# eggs} of {who}", {"n": 1, "who": "P01"}, "1 egg of P01"),
        ("{n:# egg|# eggs} of {who}", {"n": 3, "who": ["P01", "P02", "P03"]}, "3 eggs of P01, P02 and P03"),
        ("{rate:%} ({range:%})", {"rate": 0.5649, "range": Rates(0.441, 0.686)}, "56 % (44–69)"),
        ("{mass:mass} g, {mass:.2f}", {"mass": 5.72}, "5.7 g, 5.72"),
        ("{day}; {day:short}; {day:full}; {day:%H:%M}", {"day": pd.Timestamp("2026-05-09 07:30")}, None),
        ("{rows:rows}", {"rows": [7, 8, 9, 12]}, "7–9, 12"),
        ("{names:most 2}; {names:; }", {"names": ["a", "b", "c"]}, "a, b and 1 more; a; b; c"),
        ("{n:?, # set aside|, none}", {"n": 0}, ", none"),
        ("{n:?, # set aside|, none}", {"n": 2}, ", 2 set aside"),
        (
            "{day:?on #|never}, {gone:?on #|never}",
            {"day": pd.Timestamp("2026-05-09"), "gone": pd.NaT},
            "on 9 May 2026, never",
        ),
        ("As written{note:?: #.}", {"note": "twice tgl."}, "As written: twice tgl."),
        ("As written{note:?: #.}", {"note": ["twice", "once"]}, "As written: twice and once."),
        ("{what:begun}.", {"what": found("words.nothing")}, "Nothing."),
        ("No: {why:within}", {"why": "Too few."}, "No: too few."),
        ("{gone}{never}{day}", {"gone": None, "never": float("nan"), "day": pd.NaT}, ""),
    ],
)
def test_facts_are_written_by_their_kind(monkeypatch, template, facts, written):
    from analysis.say import voice

    # what was read of a code is kept: each trial has a code of its own
    monkeypatch.setattr(voice, "sentences", lambda subject: {template: template, "nothing": "nothing"})
    expected = "9 May 2026; 9 May; Saturday 9 May 2026; 07:30" if written is None else written
    assert say(f"trial.{template}", **facts) == expected


def test_other_voices_say_the_same_things():
    nested = Finding("words.nothing")
    with speaking("brackets"):
        assert in_words(nested) == "⟦nothing⟧"
    with speaking("codes"):
        assert in_words(["K07", nested]) == "K07 ⟦words.nothing⟧"
    with pytest.raises(KeyError):
        say("words.never")
