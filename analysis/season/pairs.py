"""Pairs, and their stays in cages."""

from dataclasses import dataclass, field

import pandas as pd

from analysis.finding import found
from analysis.logs import Ledger, Row
from analysis.logs.names import NameBook
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
