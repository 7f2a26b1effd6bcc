"""What was seen of a chick, bird or pair: what it asks for now, how soon, and what of it is only good news."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.finding import ACT, LOOK, NOTE, Finding, Level, Words, found
from analysis.logs import GOOD_SIGNS
from analysis.logs.headings import choice_meant, same, words_for, words_of
from analysis.logs.tables import SIGNS
from analysis.season.model import Season
from analysis.season.species import species_facts, written_for

SILENT_D = 14  # practice: who is reared by hand is weighed every morning; after two weeks without a word it is asked
WEAN_PAST_D = 14  # practice: so long past its species' days a chick may still be fed
UNKNOWN_D = 120  # practice: weaned by then, where nobody gives a species' days; large macaws and cockatoos are later
_DAY = pd.Timedelta(days=1)
_WORDS = (
    *(("weights", "chick", "weighed_at"), ("signs", "who", "seen_at")),
    *(("feeds", "who", "fed_at"), ("moves", "what", "on")),
)


def unheard(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks that are written as being reared, and may not be here any more on a day.

    Nothing was written of them for two weeks, and they are reared by hand and were written of before, or are two weeks
    past the days at which their species feeds itself. A chick that was never weighed is no such chick before that.

    Parameters
    ----------
    season : opened up to the end of that day
    on : the day, at midnight; ages are counted to it

    Returns
    -------
    frame, a row a chick: chick, by_hand, heard_on (the last day on which it was weighed, seen, fed or moved; NaT: none)

    Source: practice, see the numbers above; days of weaning as `species_facts` has them, the keeper's own first.

    Examples
    --------
    >>> from analysis import open_season
    >>> demo = open_season("data_demo/season_2026", up_to="2026-11-30")
    >>> unheard(demo, demo.as_of)["chick"].tolist()
    ['K48']
    """
    chicks = season.chicks[season.chicks["fate"] == "being reared"]
    here_d = (on - chicks["hatched_at"].fillna(chicks["arrived_on"]).dt.normalize()).dt.days
    weaned_d = {species: weaned_by_d(season, species) for species in chicks["species"].unique()}
    by_d = chicks["species"].map(weaned_d).astype(float).where(chicks["hatched_at"].notna()).fillna(UNKNOWN_D)
    grown = here_d > by_d + WEAN_PAST_D
    heard_on = pd.to_datetime(chicks["chick"].map(_heard_on(season, on)))
    silent = ~(heard_on > on - SILENT_D * _DAY)
    asked = silent & (grown | (chicks["by_hand"] & heard_on.notna()))
    return chicks[["chick", "by_hand"]].assign(heard_on=heard_on)[asked].reset_index(drop=True)


def chick_called(season: Season) -> dict[str, str]:
    """Return the chick that each name or ring leads to, by the name as `same` has it."""
    rings = zip(season.chicks["ring"], season.chicks["chick"], strict=True)
    return {same(ring): chick for ring, chick in rings if ring} | {
        same(chick): chick for chick in season.chicks["chick"]
    }


def weaned_by_d(season: Season, species: str) -> float | None:
    """The age in days by which a species feeds itself: the keeper's own, else what was read; None where nobody says."""
    own = [written_for(season.logs["species"], species, f"wean_{end}_d") for end in ("to", "from")]
    facts = species_facts(species)
    read = facts.days("wean") if facts else None
    return next((day for day in (*own, read.high if read else None) if day is not None), None)


def _heard_on(season: Season, on: pd.Timestamp) -> dict[str, pd.Timestamp]:
    """The last day, up to this one, on which each chick was weighed, seen, fed or moved."""
    called = chick_called(season)
    logs = {"weights": season.weights, **season.logs}
    parts = [
        pd.DataFrame({"who": logs[log][who], "day": pd.to_datetime(logs[log][when]).dt.normalize()})
        for log, who, when in _WORDS
    ]
    heard = pd.concat(parts).dropna()
    last = heard[heard["day"] <= on].groupby("who")["day"].max()  # of each name first: there are few
    on_last: dict[str, pd.Timestamp] = last.groupby(last.index.map(same).map(called)).max().to_dict()
    return on_last


# What was seen stays open for so many days, until somebody writes that it is over (practice).
OPEN_D = 3
WELL = "well again"  # ends what was seen before
SOON = ("at once", "before the next feed", "today", "look again", "note")  # the most pressing first
LOOKS = ("look again", "note")  # how soon of what is looked at, and calls nobody yet
_SOON = {
    "at once": found("season.at-once"),
    "before the next feed": found("season.before-the-next-feed"),
    "today": found("season.today"),
}
_MARKS = {"read": None, "practice": found("season.practice"), "memory": found("season.from-memory")}
_PARTS = re.compile(r"\s*[,;+/&]\s*|\s+(?:and|und|y|et|en)\s+")
_NOT = {
    "not",
    "no",
    "never",
    "without",
    "nicht",
    "kein",
    "keine",
    "ohne",
    "pas",
    "sans",
    "sin",
    "niet",
    "geen",
    "zonder",
}
_ODD = "unknown"  # what any other word asks for
_COLD_AND_HOT = found("season.cold-and-hot")


@dataclass(frozen=True)
class Sign:
    """What a sign asks for; see the head of signs.toml for what each word means."""

    name: str
    of: str
    soon: str
    feeds: str
    heat: str
    source: str
    mark: str
    place: int
    code: str
    warmth: bool = False
    alone: bool = False

    @property
    def rank(self) -> int:
        """How pressing it is: 0 is at once."""
        return SOON.index(self.soon)

    @property
    def now(self) -> Finding:
        """What to do now."""
        return found(f"signs.{self.code}")

    def asks(self, *, warm: bool, alone: bool) -> Finding:
        """What to do, how soon, and what never; what is said of warmth and of one sign alone only where it may be."""
        code = "season.do" if self.soon in LOOKS else "season.do-soon"
        parts: list[Words] = [found(code, soon=_SOON.get(self.soon), do=self.now, mark=_MARKS[self.mark])]
        parts += [found(f"signs.{self.code}-warmth")] if self.warmth and warm else []
        parts += [found(f"signs.{self.code}-alone")] if self.alone and alone else []
        return found("season.sign-asks", parts=[*parts, found("season.never", never=found(f"signs.{self.code}-never"))])


def sign_said(sign: str) -> Words:
    """Say what was seen, of a name of a sign; another word as it was written.

    Examples
    --------
    >>> sign_said("red skin").code, sign_said("looks odd")
    ('signs.red-skin', 'looks odd')
    """
    return found(f"signs.{_coded(sign)}") if sign in SIGNS or sign in _table().keys() - {_ODD} else sign


def signs_seen(season: Season) -> pd.DataFrame:
    """Return what was seen, a row a sign: a cell that names several has several rows.

    Returns
    -------
    frame
        who (as written), day, seen_at, sign (its name; another word as it was written), good (asks for nothing), over
        (it was written to be well again since), notes
    """
    signs = season.logs["signs"]
    named = [signs_named(str(sign)) for sign in signs["sign"]]
    seen_at = pd.to_datetime(signs["seen_at"])
    frame = pd.DataFrame({"who": signs["who"], "day": seen_at.dt.normalize(), "seen_at": seen_at})
    frame = frame.assign(sign=pd.Series(named, index=signs.index, dtype=object))
    frame = frame.assign(notes=signs["notes"].astype(object).fillna(""))
    frame = frame.explode("sign").dropna(subset="sign").sort_values("seen_at", kind="stable", ignore_index=True)
    frame = frame.assign(good=frame["sign"].isin(GOOD_SIGNS))
    well = frame[frame["sign"] == WELL]
    last = dict(zip(well["who"].map(same), well["seen_at"], strict=True)) if len(well) else {}
    until = [last.get(same(name), pd.NaT) for name in frame["who"]]
    over = [not pd.isna(end) and at <= end for at, end in zip(frame["seen_at"], until, strict=True)]
    return frame.assign(over=pd.Series(over, index=frame.index, dtype=bool))


def signs_named(text: str) -> list[str]:
    """Return the signs that a cell names: the whole of it, or each of its parts.

    Examples
    --------
    >>> signs_named("panting, red"), signs_named("crop slow"), signs_named("odd")
    (['panting', 'red skin'], ['crop not emptying'], ['odd'])
    """
    whole = _named(text)
    if whole:
        return [whole]
    parts = [part for part in _PARTS.split(text.strip()) if part]
    return list(dict.fromkeys(found for part in parts for found in _within(part) or [part]))


def _named(text: str) -> str | None:
    return _also().get(same(text)) or (same(text) if same(text) in SIGNS else choice_meant(text, SIGNS))


def _within(text: str) -> list[str]:
    """The signs whose words stand in a text, unless a word for not stands before them."""
    if _named(text):
        return [str(_named(text))]
    words = words_of(text)
    runs_of = []
    for phrase, name in _phrases().items():
        runs = [at for at in range(len(words)) if words[at : at + len(phrase)] == phrase]
        if any(not set(words[max(at - 2, 0) : at]) & _NOT for at in runs):
            runs_of.append((runs[0], -len(phrase), name))
    return list(dict.fromkeys(name for _, _, name in sorted(runs_of)))


def signs_of(words: Iterable[str], of: str) -> list[Sign]:
    """Return what a few signs ask for, the most pressing first.

    Parameters
    ----------
    words : as they are written in signs, several in one cell too
    of : "chick" or "bird" (a pair is its birds)

    Returns
    -------
    list of Sign, each once; a word that nobody knows stands as it was written, for the stricter reading

    Examples
    --------
    >>> [one.name for one in signs_of(["droppings", "panting, red"], "chick")]
    ['panting', 'red skin', 'droppings']
    >>> signs_of(["dull"], "chick")[0].soon
    'today'
    """
    named = dict.fromkeys(part for word in words for part in signs_named(word))
    signs = [_sign(name, of) for name in named if name not in GOOD_SIGNS]
    return sorted(signs, key=lambda sign: (sign.rank, sign.place))


def asked_by(signs: list[Sign]) -> list[Finding]:
    """Return what these signs ask for; what they say of warmth only where none is of heat or breathing.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> said = in_words(asked_by(signs_of(["panting", "egg binding"], "bird")))
    >>> "moist air" in said, "warm" in said, "Mist" in said
    (True, False, False)
    """
    heats = {sign.heat for sign in signs}
    told = [sign for sign in signs if not (sign.heat in ("cold", "cool") and {"cold", "cool"} <= heats)]
    warm, alone = not heats & {"cool", "cold", "neither"}, len(signs) == 1
    both = [] if told == signs else [_COLD_AND_HOT]
    return list(dict.fromkeys([*both, *(sign.asks(warm=warm or alone, alone=alone) for sign in told)]))


def _sign(name: str, of: str) -> Sign:
    """A sign of a chick or a bird: what is written of a bird alone serves a chick too, never the other way round."""
    table = _table()
    rows = table.get(name, {})
    whose = next((one for one in (of, "bird") if one in rows and (one == of or of == "chick")), "")
    row, code = (rows[whose], f"{_coded(name)}-{whose}") if whose else (table[_ODD]["any"], f"{_ODD}-any")
    rest = {key: row[key] for key in row if key != "also"}
    return Sign(name=name, of=of, place=_places()[id(row)], code=code, **rest)


def _coded(sign: str) -> str:
    return sign.replace(" ", "-")


@cache
def _also() -> dict[str, str]:
    """The other words that a sign goes by, and its name."""
    rows = ((name, row) for name, kinds in _table().items() for row in kinds.values())
    return {same(word): name for name, row in rows for word in row.get("also", ())}


@cache
def _phrases() -> dict[tuple[str, ...], str]:
    """The words of every sign, in all languages of the headings, and its name; the longest first."""
    words = [(word, name) for word, name in _also().items()] + [(sign, sign) for sign in (*_table(), *SIGNS)]
    words += [(word, name) for name in SIGNS for word in words_for(name)]
    named = {words_of(word): name for word, name in words if name not in (_ODD, *GOOD_SIGNS)}
    return dict(sorted(named.items(), key=lambda item: -len(item[0])))


@cache
def _places() -> dict[int, int]:
    rows = [row for kinds in _table().values() for row in kinds.values()]
    return {id(row): place for place, row in enumerate(rows)}


@cache
def _table() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(Path(__file__).with_name("signs.toml").read_text(encoding="utf-8"))


AT_ONCE, NEXT_FEED, TODAY, LOOK_AGAIN, _ = SOON
_LEVELS: dict[str, Level] = {LOOK_AGAIN: LOOK, "note": NOTE}  # all others are to be acted upon


def read_first(soon: str, said: Finding, *, of: Words = "") -> Finding:
    """Write down how soon something asks for somebody.

    Parameters
    ----------
    soon : a word of `SOON`
    said : what was found, about whom
    of : age and kind, or where: what stands beside the name

    Returns
    -------
    Finding, with its level and the facts soon and of

    Examples
    --------
    >>> read_first("today", found("day.whoever"), of="cockatiel").facts
    {'soon': 'today', 'of': 'cockatiel'}
    """
    return replace(said, level=_LEVELS.get(soon, ACT), facts={**said.facts, "soon": soon, "of": of})


def rank(read: Finding) -> int:
    """Return how pressing what is read first is: its place in `SOON`, 0 is at once."""
    return SOON.index(read.facts["soon"])


def of_chicks(names: list[str]) -> Words:
    """Whom a finding on some chicks is about: the one, or all of them.

    Examples
    --------
    >>> of_chicks(["K1"]), of_chicks(["K1", "K2"]).code
    ('K1', 'day.chicks')
    """
    return names[0] if len(names) == 1 else found("day.chicks", names=names)
