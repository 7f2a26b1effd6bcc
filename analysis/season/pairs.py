"""Pairs, and their stays in cages."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

import pandas as pd

from analysis.finding import found
from analysis.logs import Ledger, Row
from analysis.logs.headings import NameBook, same
from analysis.names import name_key
from analysis.season.dates import Rows
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.vocabulary import is_parents

PAIRS = {
    "pair": "str",
    "kind": "str",
    "species": "str",
    "cock": "str",
    "hen": "str",
    "cage": "str",
    "put_up_on": "datetime64[us]",
    "parted_on": "datetime64[us]",
    "notes": "str",
}
GROUPS = {"trio": found("season.trio"), "colony": found("season.colony")}  # kinds of which no bird is told apart


@dataclass
class Aviary:
    """Pairs by name, with their stays in cages."""

    pairs: dict[str, dict[str, object]] = field(default_factory=dict)
    book: NameBook = field(default_factory=NameBook)
    stays: dict[str, list[tuple[pd.Timestamp, str]]] = field(default_factory=dict)

    def pair(self, name: str | None) -> str:
        """Return the pair that is meant, as first written; blank where none is."""
        return (self.book.find(name) or name or "") if name else ""

    def sitter(self, name: str | None, laid_by: str) -> str:
        """Return who or what sits: the pair that laid where nothing, or a word such as parents, is written."""
        known = self.book.find(name) or name or ""
        return laid_by if not known or (known not in self.pairs and is_parents(known)) else known

    def species(self, pair: str) -> str:
        """Return a pair's species; blank where it is not known."""
        return str(self.pairs.get(pair, {}).get("species") or "")

    def cage(self, pair: str, day: pd.Timestamp | None) -> str:
        """Return the cage a pair was in on a day; with no day, its last one."""
        stays = self.stays.get(pair, [])
        so_far = [cage for since, cage in stays if day is None or since <= day]
        return so_far[-1] if so_far else ""


def build_aviary(rows: Rows, ledger: Ledger) -> Aviary:
    """Collect the pairs from pairs, hatches and clutches, and their stays from moves."""
    aviary = Aviary()
    for row in rows["pairs"]:
        _add_pair(aviary, row)
    for row in sorted(rows["moves"], key=lambda r: r["on"]):
        pair = aviary.book.find(row["what"])
        if pair:
            aviary.stays.setdefault(pair, []).append((row["on"], row["to"]))
    for row in [*rows["hatches"], *rows["clutches"]]:
        if row["pair"] and row["pair"] not in aviary.book:
            name = aviary.book.add(row["pair"])
            aviary.pairs[name] = {"pair": name, "kind": "pair", "species": row["species"] or ""}
            if not row["species"]:
                ledger.say("species-unknown", row.place, "pair", row["pair"], pair=name)
    return aviary


def _add_pair(aviary: Aviary, row: Row) -> None:
    name = row["pair"]
    aviary.book.add(name)
    columns = ("species", "cock", "hen", "cage", "put_up_on", "parted_on", "notes")
    known = {column: row[column] for column in columns}
    aviary.pairs[name] = {"pair": name, "kind": row["kind"] or "pair", **known}
    if row["cage"]:
        aviary.stays[name] = [(row["put_up_on"] or pd.Timestamp.min, row["cage"])]


def pairs_frame(aviary: Aviary) -> pd.DataFrame:
    """Return one row a pair, by name; the cage is the one it was in last."""
    records = [{**pair, "cage": aviary.cage(name, None)} for name, pair in aviary.pairs.items()]
    return sorted_by_name(typed_frame(records, PAIRS), ["pair"])


def cages_frame(rows: Rows, aviary: Aviary, *more: pd.Series) -> pd.DataFrame:
    """Return every cage that is listed or named, by name: cage, room, notes."""
    listed = {row["cage"]: row for row in reversed(rows["cages"])}
    book = NameBook(listed)
    named = [cage for stays in aviary.stays.values() for _, cage in stays]
    for cage in [*named, *(c for series in more for c in series if c)]:
        book.add(cage)
    return pd.DataFrame(
        [
            {
                "cage": c,
                "room": (c in listed and listed[c]["room"]) or "",
                "notes": (c in listed and listed[c]["notes"]) or "",
            }
            for c in sorted(book, key=name_key)
        ],
        columns=["cage", "room", "notes"],
    )


Parents = Mapping[str, Collection[str]]  # bird: those of its parents that are written
_OTHER = {"father": "hen", "mother": "cock"}
_WORDS = {"cock": ("cock", "male", "m"), "hen": ("hen", "female", "f")}


def loops(parents: Parents) -> set[tuple[str, str]]:
    """The links by which a bird becomes its own ancestor.

    Parameters
    ----------
    parents : the parents of each bird by its name; a parent may have none written, and then need not be a key

    Returns
    -------
    set of (bird, parent)
        Every link on some loop, so that without them no bird is its own ancestor. Links that only lead to a loop or
        away from it are none of them.

    Examples
    --------
    >>> sorted(loops({"Ash": ["Oak", "Elm"], "Oak": ["Fir"], "Fir": ["Ash"], "Bay": ["Ash"]}))
    [('Ash', 'Oak'), ('Fir', 'Ash'), ('Oak', 'Fir')]
    """
    left = _without_founders(parents)
    reached = {bird: ancestors([bird], left) for bird in left}
    return {(bird, parent) for bird in left for parent in left[bird] if bird == parent or bird in reached[parent]}


def ancestors(birds: Collection[str], parents: Parents, *, without: str = "") -> set[str]:
    """All ancestors of some birds; not the birds themselves, unless one descends from another.

    Parameters
    ----------
    birds : names
    parents : the parents of each bird by its name; loops do no harm
    without : a bird past which nothing is followed, and which is left out

    Examples
    --------
    >>> sorted(ancestors(["Ash"], {"Ash": ["Oak", "Elm"], "Oak": ["Fir"]}))
    ['Elm', 'Fir', 'Oak']
    """
    met: set[str] = set()
    waiting = [bird for bird in birds if bird != without]
    while waiting:
        new = [one for one in parents.get(waiting.pop(), ()) if one not in met and one != without]
        met.update(new)
        waiting += new
    return met


def _without_founders(parents: Parents) -> dict[str, set[str]]:
    """What is left once birds without parents are taken away, over and over: nothing, where there is no loop."""
    left = {bird: set(known) for bird, known in parents.items()}
    young: dict[str, list[str]] = {}
    for bird, known in left.items():
        for parent in known:
            young.setdefault(parent, []).append(bird)
    waiting = [parent for parent in young if not left.get(parent)]
    waiting += [bird for bird, known in left.items() if not known and bird not in young]
    while waiting:
        founder = waiting.pop()
        left.pop(founder, None)
        for bird in young.get(founder, []):
            left[bird].discard(founder)
            if not left[bird]:
                waiting.append(bird)
    return left


def question_parents(rows: Rows, ledger: Ledger) -> None:
    """Note parents in the birds log that cannot be right."""
    book = NameBook(row["bird"] for row in rows["birds"])
    for row in rows["birds"]:
        if row["ring"]:
            book.add(row["ring"], leads_to=row["bird"])
    named = {row["bird"]: _parents(row, book) for row in rows["birds"]}
    _impossible(rows, named, ledger)
    _own_ancestors(rows, named, ledger)


def _parents(row: Row, book: NameBook) -> dict[str, str]:
    """The parents of a bird, as they are first written."""
    return {parent: book.find(row[parent]) or row[parent] for parent in _OTHER if row[parent]}


def _impossible(rows: Rows, named: Mapping[str, Mapping[str, str]], ledger: Ledger) -> None:
    known = {sex: set(_written_as(sex, rows, named)) for sex in _WORDS}
    for row in rows["birds"]:
        mine = named[row["bird"]]
        for parent, bird in mine.items():
            other = _OTHER[parent]
            if same(bird) == same(row["bird"]):
                ledger.say("impossible-parents", row.place, parent, row[parent], why=found("problems.own-parent"))
            elif parent == "mother" and same(bird) == same(mine.get("father", "")):
                why = found("problems.father-is-mother")
                ledger.say("impossible-parents", row.place, parent, row[parent], why=why)
            elif same(bird) in known[other] and same(mine.get("father", "")) != same(mine.get("mother", "")):
                why = found(f"problems.{parent}-and-{other}", bird=bird)
                ledger.say("impossible-parents", row.place, parent, row[parent], why=why)


def _written_as(sex: str, rows: Rows, named: Mapping[str, Mapping[str, str]]) -> Iterator[str]:
    """The birds that are written as a cock, or as a hen: by sex, in a pair, or as a parent."""
    for row in rows["birds"]:
        if row["sex"] and same(row["sex"]).replace(",", " ").split(" ")[0] in _WORDS[sex]:
            yield same(row["bird"])
    yield from (same(row[sex]) for row in rows["pairs"] if row[sex])
    role = {"cock": "father", "hen": "mother"}[sex]
    for mine in named.values():
        if role in mine and same(mine.get("father", "")) != same(mine.get("mother", "")):
            yield same(mine[role])


def _own_ancestors(rows: Rows, named: Mapping[str, Mapping[str, str]], ledger: Ledger) -> None:
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
