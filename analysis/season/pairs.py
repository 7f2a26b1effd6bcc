"""Pairs, their stays in cages and their clutches: which egg is of which, and those that were only counted."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from itertools import count
from typing import Any

import pandas as pd

from analysis.finding import found
from analysis.logs import Ledger, Place, Row
from analysis.logs.headings import NameBook, same
from analysis.names import name_key, sorted_by_name
from analysis.needed import typed_frame
from analysis.season.days import Rows
from analysis.season.vocabulary import is_parents, names_nobody

PAIRS = {
    **dict.fromkeys(("pair", "kind", "species", "cock", "hen", "cage"), "str"),
    **{"put_up_on": "datetime64[us]", "parted_on": "datetime64[us]", "notes": "str"},
}
CLUTCHES = {
    **dict.fromkeys(("pair", "clutch", "cage", "species", "incubated_by"), "str"),
    "first_egg_on": "datetime64[us]",
    **dict.fromkeys(("eggs", "clear", "died_in_egg", "broken_or_gone", "hatched", "weaned"), "Int64"),
}
_LONGEST_LAYING_D = 15  # practice: from the first egg to the last, and a slow hatch
_AGAIN_D = 7  # practice: a repeated row has its first one's day
GROUPS = {"trio": found("season.trio"), "colony": found("season.colony")}  # kinds of which no bird is told apart

Parents = Mapping[str, Collection[str]]  # bird: those of its parents that are written


@dataclass
class Aviary:
    """Pairs by name, with their stays in cages."""

    pairs: dict[str, dict[str, object]] = field(default_factory=dict)
    book: NameBook = field(default_factory=NameBook)
    stays: dict[str, list[tuple[pd.Timestamp, str]]] = field(default_factory=dict)

    def pair(self, name: str | None) -> str:
        """The pair that is meant, as first written; blank where none is."""
        return (self.book.find(name) or name or "") if name else ""

    def sitter(self, name: str | None, laid_by: str) -> str:
        """Who or what sits: the pair that laid where nothing, or a word such as parents, is written."""
        known = self.book.find(name) or name or ""
        return laid_by if not known or (known not in self.pairs and is_parents(known)) else known

    def species(self, pair: str) -> str:
        """A pair's species; blank where it is not known."""
        return str(self.pairs.get(pair, {}).get("species") or "")

    def cage(self, pair: str, day: pd.Timestamp | None) -> str:
        """The cage a pair was in on a day; with no day, its last one."""
        stays = self.stays.get(pair, [])
        so_far = [cage for since, cage in stays if day is None or since <= day]
        return so_far[-1] if so_far else ""


def without_no_pairs(rows: Rows, ledger: Ledger) -> Rows:
    """Leave the pair of an egg or chick blank where a word such as "bought" stands there, and no pair is called so."""
    known, hatches = NameBook(row["pair"] for row in rows["pairs"]), []
    for row in rows["hatches"]:
        if row["pair"] and names_nobody(row["pair"]) and row["pair"] not in known:
            if row["arrived_on"] is None:
                ledger.say("names-no-pair", row.place, "pair", row["pair"])
            row = row.but("pair")
        hatches.append(row)
    return rows.but({"hatches": hatches})


def build_aviary(rows: Rows, ledger: Ledger) -> Aviary:
    """Collect the pairs from pairs, hatches and clutches, and their stays from moves."""
    aviary = Aviary()
    for row in rows["pairs"]:
        name = row["pair"]
        aviary.book.add(name)
        known = {column: row[column] for column in PAIRS if column not in ("pair", "kind")}
        aviary.pairs[name] = {"pair": name, "kind": row["kind"] or "pair", **known}
        if row["cage"]:
            aviary.stays[name] = [(row["put_up_on"] or pd.Timestamp.min, row["cage"])]
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
    records = [
        {"cage": cage, **{name: (cage in listed and listed[cage][name]) or "" for name in ("room", "notes")}}
        for cage in sorted(book, key=name_key)
    ]
    return pd.DataFrame(records, columns=["cage", "room", "notes"])


def begun(row: Row) -> pd.Timestamp | None:
    """The first day known of an egg or chick."""
    return row["laid_on"] or row["set_on"] or row["hatched_at"]


def pairs_by_cage(rows: Rows, aviary: Aviary, ledger: Ledger) -> Rows:
    """Give each egg that names no pair the only pair that was in its cage when it was laid, and say so."""
    hatches = list(rows["hatches"])
    for at, row in enumerate(hatches):
        if len(pairs := _in_its_cage(row, aviary)) == 1:
            ledger.understand("pair", row["cage"], pairs[0])
            hatches[at] = row.but(pair=pairs[0])
    return rows.but({"hatches": hatches})


def _in_its_cage(row: Row, aviary: Aviary) -> list[str]:
    """The pairs that were in the cage of an egg or chick that names none; none where it was bought."""
    if row["pair"] or not row["cage"] or row["arrived_on"] is not None:
        return []
    return [pair for pair in aviary.stays if same(aviary.cage(pair, begun(row))) == same(row["cage"])]


def number_clutches(rows: Rows, aviary: Aviary, gap_d: float) -> tuple[Rows, list[str]]:
    """Give each egg without a clutch a number, told from the dates; also return the pairs where this was done.

    A gap longer than `gap_d` days begins the next clutch. An egg without any date goes with the one before.
    """
    by_pair: dict[str, list[Row]] = defaultdict(list)
    for row in rows["hatches"]:
        if row["pair"] and row["arrived_on"] is None:
            by_pair[aviary.pair(row["pair"])].append(row)
    counted = [row for row in rows["clutches"] if row["first_egg_on"] is not None]
    clutch_of, done = dict[Place, str | None](), []
    for pair, eggs in by_pair.items():
        written = [(begun(row), row["clutch"]) for row in eggs if row["clutch"] and begun(row) is not None]
        written += [(row["first_egg_on"], row["clutch"]) for row in counted if aviary.pair(row["pair"]) == pair]
        blank = [row for row in eggs if not row["clutch"]]
        nearest = {row.place: _nearest(row, written, gap_d) for row in blank}
        taken = {row["clutch"] for row in [*eggs, *rows["clutches"]]} | set(nearest.values())
        free = (str(number) for number in count(1) if str(number) not in taken)
        clutch_of |= nearest | _numbered([row for row in blank if not nearest[row.place]], gap_d, free)
        done += [pair] if blank else []
    hatches = [row.but(clutch=clutch_of[row.place]) if row.place in clutch_of else row for row in rows["hatches"]]
    return rows.but({"hatches": hatches}), sorted(done)


def begun_when_laid(rows: Rows, aviary: Aviary) -> tuple[Rows, list[str]]:
    """Count an egg from its own day where the day its clutch was set stands beside every egg, and it was laid later.

    Also return the pairs where this was done. An egg alone that was set before it was laid is a slip, and stays.
    """
    sat: set[tuple[str, str, Any]] = set()
    for row in rows["hatches"]:
        if row["set_on"] is not None and row["laid_on"] is not None and row["laid_on"] <= row["set_on"]:
            sat.add(_sitting(row, aviary))
    hatches, done = [], set[str]()
    for row in rows["hatches"]:
        set_on, laid_on = row["set_on"], row["laid_on"]
        late = set_on is not None and laid_on is not None and 0 < (laid_on - set_on).days <= _LONGEST_LAYING_D
        if late and _sitting(row, aviary) in sat:
            done.add(aviary.pair(row["pair"]))
            row = row.but(set_on=laid_on)
        hatches.append(row)
    return rows.but({"hatches": hatches}), sorted(done)


def _sitting(row: Row, aviary: Aviary) -> tuple[str, str, Any]:
    return aviary.pair(row["pair"]), same(row["clutch"] or ""), row["set_on"]


def _nearest(row: Row, written: list[tuple[Any, str]], gap_d: float) -> str | None:
    """The clutch with a number whose days are nearest, if one is within the gap; hatching comes later."""
    day, reach = begun(row), gap_d + (0 if row["laid_on"] or row["set_on"] else _LONGEST_LAYING_D)
    near = [(abs((day - other).days), clutch) for other, clutch in written if day is not None]
    return min(near)[1] if near and min(near)[0] <= reach else None


def _numbered(eggs: list[Row], gap_d: float, free: Iterator[str]) -> dict[Place, str]:
    """Number clutches by their gaps; an egg's number that comes again a week later begins the next one too."""
    clutches: dict[Place, str] = {}
    number, last, seen = next(free) if eggs else "", None, dict[str, pd.Timestamp]()
    for row in sorted(eggs, key=lambda r: (begun(r) is None, begun(r) or pd.Timestamp.max)):
        day, egg = begun(row), same(row["egg"] or "")
        if day is not None and last is not None:
            again = bool(egg) and egg in seen and (day - seen[egg]).days >= _AGAIN_D
            if again or (day - last).days > gap_d:
                number, seen = next(free), {}
        clutches[row.place] = number
        last = day or last
        if egg and day is not None:
            seen.setdefault(egg, day)
    return clutches


def counted_clutches(rows: Rows, aviary: Aviary, ledger: Ledger) -> pd.DataFrame:
    """Return one row a counted clutch, each pair and clutch once."""
    first: dict[tuple[str, str], Row] = {}
    counted = []
    for row in rows["clutches"]:
        pair = aviary.pair(row["pair"])
        earlier = first.setdefault((same(pair), same(row["clutch"])), row)
        if earlier is not row:
            ledger.drop_repeat(row, earlier, "clutch", row["clutch"])
            continue
        _add_up(row, ledger)
        clear = row["clear"]
        if clear is None and row["fertile"] is not None:  # all that did not show fertile or break
            left = row["eggs"] - row["fertile"] - (row["broken_or_gone"] or 0)
            clear = left if left >= 0 else None
        own = {"pair": pair, "species": aviary.species(pair), "cage": aviary.cage(pair, row["first_egg_on"])}
        own |= {"incubated_by": aviary.sitter(row["incubated_by"], pair), "clear": clear}
        counted.append({name: row[name] for name in CLUTCHES} | own)
    return typed_frame(counted, CLUTCHES)


def _add_up(row: Row, ledger: Ledger) -> None:
    parts = [row[name] for name in ("clear", "died_in_egg", "broken_or_gone", "hatched")]
    known = sum(part for part in parts if part is not None)
    hatched, weaned = row["hatched"], row["weaned"]
    if hatched is not None and weaned is not None and weaned > hatched:
        ledger.say("more-weaned-than-hatched", row.place, "weaned", weaned, weaned=weaned, hatched=hatched)
    if known > row["eggs"] or (None not in parts and known < row["eggs"]):
        ledger.say("counts-do-not-add-up", row.place, "eggs", row["eggs"], eggs=row["eggs"], parts=known)


def counted_chicks(clutches: pd.DataFrame, chicks: pd.DataFrame) -> pd.DataFrame:
    """Return a row for each young that was counted and not named, where a clutch says how many were weaned.

    What hatched and was not weaned counts as lost; a clutch that has chicks by name is told by those. Columns: pair,
    clutch, cage, species, reared_by, first_reared_by, fate, and season where the clutches have it.
    """
    counted = clutches[clutches["weaned"].notna() & clutches["hatched"].notna()]
    counted = counted[(counted["weaned"] <= counted["hatched"]).astype(bool)]
    named = set(zip(chicks["pair"].map(same), chicks["clutch"].map(same), strict=True))
    keys = zip(counted["pair"].map(same), counted["clutch"].map(same), strict=True)
    counted = counted[pd.Series([key not in named for key in keys], index=counted.index, dtype=bool)]
    columns = [name for name in ("pair", "clutch", "cage", "species", "season") if name in counted]
    young = counted.loc[counted.index.repeat(counted["hatched"].astype(int))]
    weaned = young.groupby(level=0).cumcount() < young["weaned"].astype(int)
    fate = weaned.map({True: "weaned", False: "lost"}).astype("str")
    by = {"reared_by": young["pair"], "first_reared_by": young["pair"]}
    return young[columns].assign(**by, fate=fate).reset_index(drop=True)


def loops(parents: Parents) -> set[tuple[str, str]]:
    """The links (bird, parent) by which a bird becomes its own ancestor: all on some loop, none that only lead to one.

    `parents` are those of each bird by its name; a parent of whom none is written need not be a key.
    """
    sorter = TopologicalSorter(parents)
    with suppress(CycleError):
        sorter.prepare()
    founded: set[str] = set()  # birds that no loop leads to
    while ready := sorter.get_ready():
        sorter.done(*ready)
        founded.update(ready)
    left = {bird: set(known) - founded for bird, known in parents.items() if bird not in founded}
    reached = {bird: ancestors([bird], left) for bird in left}
    return {(bird, parent) for bird in left for parent in left[bird] if bird == parent or bird in reached[parent]}


def ancestors(birds: Collection[str], parents: Parents, *, without: str = "") -> set[str]:
    """All ancestors of some birds; not the birds themselves, unless one descends from another.

    Loops in `parents` do no harm; past the bird `without` nothing is followed, and it is left out.
    """
    met: set[str] = set()
    waiting = [bird for bird in birds if bird != without]
    while waiting:
        new = [one for one in parents.get(waiting.pop(), ()) if one not in met and one != without]
        met.update(new)
        waiting += new
    return met
