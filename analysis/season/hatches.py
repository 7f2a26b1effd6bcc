"""The hatches log → each egg's outcome and chick, found by every name it goes by, and where it was moved to."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Words, found
from analysis.logs import Ledger, Place, Row
from analysis.logs.cells import near
from analysis.logs.headings import NameBook, choice_meant, column_named, same
from analysis.logs.tables import LOGS, OUTCOMES
from analysis.names import DIED_IN_EGG, sorted_by_name
from analysis.needed import typed_frame
from analysis.season.days import Rows
from analysis.season.last_days import check_candling, hatch_by, waits_for_hatch, with_sound_pip
from analysis.season.pairs import Aviary, begun
from analysis.season.species import incubation_d, keepers_species, longest_incubation_d

EGGS = {
    **dict.fromkeys(("egg", "pair", "clutch", "cage", "species"), "str"),
    **dict.fromkeys(("laid_on", "set_on", "candled_on", "candled_again_on"), "datetime64[us]"),
    **{"candled_again": "str", "seen_dead": "bool"},
    **{"pipped_at": "datetime64[us]", "pipped_at_timed": "bool", "hatch_by": "datetime64[us]", "hatcher": "str"},
    **dict.fromkeys(("fertile", "outcome", "incubated_by"), "str"),
    **{"hatched_at": "datetime64[us]", "chick": "str", "length_mm": "float64", "breadth_mm": "float64"},
    **{"file": "str", "row": "Int64"},
}
_AS_WRITTEN = (
    *("laid_on", "set_on", "candled_on", "candled_again", "candled_again_on", "pipped_at", "pipped_at_timed"),
    *("hatched_at", "length_mm", "breadth_mm"),
)
_LATE_D = 5  # practice: eggs set one by one, and a cool start, run a few days late
_CAUSES = {  # words in the cause of an egg's loss, by the outcome that they name
    "broken": ("broke", "crack", "crush", "trod"),
    "missing": ("missing", "gone", "stolen"),
    "abandoned": ("abandon", "desert"),
}


@dataclass(frozen=True)
class Hatch:
    """One row of hatches, read: the egg's outcome and the chick's name, blank where there is none."""

    row: Row
    pair: str
    clutch: str
    outcome: str
    chick: str
    hatch_by: pd.Timestamp | None = None

    @property
    def label(self) -> str:
        """The egg's own name, which no other egg has: pair/clutch/egg."""
        return "/".join((self.pair, self.clutch, self.row["egg"] or self.chick))

    def cells(self, aviary: Aviary) -> dict[str, Any]:
        """What an egg and its chick have in common in their frames."""
        return {
            **{"pair": self.pair, "clutch": self.clutch, "chick": self.chick},
            "cage": aviary.cage(self.pair, begun(self.row)) or self.row["cage"] or "",
            "species": self.row["species"] or aviary.species(self.pair),
            **{"file": self.row.place.file, "row": self.row.place.row},
        }


def outcome_words(outcome: str) -> Words:
    """What is said of an egg's outcome; one that is not ours as it stands."""
    ours = outcome in (*OUTCOMES, "unknown")
    return found(f"season.outcome-{outcome.replace(' ', '-')}") if ours else outcome


def drop_repeated_hatches(rows: Rows, aviary: Aviary, ledger: Ledger) -> Rows:
    """Use the first of two rows with one name: an egg within its clutch, a chick anywhere."""
    first: dict[tuple[str, ...], Row] = {}
    for row in rows["hatches"]:
        names: list[tuple[str, ...]] = []
        if row["egg"]:
            clutch = (aviary.pair(row["pair"]), same(row["clutch"] or ""))
            names.append(("egg", *clutch, same(row["egg"])))
        if row["chick"] or row["ring"]:
            names.append(("chick", same(row["chick"] or row["ring"])))
        earlier = next((first[name] for name in names if name in first), None)
        if earlier is None:
            first |= dict.fromkeys(names, row)
        else:
            ledger.drop_repeat(row, earlier, "chick", row["chick"] or row["egg"])
    return rows.used(ledger, "hatches")


def read_hatches(rows: Rows, aviary: Aviary, today: pd.Timestamp | None, ledger: Ledger) -> list[Hatch]:
    """Settle the outcome and the chick's name of every row of hatches."""
    own = keepers_species(rows["species"])
    taken = Counter(same(row[name]) for row in rows["hatches"] for name in ("egg", "chick", "ring") if row[name])
    lost = {same(row["egg"]): row["cause"] or "" for row in rows["losses"] if row["egg"]}
    hatches, log = [], pd.DataFrame([row.values for row in rows["species"]])
    for row in (with_sound_pip(one, ledger) for one in rows["hatches"]):
        pair = aviary.pair(row["pair"])
        species = row["species"] or aviary.species(pair)
        days, by = incubation_d(species, own) or longest_incubation_d(), hatch_by(row, species, log)
        check_candling(row, ledger)
        outcome = _outcome(row, days + _LATE_D, by, today, lost, ledger)
        chick = row["chick"] or row["ring"] or ""
        if outcome != "hatched" and chick:
            ledger.say("named-but-not-hatched", row.place, "chick", chick)
            chick = ""
        elif outcome == "hatched" and not chick:
            once = taken[same(row["egg"])] == 1
            chick = row["egg"] if once else "/".join((pair, row["clutch"] or "", row["egg"]))
            ledger.say("hatched-without-name", row.place, "chick")
        if not row["pair"] and row["arrived_on"] is None and row["egg"]:
            ledger.say("egg-without-pair", row.place, "pair")
        if outcome == "hatched" and row["hatched_at"] is None:
            ledger.say("no-hatch-date", row.place, "hatched_at", chick)
        by = by if outcome == "still incubating" else None
        hatches.append(Hatch(row, pair, row["clutch"] or "", outcome, chick, by))
    return hatches


def _outcome(
    row: Row,
    days: float,
    by: pd.Timestamp | None,
    today: pd.Timestamp | None,
    lost: Mapping[str, str],
    ledger: Ledger,
) -> str:
    written, again = row["outcome"], row["candled_again"]
    named = (row["chick"] or row["ring"]) and written in (None, "hatched")
    if row["hatched_at"] is not None or row["weaned_on"] is not None or named:
        if "clear" in (written, row["candled"], again):
            ledger.say("hatched-but-clear", row.place, "outcome", written or again or row["candled"])
        elif written not in (None, "hatched") or again == "dead":
            ledger.say("hatched-but-other", row.place, "outcome", written or again)
        return "hatched"
    if written and not (written == "still incubating" and (by or again == "dead")):
        return str(written)
    if same(row["egg"] or "") in lost:
        return _of_loss(lost[same(row["egg"])]) or (
            "pipped and died" if by else "late death" if again == "dead" else "unknown"
        )
    if by is not None:
        return "still incubating" if waits_for_hatch(row, by, today, ledger) else "unknown"
    if again == "dead":
        ledger.say("seen-dead", row.place, "candled_again", again)
        return "late death"
    since = row["set_on"] or row["laid_on"]
    if since is not None and today is not None and (today - since).days <= days:
        return "still incubating"
    if (again or row["candled"]) == "clear":
        ledger.say("seen-clear", row.place, "outcome")
        return "clear"
    ledger.say("outcome-unknown", row.place, "outcome")
    return "unknown"


def _of_loss(cause: str) -> str | None:
    """The outcome that the cause of an egg's loss names."""
    named = next((one for one, stems in _CAUSES.items() if any(stem in cause.casefold() for stem in stems)), None)
    return named or choice_meant(cause, tuple(_CAUSES))


class HatchIndex:
    """Finds the egg or chick that is meant.

    A chick goes by its name or its ring; an egg by its number where no other egg has it, by pair/clutch/egg always,
    and by the chick's name that stands beside an egg that did not hatch.
    """

    def __init__(self, hatches: list[Hatch]):
        self.chicks = NameBook(h.chick for h in hatches if h.chick)
        self.eggs = NameBook()
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
        """The chick that is meant, or None."""
        return self._by_chick.get(self.chicks.find(name) or "")

    def egg(self, name: str | None) -> Hatch | None:
        """The egg that is meant, or None."""
        return self._by_label.get(self.eggs.find(name) or self.eggs.find(_behind_egg(name)) or "")

    def drop_unknown(self, row: Row, column: str, ledger: Ledger, code: str) -> None:
        """Drop a row whose egg or chick is not known, or not which."""
        if same(row[column] or "") in self._twice:
            example = next(label for label, h in self._by_label.items() if same(h.row["egg"]) == same(row[column]))
            ledger.drop("egg-in-two-clutches", row.place, column, row[column], example=example)
        else:
            names: Iterable[str] = [*self.chicks, *self.eggs] if column != "egg" else self.eggs
            ledger.drop(code, row.place, column, row[column], near=near(row[column], names))


def _behind_egg(name: str | None) -> str | None:
    """What stands behind a word for an egg: of "egg 4" the 4; None where there is none."""
    word, _, number = (name or "").partition(" ")
    return number if number and column_named(word, LOGS["hatches"]) == ("egg", "") else None


@dataclass(frozen=True)
class Moves:
    """Where eggs and chicks were moved to: the moves of each, in order of time, by the place of its hatch."""

    of: Mapping[Place, list[Row]]
    aviary: Aviary

    def between(self, h: Hatch, since: pd.Timestamp | None, until: pd.Timestamp | None) -> list[Row]:
        """The moves of an egg or chick between two days, both counted, in order of time."""
        first = since.normalize() if since is not None else pd.Timestamp.min
        last = until.normalize() if until is not None else pd.Timestamp.max
        return [row for row in self.of.get(h.row.place, []) if first <= row["on"] <= last]

    def last(self, h: Hatch, since: pd.Timestamp | None, until: pd.Timestamp | None) -> Row | None:
        """The last of these moves; None where there is none."""
        return next(reversed(self.between(h, since, until)), None)

    def incubator(self, h: Hatch) -> str:
        """Who or what an egg was moved to last before the day it pipped or hatched; blank where it was not."""
        return self._before(h, h.row["pipped_at"] or h.row["hatched_at"])

    def _before(self, h: Hatch, day: pd.Timestamp | None) -> str:
        move = self.last(h, None, day - pd.Timedelta(days=1) if day is not None else None)
        return self.aviary.sitter(move["to"], h.pair) if move else ""

    def hatcher(self, h: Hatch) -> str:
        """Where an egg was moved to since it pipped, until it hatched; blank where it was not."""
        pipped = h.row["pipped_at"]
        move = self.last(h, pipped, None) if pipped is not None and h.row["hatched_at"] is None else None
        return self.aviary.sitter(move["to"], h.pair) if move else ""

    def hatched_under(self, h: Hatch) -> str:
        """Who or what sat on an egg when it hatched."""
        return self._before(h, h.row["hatched_at"]) or self.aviary.sitter(h.row["incubated_by"], h.pair)

    def foster_pair(self, h: Hatch) -> str:
        """The pair whose nest an egg was moved into, and where its chick is reared; blank where it was not."""
        moved_to = self._before(h, h.row["hatched_at"])
        return moved_to if moved_to in self.aviary.book else ""


def read_moves(rows: Rows, index: HatchIndex, aviary: Aviary, ledger: Ledger) -> tuple[Rows, Moves]:
    """Find whose each move is; those of pairs are their stays in cages, and no part of these."""
    moves: dict[Place, list[Row]] = {}
    for row in sorted(rows["moves"], key=lambda r: r["on"]):
        if row["what"] in aviary.book:
            continue
        h = index.chick(row["what"]) or index.egg(row["what"])
        if h is None:
            index.drop_unknown(row, "what", ledger, "unknown-who")
        else:
            moves.setdefault(h.row.place, []).append(row)
    return rows.used(ledger, "moves"), Moves(moves, aviary)


def eggs_frame(hatches: list[Hatch], aviary: Aviary, moves: Moves) -> pd.DataFrame:
    """Return one row an egg; a chick without an egg's name counts as one where its clutch has numbered eggs."""
    numbered = {(h.pair, same(h.clutch)) for h in hatches if h.row["egg"]}  # else nobody knows how many eggs
    eggs = []
    for h in hatches:
        if h.row["egg"] or ((h.pair, same(h.clutch)) in numbered and h.row["arrived_on"] is None):
            sitter = moves.incubator(h) or aviary.sitter(h.row["incubated_by"], h.pair)
            told = {"seen_dead": _seen_dead(h), "hatch_by": h.hatch_by, "hatcher": moves.hatcher(h)}
            own = {"egg": h.row["egg"] or h.chick, "fertile": _fertile(h), "outcome": h.outcome, "incubated_by": sitter}
            eggs.append(h.cells(aviary) | {name: h.row[name] for name in _AS_WRITTEN} | told | own)
    return sorted_by_name(typed_frame(eggs, EGGS).sort_values(["laid_on", "row"]), ["pair", "clutch"])


def _fertile(h: Hatch) -> str:
    """Whether an egg showed fertile: "yes", "no" or "unknown"; the second candling tells more than the first."""
    if h.outcome in ("hatched", *DIED_IN_EGG) or (h.row["pipped_at"] is not None and h.outcome != "clear"):
        return "yes"
    shown = {"fertile": "yes", "dead": "yes", "clear": "no"}
    first = shown.get(h.row["candled"], "unknown")
    return "no" if h.outcome == "clear" else shown.get(h.row["candled_again"], first)


def _seen_dead(h: Hatch) -> bool:
    """Whether the second candling alone says that it died: nobody wrote what became of it."""
    return h.outcome == "late death" and h.row["candled_again"] == "dead" and not h.row["outcome"]
