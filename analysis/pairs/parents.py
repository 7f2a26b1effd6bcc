"""Who is whose parent, from the birds logs of all joined seasons and from the chicks that became breeding birds."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import pandas as pd

from analysis.logs.headings import NameBook, same
from analysis.needed import typed_frame
from analysis.season import Season, seasons_by_name

_COLUMNS = dict.fromkeys(("bird", "father", "mother", "ring", "hatched_as"), "str")
_PARENTS = ("father", "mother")


def known_parents(season: Season) -> pd.DataFrame:
    """Gather who is whose parent.

    Where the birds logs of the joined seasons differ the later holds. What they leave blank is taken from a chick of an
    earlier season that became a breeding bird: the cock and hen of the pair that laid it, whoever reared it, where both
    are written and it is no trio or colony. A chick is known by its ring, or by its name where no other chick of the
    joined seasons has it, no season up to its own has a pair with that bird, and no other day of hatch is written.

    Returns a row a bird of the birds logs, of the pairs, or named as a parent: bird, father, mother, ring (as its birds
    log has it), hatched_as (the chick it was, as "K05 (2025)", where a parent comes from there), blank where not known.
    """
    seasons = seasons_by_name(season)
    birds = _birds(seasons)
    laid = list(_laid(seasons))
    by_ring, by_name = (_by(what, laid, seasons) for what in ("ring", "chick"))
    book = book_of(birds.values())
    for key, bird in birds.items():
        for parent in _PARENTS:
            bird[parent] = book.find(bird[parent] or None) or ""
        chick, namesake = by_ring.get(same(bird["ring"])) or by_ring.get(key), by_name.get(key)
        if namesake and namesake["at"] < bird["first_season"] and not _other_day(namesake, bird["hatched_on"]):
            chick = chick or namesake
        if chick:
            _fill(bird, chick, book)
    return typed_frame([bird for bird in birds.values() if book.find(bird["bird"]) == bird["bird"]], _COLUMNS)


def book_of(birds: Iterable[Mapping[str, Any]]) -> NameBook:
    """The names that birds go by; a ring leads to its bird, also where a pair is written with it."""
    book, every = NameBook(), list(birds)
    names = {same(bird["bird"]) for bird in every if bird["ring"]}
    for bird in every:
        if bird["ring"] and same(bird["ring"]) not in names:
            book.add(bird["ring"], leads_to=bird["bird"])
    for bird in every:
        book.add(bird["bird"])
    return book


def _birds(seasons: dict[str, Season]) -> dict[str, dict[str, Any]]:
    """Every bird that is written anywhere by its name without case, the latest season's words first."""
    found: dict[str, dict[str, Any]] = {}

    def bird(name: str) -> dict[str, Any]:
        blank = dict.fromkeys((*_PARENTS, "ring"), "") | {"hatched_on": pd.NaT, "first_season": len(seasons)}
        return found.setdefault(same(name), {"bird": name} | blank)

    for one in seasons.values():
        for row in one.logs["birds"].to_dict("records"):
            _add(bird(row["bird"]), row)
    for at, one in enumerate(reversed(seasons.values())):
        for name in [*one.pairs["cock"], *one.pairs["hen"]]:
            if name:
                bird(name)["first_season"] = min(bird(name)["first_season"], at)
    for known in list(found.values()):
        for parent in _PARENTS:
            if known[parent]:
                bird(known[parent])
    return found


def _add(bird: dict[str, Any], row: dict[str, Any]) -> None:
    """What one row of a birds log adds; father and mother of one bird are no parents that could be."""
    written = {name: "" if pd.isna(row[name]) else str(row[name]) for name in (*_PARENTS, "ring")}
    if same(written["father"]) == same(written["mother"]):
        written["father"] = written["mother"] = ""
    bird.update({name: bird[name] or value for name, value in written.items()})
    if pd.isna(bird["hatched_on"]):
        bird["hatched_on"] = row["hatched_on"]


def _fill(bird: dict[str, Any], chick: dict[str, Any], book: NameBook) -> None:
    """Give a bird the cock and hen that laid it, unless its log names another parent."""
    laid_by = {parent: book.find(chick[parent]) or chick[parent] for parent in _PARENTS}
    if all(bird[parent] in ("", laid_by[parent]) for parent in _PARENTS):
        blank = [parent for parent in _PARENTS if not bird[parent]]
        bird.update({parent: laid_by[parent] for parent in blank})
        bird["hatched_as"] = f"{chick['chick']} ({chick['season']})" if blank else ""


def _by(what: str, chicks: list[dict[str, Any]], seasons: dict[str, Season]) -> dict[str, dict[str, Any]]:
    """Chicks by a ring or name that no other chick of all seasons has."""
    every = Counter(same(name) for one in seasons.values() for name in one.chicks[what] if name)
    return {same(one[what]): one for one in chicks if every[same(one[what])] == 1}


def _laid(seasons: dict[str, Season]) -> Iterator[dict[str, Any]]:
    """The chicks of earlier seasons with a cock and a hen: those of the pair that laid, whoever reared."""
    for at, (name, one) in enumerate(list(reversed(seasons.items()))[:-1]):
        pairs = {pair["pair"]: pair for pair in one.pairs.to_dict("records")}
        for chick in one.chicks.to_dict("records"):
            pair = pairs.get(chick["pair"], {})
            if pair.get("kind") == "pair" and pair["cock"] and pair["hen"]:
                yield chick | {"father": pair["cock"], "mother": pair["hen"], "season": name, "at": at}


def _other_day(chick: dict[str, Any], hatched_on: Any) -> bool:
    """Whether a bird hatched on another day than a chick, as sure as the keeper is; a blank day never differs."""
    if pd.isna(chick["hatched_at"]) or pd.isna(hatched_on):
        return False
    sure_to_days = 1 if pd.isna(chick["sure_to_days"]) else max(chick["sure_to_days"], 1)
    return bool(abs((chick["hatched_at"].normalize() - hatched_on.normalize()).days) > sure_to_days)
