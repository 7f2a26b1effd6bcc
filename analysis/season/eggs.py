"""Hatches and losses → eggs with their outcome, chicks with their fate, and who did what."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Words, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import choice_meant, same
from analysis.logs.tables import OUTCOMES
from analysis.names import DIED_IN_EGG
from analysis.season.clutches import begun
from analysis.season.dates import Rows
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.pairs import Aviary
from analysis.season.species import days_known, incubation_d, keepers_species

EGGS = {
    "egg": "str",
    "pair": "str",
    "clutch": "str",
    "cage": "str",
    "species": "str",
    "laid_on": "datetime64[us]",
    "set_on": "datetime64[us]",
    "candled_on": "datetime64[us]",
    "fertile": "str",
    "outcome": "str",
    "incubated_by": "str",
    "hatched_at": "datetime64[us]",
    "chick": "str",
    "length_mm": "float64",
    "breadth_mm": "float64",
    "file": "str",
    "row": "Int64",
}
_AS_WRITTEN = ("laid_on", "set_on", "candled_on", "hatched_at", "length_mm", "breadth_mm")
SHOWED_LIFE = ("hatched", *DIED_IN_EGG)


@dataclass(frozen=True)
class Hatch:
    """One row of hatches, read: the egg's outcome and the chick's name, blank where there is none."""

    row: Row
    pair: str
    clutch: str
    outcome: str
    chick: str

    @property
    def label(self) -> str:
        """The egg's own name, which no other egg has: pair/clutch/egg."""
        return "/".join((self.pair, self.clutch, self.row["egg"] or self.chick))


def outcome_said(outcome: str) -> Words:
    """Say what became of an egg; an outcome that is not ours as it stands.

    Examples
    --------
    >>> outcome_said("dead in shell").code, outcome_said("unknown").code, outcome_said("eaten")
    ('season.outcome-dead-in-shell', 'season.outcome-unknown', 'eaten')
    """
    ours = outcome in (*OUTCOMES, "unknown")
    return found(f"season.outcome-{outcome.replace(' ', '-')}") if ours else outcome


def read_hatches(rows: Rows, aviary: Aviary, today: pd.Timestamp | None, ledger: Ledger) -> list[Hatch]:
    """Settle the outcome and the chick's name of every row of hatches."""
    own = keepers_species(rows["species"])
    taken = Counter(same(row[name]) for row in rows["hatches"] for name in ("egg", "chick", "ring") if row[name])
    lost = {same(row["egg"]): row["cause"] or "" for row in rows["losses"] if row["egg"]}
    hatches, told = [], set[str]()
    for row in rows["hatches"]:
        pair = aviary.pair(row["pair"])
        species = row["species"] or aviary.species(pair)
        outcome = _outcome(row, incubation_d(species, own), today, lost, ledger)
        if outcome == "still incubating" and species and not days_known(species, own) and same(species) not in told:
            told.add(same(species))
            ledger.say("no-days-known", row.place, "", species, species=species)
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
        hatches.append(Hatch(row, pair, row["clutch"] or "", outcome, chick))
    return hatches


def _outcome(row: Row, days: float, today: pd.Timestamp | None, lost: Mapping[str, str], ledger: Ledger) -> str:
    written = row["outcome"]
    named = (row["chick"] or row["ring"]) and written in (None, "hatched")
    if row["hatched_at"] is not None or row["weaned_on"] is not None or named:
        if "clear" in (written, row["candled"]):
            ledger.say("hatched-but-clear", row.place, "outcome", written or row["candled"])
        elif written not in (None, "hatched"):
            ledger.say("hatched-but-other", row.place, "outcome", written)
        return "hatched"
    if written:
        return str(written)
    if same(row["egg"] or "") in lost:
        return _of_the_loss(lost[same(row["egg"])])
    since = row["set_on"] or row["laid_on"]
    if since is not None and today is not None and (today - since).days <= days:
        return "still incubating"
    ledger.say("outcome-unknown", row.place, "outcome")
    return "unknown"


def _of_the_loss(cause: str) -> str:
    """Return the outcome that the cause of an egg's loss names; unknown where it names none."""
    words = {
        "broken": ("broke", "crack", "crush", "trod"),
        "missing": ("missing", "gone", "stolen"),
        "abandoned": ("abandon", "desert"),
    }
    told = (outcome for outcome, stems in words.items() if any(s in cause.casefold() for s in stems))
    return next(told, choice_meant(cause, tuple(words)) or "unknown")


def eggs_frame(hatches: list[Hatch], aviary: Aviary, sat_on_by: Callable[[Hatch], str]) -> pd.DataFrame:
    """Return one row an egg.

    A chick without an egg's name counts as an egg where its clutch has numbered eggs; where a whole clutch
    is chicks only, nobody knows how many eggs there were, and none is made up.
    """
    numbered = {(h.pair, same(h.clutch)) for h in hatches if h.row["egg"]}
    found: list[dict[str, Any]] = []
    for h in hatches:
        laid_here = h.row["egg"] or ((h.pair, same(h.clutch)) in numbered and h.row["arrived_on"] is None)
        if laid_here:
            found.append(_egg(h, aviary, sat_on_by(h)))
    frame = typed_frame(found, EGGS).sort_values(["laid_on", "row"])
    return sorted_by_name(frame, ["pair", "clutch"])


def _egg(h: Hatch, aviary: Aviary, moved: str) -> dict[str, Any]:
    row = h.row
    return {name: row[name] for name in _AS_WRITTEN} | {
        "egg": row["egg"] or h.chick,
        "pair": h.pair,
        "clutch": h.clutch,
        "cage": aviary.cage(h.pair, begun(row)) or row["cage"] or "",
        "species": row["species"] or aviary.species(h.pair),
        "fertile": _fertile(h),
        "outcome": h.outcome,
        "incubated_by": moved or aviary.sitter(row["incubated_by"], h.pair),
        "chick": h.chick,
        "file": row.place.file,
        "row": row.place.row,
    }


def _fertile(h: Hatch) -> str:
    if h.outcome in SHOWED_LIFE:
        return "yes"
    if h.outcome == "clear":
        return "no"
    return {"fertile": "yes", "clear": "no"}.get(h.row["candled"], "unknown")
