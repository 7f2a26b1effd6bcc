"""Eggs and chicks by every name they go by, and where each was moved to."""

from collections import Counter
from collections.abc import Iterable

import pandas as pd

from analysis.logs import Ledger, Place, Row
from analysis.logs.cells import near
from analysis.logs.names import NameBook, same
from analysis.season.dates import Rows
from analysis.season.eggs import Hatch
from analysis.season.pairs import Aviary


class Nest:
    """Finds the egg or chick that is meant.

    A chick goes by its name or its ring; an egg by its number where no other egg has it, by pair/clutch/egg always,
    and by the chick's name that stands beside an egg that did not hatch.
    """

    def __init__(self, hatches: list[Hatch], aviary: Aviary):
        self.chicks = NameBook(h.chick for h in hatches if h.chick)
        self.eggs = NameBook()
        self.moves: dict[Place, list[Row]] = {}
        self._aviary = aviary
        self._by_chick = {h.chick: h for h in hatches if h.chick}
        self._by_label = {h.label: h for h in hatches if h.row["egg"]}
        numbers = Counter(same(h.row["egg"]) for h in hatches if h.row["egg"])
        self._twice = {number for number, count in numbers.items() if count > 1}
        for label, h in self._by_label.items():
            self.eggs.add(label)
            if same(h.row["egg"]) not in self._twice:
                self.eggs.add(h.row["egg"], leads_to=label)
        for h in hatches:
            if h.chick and h.row["ring"]:
                self.chicks.add(h.row["ring"], leads_to=h.chick)
            if not h.chick and h.row["chick"] and h.row["egg"]:
                self.eggs.add(h.row["chick"], leads_to=h.label)

    def chick(self, name: str | None) -> Hatch | None:
        """Return the chick that is meant, or None."""
        return self._by_chick.get(self.chicks.find(name) or "")

    def egg(self, name: str | None) -> Hatch | None:
        """Return the egg that is meant, or None."""
        return self._by_label.get(self.eggs.find(name) or "")

    def is_two(self, name: str | None) -> bool:
        """Tell whether more than one egg has this number."""
        return same(name or "") in self._twice

    def not_found(self, row: Row, column: str, ledger: Ledger, code: str) -> None:
        """Drop a row whose egg or chick is not known, or not which."""
        if self.is_two(row[column]):
            example = next(label for label, h in self._by_label.items() if same(h.row["egg"]) == same(row[column]))
            ledger.drop("egg-in-two-clutches", row.place, column, row[column], example=example)
        else:
            names: Iterable[str] = [*self.chicks, *self.eggs] if column != "egg" else self.eggs
            ledger.drop(code, row.place, column, row[column], near=near(row[column], names))

    def read_moves(self, rows: Rows, ledger: Ledger) -> None:
        """Take in the moves of eggs and chicks; those of pairs are their stays."""
        for row in sorted(rows["moves"], key=lambda r: r["on"]):
            if row["what"] in self._aviary.book:
                continue
            h = self.chick(row["what"]) or self.egg(row["what"])
            if h is None:
                self.not_found(row, "what", ledger, "unknown-who")
            else:
                self.moves.setdefault(h.row.place, []).append(row)
        rows["moves"][:] = [row for row in rows["moves"] if ledger.is_used(row)]

    def last_move(self, h: Hatch, since: pd.Timestamp | None, until: pd.Timestamp | None) -> Row | None:
        """Return the last move of an egg or chick between two days, both counted; None where there is none."""
        found = None
        for row in self.moves.get(h.row.place, []):
            after = since is None or row["on"] >= since.normalize()
            if after and (until is None or row["on"] <= until.normalize()):
                found = row
        return found

    def sat_on_by(self, h: Hatch) -> str:
        """Return who or what an egg was moved to last before the day it hatched; blank where it was not."""
        hatched = h.row["hatched_at"]
        move = self.last_move(h, None, hatched - pd.Timedelta(days=1) if hatched is not None else None)
        return self._aviary.sitter(move["to"], h.pair) if move else ""

    def fostered_to(self, h: Hatch) -> str:
        """Return the pair whose nest an egg was moved into, and where its chick is reared; blank where it was not."""
        nest_of = self.sat_on_by(h)
        return nest_of if nest_of in self._aviary.book else ""
