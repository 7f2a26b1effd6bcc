"""Eggs and chicks by every name they go by, and where each was moved to."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Place, Row
from analysis.logs.cells import near
from analysis.logs.headings import NameBook, same
from analysis.season.dates import Rows
from analysis.season.eggs import Hatch
from analysis.season.frames import typed_frame
from analysis.season.model import Season
from analysis.season.pairs import Aviary

BIRDS = {**dict.fromkeys(("season", "written", "bird", "ring"), "str"), "note": "object"}
_SURE_D = 60  # practice: two days of hatch further apart than this are of two birds, one of which has the other's ring

_LEAST = 4  # letters and digits; a name such as 7 or C1 is no ring


@dataclass
class _Seen:
    """A bird as one season writes it."""

    season: str
    written: str
    ring: str = ""  # as written; blank where none is, or where it tells nothing
    hatched_on: pd.Timestamp | None = None
    as_: set[str] = field(default_factory=set)  # cock, hen

    @property
    def key(self) -> tuple[str, str]:
        return self.season, same(self.written)


def follow_birds(seasons: Mapping[str, Season]) -> pd.DataFrame:
    """Tell which names of which seasons are one bird.

    One ring is one bird, whatever its name; one name with two rings is two birds. A name without a ring is the bird of
    that name in the other seasons; where these have two rings for it nobody can say, and it is a bird of its own. A
    ring tells nothing in a season that writes it for two birds, and does not join two names that hatched more than 60
    days apart or of which one is a cock and one a hen.

    Parameters
    ----------
    seasons : by name, the latest first, as `seasons_by_name` gives them

    Returns
    -------
    frame, a row a season and name in its pairs or birds log
        season, written, bird (its name here: that of the latest season it is in; with that season, "Moss (2025)", where
        a later bird has the name), ring (as written, blank where none is), note (a Finding where a ring joined two
        names or parted one; else None).

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.season import seasons_by_name
    >>> birds = follow_birds(seasons_by_name(open_season("data_demo/season_2026")))
    >>> birds.loc[birds["written"] == "Sorrel", ["season", "bird"]].values.tolist()
    [['2026', 'Sorrel'], ['2025', 'Sorrel']]
    """
    seen = [bird for name, season in seasons.items() for bird in _seen(name, season)]
    _rings_as_names(seen)
    ids = _identities(seen)
    labels: dict[object, str] = {}
    first: dict[object, _Seen] = {}
    rows = []
    for at, bird in enumerate(seen):
        one = ids[bird.key]
        if one not in labels:
            taken = [label for label in labels.values() if same(label) == same(bird.written)]
            labels[one] = free_name(f"{bird.written} ({bird.season})", labels.values()) if taken else bird.written
            first[one] = bird
        about = {"season": bird.season, "written": bird.written, "ring": bird.ring}
        rows.append({**about, "bird": labels[one], "note": _note(bird, first[one], seen[:at], ids)})
    return typed_frame(rows, BIRDS)


def free_name(name: str, taken: Iterable[str]) -> str:
    """A name that is not taken yet: with a number, where it is.

    Examples
    --------
    >>> free_name("P1 (2025)", ["p1 (2025)"])
    'P1 (2025), 2'
    """
    known, free, number = {same(each) for each in taken}, name, 1
    while same(free) in known:
        number += 1
        free = f"{name}, {number}"
    return free


def ring_key(ring: str) -> str:
    """What two spellings of one ring have in common: letters and digits; blank where no digit is in it.

    Examples
    --------
    >>> ring_key("AL 21-001") == ring_key("al21001"), ring_key("none")
    (True, '')
    """
    plain = re.sub(r"[\W_]+", "", str(ring).casefold())
    return plain if re.search(r"\d", plain) else ""


def _seen(name: str, season: Season) -> list[_Seen]:
    """The birds of a season, those of its pairs first."""
    birds: dict[str, _Seen] = {}
    for sex in ("cock", "hen"):
        for bird in season.pairs.loc[season.pairs[sex] != "", sex]:
            birds.setdefault(same(bird), _Seen(name, bird)).as_.add(sex)
    for row in season.logs["birds"].to_dict("records"):
        bird = birds.setdefault(same(row["bird"]), _Seen(name, row["bird"]))
        bird.ring = "" if pd.isna(row["ring"]) else str(row["ring"])
        bird.hatched_on = None if pd.isna(row["hatched_on"]) else pd.Timestamp(row["hatched_on"])
    rings = [ring_key(bird.ring) for bird in birds.values()]
    for bird in birds.values():
        if rings.count(ring_key(bird.ring)) > 1:
            bird.ring = ""
    return list(birds.values())


def _rings_as_names(seen: list[_Seen]) -> None:
    """A bird without a ring whose name is the ring of one has that ring."""
    rings = {ring for bird in seen if len(ring := ring_key(bird.ring)) >= _LEAST}
    for bird in seen:
        if not bird.ring and ring_key(bird.written) in rings:
            bird.ring = bird.written


def _identities(seen: list[_Seen]) -> dict[tuple[str, str], object]:
    """What tells each bird of each season from all others."""
    of_name: dict[str, set[str]] = {}
    of_ring: dict[str, list[_Seen]] = {}
    for bird in seen:
        if ring := ring_key(bird.ring):
            of_name.setdefault(same(bird.written), set()).add(ring)
            of_ring.setdefault(ring, []).append(bird)
    joins = {ring: not _contradict(birds) for ring, birds in of_ring.items()}
    ids: dict[tuple[str, str], object] = {}
    for bird in seen:
        name = same(bird.written)
        rings = {ring_key(bird.ring)} - {""} or of_name.get(name, set())
        ring = next(iter(rings), "")
        others = {other.key[1] for other in of_ring.get(ring, []) if other.season == bird.season} - {name}
        if len(rings) > 1:
            ids[bird.key] = bird.key
        elif not ring or (others and not bird.ring and joins[ring]):  # another bird has that ring in this season
            ids[bird.key] = ("name", name)
        else:
            ids[bird.key] = ("ring", ring) if joins[ring] else ("ring", ring, name)
    return ids


def _contradict(birds: list[_Seen]) -> bool:
    """Whether birds of one ring and several names cannot be one."""
    days = [bird.hatched_on for bird in birds if bird.hatched_on is not None]
    apart = bool(days) and (max(days) - min(days)).days > _SURE_D
    return len({bird.key[1] for bird in birds}) > 1 and (apart or len(set().union(*(bird.as_ for bird in birds))) > 1)


def _note(bird: _Seen, latest: _Seen, later: list[_Seen], ids: Mapping[tuple[str, str], object]) -> Finding | None:
    """What is told where a ring joined a name to another of a later season, or parted it from the same."""
    one: dict[str, Any] = {"bird": bird.written, "season": bird.season}
    if same(latest.written) != same(bird.written):
        now: dict[str, Any] = {"later": latest.written, "later_season": latest.season, "ring": latest.ring or bird.ring}
        return None if latest.season == bird.season else found("season.joined-by-ring", **one, **now)
    alike = [other for other in later if other.key[1] == bird.key[1] and ids[other.key] != ids[bird.key]]
    if not alike:
        return None
    if bird.ring and alike[0].ring:
        other: dict[str, Any] = {"other_season": alike[0].season, "other_ring": alike[0].ring}
        return found("season.parted-by-ring", **one, ring=bird.ring, **other)
    unsure = alike[0] if bird.ring else bird
    return found("season.no-ring-says", bird=unsure.written, season=unsure.season)


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
