"""What is written of parents: who is younger than its young, cannot be a parent, or descends from itself."""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from analysis.finding import found
from analysis.logs import Ledger
from analysis.logs.headings import NameBook, same
from analysis.season.days import Rows
from analysis.season.pairs import Aviary, Parents, loops
from analysis.season.vocabulary import sex_of

_OTHER = {"father": "hen", "mother": "cock"}
_ROLES = {"cock": "father", "hen": "mother"}
_Parents = Mapping[str, Mapping[str, str]]  # bird: its father and mother, where they are written
_Frames = Mapping[str, pd.DataFrame]


def check_parents(rows: Rows, aviary: Aviary, frames: _Frames, ledger: Ledger) -> None:
    """Note parents that cannot be right, or are younger than their young, whichever logs say so."""
    _too_young(rows, aviary, frames, ledger)
    book = NameBook(row["bird"] for row in rows["birds"])
    for row in rows["birds"]:
        if row["ring"]:
            book.add(row["ring"], leads_to=row["bird"])
    named = {
        row["bird"]: {parent: book.find(row[parent]) or row[parent] for parent in _OTHER if row[parent]}
        for row in rows["birds"]
    }
    _impossible(rows, named, ledger)
    _own_ancestors(rows, named, ledger)


def _too_young(rows: Rows, aviary: Aviary, frames: _Frames, ledger: Ledger) -> None:
    """Hold each parent's day of hatch against its young: of the birds log, and of the pair's own eggs and chicks."""
    hatched = _hatch_days(rows, frames["chicks"])
    first = _first_young(frames)
    young = [(row, parent, row["bird"], hatched.get(same(row["bird"]))) for row in rows["birds"] for parent in _OTHER]
    young += [(row, sex, *first.get(aviary.pair(row["pair"]), ("", None))) for row in rows["pairs"] for sex in _ROLES]
    for row, column, name, day in young:
        born = hatched.get(same(row[column] or ""))
        if born is not None and day is not None and born >= day:
            facts = {"parent": row[column], "young": name, "born": born, "day": day}
            ledger.say("parent-too-young", row.place, column, row[column], **facts)


def _hatch_days(rows: Rows, chicks: pd.DataFrame) -> dict[str, pd.Timestamp]:
    """The day on which each bird and chick hatched, by its name or ring; the birds log goes first."""
    days: dict[str, pd.Timestamp] = {}
    written = [(row[name], row["hatched_on"]) for name in ("bird", "ring") for row in rows["birds"]]
    written += [pair for name in ("chick", "ring") for pair in zip(chicks[name], chicks["hatched_at"], strict=True)]
    for name, day in written:
        if name and not pd.isna(day):
            days.setdefault(same(name), day.normalize())
    return days


def _first_young(frames: _Frames) -> dict[str, tuple[str, Any]]:
    """The first egg or chick that each pair laid here, and its day."""
    own = frames["chicks"][frames["chicks"]["arrived_on"].isna()]
    parts = [
        own.assign(name=own["chick"], day=own["hatched_at"]),
        frames["eggs"].assign(
            name=frames["eggs"]["pair"] + "/" + frames["eggs"]["clutch"] + "/" + frames["eggs"]["egg"]
        ),
        frames["clutches"].assign(name=frames["clutches"]["pair"] + "/" + frames["clutches"]["clutch"]),
    ]
    parts[1]["day"], parts[2]["day"] = parts[1]["laid_on"], parts[2]["first_egg_on"]
    every = pd.concat([part[["pair", "name", "day"]] for part in parts]).dropna()
    every = every.sort_values("day", kind="stable").drop_duplicates("pair")
    return {row.pair: (row.name, row.day.normalize()) for row in every[["pair", "name", "day"]].itertuples(index=False)}


def _impossible(rows: Rows, named: _Parents, ledger: Ledger) -> None:
    known = {sex: set(_written_as(sex, rows, named)) for sex in _ROLES}
    for row in rows["birds"]:
        mine = named[row["bird"]]
        for parent, bird in mine.items():
            other = _OTHER[parent]
            if same(bird) == same(row["bird"]):
                why = found("problems.own-parent")
            elif parent == "mother" and same(bird) == same(mine.get("father", "")):
                why = found("problems.father-is-mother")
            elif same(bird) in known[other] and same(mine.get("father", "")) != same(mine.get("mother", "")):
                why = found(f"problems.{parent}-and-{other}", bird=bird)
            else:
                continue
            ledger.say("impossible-parents", row.place, parent, row[parent], why=why)


def _written_as(sex: str, rows: Rows, named: _Parents) -> Iterator[str]:
    """The birds that are written as a cock, or as a hen: by sex, in a pair, or as a parent."""
    role = _ROLES[sex]
    for row in rows["birds"]:
        if row["sex"] and sex_of(row["sex"]) == sex:
            yield same(row["bird"])
    yield from (same(row[sex]) for row in rows["pairs"] if row[sex])
    for mine in named.values():
        if role in mine and same(mine.get("father", "")) != same(mine.get("mother", "")):
            yield same(mine[role])


def _own_ancestors(rows: Rows, named: _Parents, ledger: Ledger) -> None:
    """Say each loop once, where its first bird is written; a bird that is its own parent is said already."""
    links = {same(bird): {same(one): role for role, one in mine.items()} for bird, mine in named.items()}
    on_loop: dict[str, list[str]] = {}
    for bird, parent in sorted(loops(links)):
        if bird != parent:
            on_loop.setdefault(bird, []).append(parent)
    written = {same(bird): bird for bird in named}
    told: set[str] = set()
    for row in rows["birds"]:
        first = same(row["bird"])
        if first in on_loop and first not in told:
            chain = _chain(first, on_loop)
            told.update(chain)
            steps = [
                found(f"problems.{links[bird][parent]}-of", bird=written[bird], parent=written[parent])
                for bird, parent in zip(chain, [*chain[1:], first], strict=True)
            ]
            role = links[first][chain[1]]
            ledger.say("own-ancestor", row.place, role, row[role], chain=steps)


def _chain(first: str, parents: Parents) -> list[str]:
    """The shortest way from a bird on a loop back to itself."""
    ways = [[first]]
    seen = {first}
    for way in ways:  # grows while it is read: the shortest come first
        for parent in parents[way[-1]]:
            if parent == first:
                return way
            if parent not in seen:
                seen.add(parent)
                ways.append([*way, parent])
    raise ValueError(f"{first} is on no loop")
