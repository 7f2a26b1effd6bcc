"""Who rears a chick and who had it first, from what is written beside it and where it was moved to."""

from dataclasses import dataclass
from typing import Any

from analysis.logs import Ledger, Place, Row
from analysis.logs.headings import NameBook, same
from analysis.season.days import Rows
from analysis.season.hatches import Hatch, Moves
from analysis.season.pairs import Aviary
from analysis.season.spelling import near_miss
from analysis.season.vocabulary import HAND, OWN_PARENTS, is_brooder, is_hand, is_parents, says_only_brooder


def reared(h: Hatch, move: Row | None, fostered_to: str, rearers: "Rearers", ledger: Ledger) -> dict[str, str | bool]:
    """Who rears a chick: where it was moved to last, else who is written, else the nest that the egg was moved to."""
    row, written = h.row, h.row["reared_by"] or ""
    meant = rearers.meant(written or fostered_to, h.pair)
    rearers.note(meant, h.chick, row.place, "reared_by")
    if move is not None:
        moved = rearers.meant(move["to"], h.pair)
        if written and not meant.asked and moved != meant:
            ledger.say("moves-disagree", row.place, "reared_by", written, move=move["to"])
        meant = moved
        rearers.note(meant, h.chick, move.place, "to")
    return {
        "reared_by": meant.name,
        "by_hand": meant.by_hand,
        "rearer_asked": meant.asked,
        "brooder": rearers.brooder(row["brooder"] or "", move["to"] if move else "", written),
    }


def reared_first(h: Hatch, moved: list[Row], last: dict[str, Any], moves: Moves, rearers: "Rearers") -> dict[str, Any]:
    """Who had a chick first, and when and why a pair that had it first had it no longer.

    `moved`: its moves since it hatched. On the day of hatch it is first where it was moved to; one that hatched in an
    incubator, where it was moved first. What stands in `reared_by` is who had it last, unless the moves say otherwise.
    """
    hatched, to = h.row["hatched_at"], [rearers.meant(row["to"], h.pair) for row in moved]
    if hatched is None or not moved:
        return {"first_reared_by": last["reared_by"], "taken_on": None, "taken_why": ""}
    at_hatch = sum(row["on"] <= hatched.normalize() for row in moved)
    written, under = rearers.meant(h.row["reared_by"] or "", h.pair), moves.hatched_under(h)
    before = rearers.meant(moves.foster_pair(h), h.pair)
    before = written if h.row["reared_by"] and written not in to and not written.asked else before
    first = to[at_hatch - 1] if at_hatch else before if under in moves.aviary.book else to[0]
    told: dict[str, Any] = {"first_reared_by": first.name, "taken_on": None, "taken_why": ""}
    away = [row for row, now in zip(moved[at_hatch:], to[at_hatch:], strict=True) if now != first]
    if first.by_hand or not away or last["reared_by"] in ("", first.name):
        return told
    return told | {"taken_on": away[0]["on"], "taken_why": away[0]["why"] or away[0]["notes"] or ""}


@dataclass(frozen=True)
class _Rearer:
    """Who rears: the name that counts, whether that is by hand, and the word that is asked about."""

    name: str
    by_hand: bool = False
    asked: str = ""


class Rearers:
    """Says who is meant by what stands in `reared_by`, or where a chick was moved to.

    A pair's name is that pair, and the cage of a pair is that cage. Any word for rearing by hand, and a place without
    a pair that cages, readings or brooder name, is by hand. Words such as parents are the pair that laid. Any other
    word is asked about, once: it is no rearer of its own and no "no" either.
    """

    def __init__(self, rows: Rows, aviary: Aviary):
        kept = (cage for own in aviary.stays.values() for _, cage in own)
        laid_in = (row["cage"] for row in rows["hatches"] if row["pair"] and row["cage"] and not is_hand(row["cage"]))
        self._aviary, self._nests = aviary, NameBook([*kept, *laid_in])
        with_birds = {same(row["room"]) for row in rows["cages"] if row["room"] and row["cage"] in self._nests}
        columns = ("cages.cage", "readings.place", "hatches.brooder", "hatches.cage", "cages.room")
        named = (row[column] for log, column in (one.split(".") for one in columns) for row in rows[log] if row[column])
        self._places = NameBook(name for name in named if same(name) not in with_birds)
        self._asked: dict[str, tuple[str, Place, str, list[str]]] = {}
        self._read: dict[str, str] = {}  # words that name no pair and no cage of one, and what they mean

    def meant(self, written: str, laid_by: str) -> _Rearer:
        """Who is meant by a cell; where nothing is written the pair that laid, else by hand, to be on the round."""
        if not written:
            return _Rearer(laid_by, by_hand=not laid_by)
        if written in self._aviary.book:
            return _Rearer(self._aviary.pair(written))
        if written in self._nests:
            return _Rearer(written)
        if is_hand(written) or written in self._places:
            self._read[written] = HAND
            return _Rearer(HAND, by_hand=True)
        if is_parents(written):
            self._read[written] = OWN_PARENTS
            return _Rearer(laid_by)
        return _Rearer("", asked=written)

    def brooder(self, own: str, moved: str, written: str) -> str:
        """Which brooder, or other place of its own, a chick is in; blank where nobody says.

        Moved there last, else in its own column, else in `reared_by`. A move to birds ends it; one to "hand" or
        "brooder" names none, and what was written holds.
        """
        if not moved:
            return own or (written if self._is_place(written) and not says_only_brooder(written) else "")
        if self._is_place(moved):
            return own or moved if says_only_brooder(moved) else moved
        return own if is_hand(moved) else ""

    def _is_place(self, name: str) -> bool:
        """Whether a name is that of a place for chicks without birds."""
        birds = name in self._aviary.book or name in self._nests
        return not birds and (is_brooder(name) or name in self._places)

    def note(self, rearer: _Rearer, chick: str, place: Place, column: str) -> None:
        """Keep a word that is asked about, with the chicks that it stands for, until `ask`."""
        if rearer.asked:
            key = same(rearer.asked)
            self._asked.setdefault(key, (rearer.asked, place, column, []))[3].append(chick)

    def ask(self, ledger: Ledger) -> None:
        """Note what each word was read as, and each that no log knows once, with the chicks that wait for an answer."""
        for word, meant in self._read.items():
            ledger.understand("reared_by", word, meant)
        known = [*self._aviary.book, *self._nests, *self._places, HAND]
        for word, place, column, chicks in self._asked.values():
            ledger.say("who-rears", place, column, word, chicks=chicks, near=near_miss(word, known))
