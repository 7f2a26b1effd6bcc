"""Every text is said through `say`, and nothing reads a sentence: seasons said in other voices.

With every sentence replaced by its code, what is decided must be the same: who decides on a sentence decides otherwise
here, or fails. With every sentence in brackets, what stands outside of them was not said.
"""

import re
from contextlib import contextmanager
from unittest.mock import patch

import pytest
import texts

from analysis.logs.settings import SETTINGS
from analysis.say import speaking
from analysis.say.voice import sentences
from analysis.words import day_in_full

SEASONS = ("only_hatches",)  # the others: prove_said.py
DECIDED = {
    "review": ["pair", "fit_to_breed", "advice", "reason_codes", "hatched_per_clutch", "weaned_per_clutch"],
    "places": ["place", "stage", "code"],
    "problems": ["file", "sheet", "row", "column", "code", "severity", "about"],
    "flags": ["chick", "age_d", "flag", "size", "level"],
    "due": ["what", "who", "where", "since_on", "until_on", "code", "source_code", "sourced"],
}
MACHINE = re.compile(r"[a-z0-9_.,-]+|.*\bdatum\b.*|> .*|#.*")  # names in a chart's specification, cells of a chapter
PREFIX = re.compile(r"^(items|paragraphs|heads|note|caption|title|text|line|season|as_of|aviary): ")
WORD = re.compile(r"[^\W\d_]{3,}")
DAYS = {word for month in range(1, 13) for word in WORD.findall(day_in_full(texts.CLOCK.replace(month=month, day=1)))}
DAYS |= {word for day in range(1, 8) for word in WORD.findall(day_in_full(texts.CLOCK.replace(day=day)))}
# Names of logs, columns and settings, which no language changes; and what files are called.
NAMES = {word for subject in ("columns", "settings") for code in sentences(subject) for word in WORD.findall(code)}
NAMES |= {word for one in SETTINGS.values() for choice in one.choices for word in WORD.findall(choice)}
NAMES |= {"csv", "fira", "sans", "and", "more"}  # the last two in lists, as `words` writes them in any language
# What the library of the command line says by itself.
CLICK = {
    "usage",
    "options",
    "option",
    "commands",
    "command",
    "args",
    "help",
    "version",
    "show",
    "this",
    "message",
    "and",
}
CLICK |= {"exit", "the"}


@contextmanager
def voice(name):
    """Say everything in a voice, with nothing kept from another."""
    kept = (texts.opened, texts.judged)
    for one in kept:
        one.cache_clear()
    with texts.at_the_clock(), speaking(name):
        yield
    for one in kept:
        one.cache_clear()


def decided(season):
    """What is decided of a season on its last day that is held, without a word of how it is said."""
    today, judged = texts.opened(season, texts.SEASONS[season][-1]), texts.judged(season)
    frames = {"review": judged.review, "places": judged.places, "problems": today.season.problems}
    frames |= {"flags": today.growth.flags, "due": today.due}
    found = {name: repr(frames[name][columns].to_dict("records")) for name, columns in DECIDED.items()}
    return found | {"read first": [(str(one.about), one.code, one.level, one.facts["soon"]) for one in today.reads]}


def decided_otherwise(season):
    """What is decided otherwise where everything is said as its code, and which texts are without one."""
    with texts.at_the_clock():
        plain = decided(season)
    with voice("codes"):
        coded = decided(season)
        said = {name: part(season) for name, part in texts.PARTS.items()}
    found = [f"{name}: {plain[name]} is now {coded[name]}" for name in plain if coded[name] != plain[name]]
    return found + [f"{name}: nothing is said in it" for name, text in said.items() if "⟦" not in text]


@pytest.mark.parametrize("season", SEASONS)
def test_nothing_is_decided_by_a_sentence(season):
    left = decided_otherwise(season)
    assert not left, "\n".join(left)


def unsaid(text, own):
    """Words outside of brackets that no keeper wrote, each with its line."""
    depth, outside = 0, []
    for letter in text:
        depth += letter == "⟦"
        outside += [letter] if not depth else []
        depth -= letter == "⟧"
    lines = dict.fromkeys(PREFIX.sub("", line).strip() for line in "".join(outside).split("\n"))
    left = {
        line: [word for word in WORD.findall(line) if word.lower() not in own and word not in DAYS] for line in lines
    }
    return {line: words for line, words in left.items() if words and not MACHINE.fullmatch(line)}


def words_of_files(folders):
    """Words that a keeper wrote: in the logs, and in the names of files."""
    files = [path for folder in folders for path in folder.rglob("*.*")]
    text = [path.read_text("utf-8", "replace") for path in files if path.suffix == ".csv"]
    return {word.lower() for word in WORD.findall(" ".join([*(str(path.name) for path in files), *text]))}


def unsaid_of(season):
    """What stands in the texts of a season and was not said."""
    folder = texts.folder_of(season)
    own = NAMES | set(WORD.findall(season)) | words_of_files([folder, *folder.parent.glob("season_*")])
    more = ("csv", "name", "kind", "paper", "language", "version", "last_day")
    with voice("brackets"), patch("texts.check_json", lambda _: ""), patch("texts.NOT_READ", (*texts.NOT_READ, *more)):
        said = {name: part(season) for name, part in texts.PARTS.items() if name != "frames"}
    return [f"{name}: {line}: {words}" for name, text in said.items() for line, words in unsaid(text, own).items()]


def unsaid_of_command():
    """What the command line says and was not said."""
    with voice("brackets"):
        return [f"{line}: {words}" for line, words in unsaid(texts.of_command.__wrapped__(), NAMES | CLICK).items()]


@pytest.mark.parametrize("season", SEASONS)
def test_every_word_is_said(season):
    left = unsaid_of(season)
    assert not left, "\n".join(left)
