"""Chicks with their fate and who rears them, as they stood on the last day, and those of whom nothing is written."""

from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.names import sorted_by_name
from analysis.needed import typed_frame
from analysis.rates import come_through
from analysis.season.days import WHO_WHEN, Rows, last_day
from analysis.season.hatches import Hatch, Moves
from analysis.season.model import Season
from analysis.season.rearers import Rearers, reared, reared_first
from analysis.season.species import keepers_species, species_facts, written_for

CHICKS = {
    **dict.fromkeys(("chick", "ring", "sex", "colour", "egg", "pair", "clutch", "cage", "species"), "str"),
    **{"hatched_at": "datetime64[us]", "hatched_at_timed": "bool", "sure_to_days": "float64"},
    **{"reared_by": "str", "by_hand": "bool", "rearer_asked": "str", "brooder": "str"},
    **{"first_reared_by": "str", "taken_on": "datetime64[us]", "taken_why": "str"},
    **dict.fromkeys(("arrived_on", "weaned_on", "left_on", "lost_on"), "datetime64[us]"),
    **{"fate": "str", "come_through": "float64", "file": "str", "row": "Int64"},
}
_AS_WRITTEN = ("ring", "sex", "colour", "egg", "hatched_at", "hatched_at_timed", "sure_to_days", "arrived_on")
NOT_WRITTEN = "species not written"
BY_HAND, BY_PARENTS = "by hand", "by parents"
_ASKED = "by whom is asked"  # of chicks whose keeper wrote a word that no log knows

_SILENT_D = 14  # practice: who is reared by hand is weighed every morning; after two weeks without a word it is asked
WEAN_PAST_D = 14  # practice: so long past its species' days a chick may still be fed
WEAN_D = 45.0  # practice: the age at weaning where none of a species was weaned yet, and nobody gives its days
_UNKNOWN_D = 120  # practice: weaned by then, where nobody gives a species' days; large macaws and cockatoos are later
_DAY = pd.Timedelta(days=1)


def chicks_frame(
    rows: Rows, hatches: list[Hatch], losses: pd.DataFrame, moves: Moves, today: pd.Timestamp | None, ledger: Ledger
) -> pd.DataFrame:
    """Return one row a chick, by name; a word in `reared_by` that no log knows is asked about."""
    lost = dict(zip(losses["chick"], losses["found_on"], strict=True))
    rearers = Rearers(rows, moves.aviary)
    chicks = []
    for h in hatches:
        if h.chick:
            ends = _ends(h.row, lost.get(h.chick), ledger)
            days = (ends["weaned_on"], ends["lost_on"], ends["left_on"], today)
            until = min((day for day in days if day is not None), default=None)
            moved = moves.between(h, h.row["hatched_at"], until)
            last = reared(h, moved[-1] if moved else None, moves.foster_pair(h), rearers, ledger)
            own = h.cells(moves.aviary) | {name: h.row[name] for name in _AS_WRITTEN}
            chicks.append(own | ends | last | reared_first(h, moved, last, moves, rearers))
    rearers.ask(ledger)
    frame = sorted_by_name(typed_frame(chicks, CHICKS), ["chick"])
    return frame.assign(come_through=_come_through(frame, rows))


def _come_through(chicks: pd.DataFrame, rows: Rows) -> pd.Series:
    """How far each chick still being reared, or gone before it was weaned, came: see `come_through`; 0 of all others.

    A season in which nobody is written as weaned or lost says nothing: there silence is no sign of life.
    """
    hatched = chicks["hatched_at"].dt.normalize()
    ended, known = chicks["fate"].isin(["weaned", "lost"]), chicks["hatched_at"].notna()
    if not ended.any() or not known.any():
        return pd.Series(0.0, index=chicks.index)
    ends = chicks["weaned_on"].fillna(chicks["lost_on"].where(chicks["fate"] == "lost")).fillna(chicks["left_on"])
    days = pd.DataFrame({"entry_d": chicks["arrived_on"] - hatched, "exit_d": ends.fillna(last_day(rows)) - hatched})
    spans = (days / _DAY).clip(lower=0).fillna(0.0).assign(lost=chicks["fate"] == "lost", fate=chicks["fate"])
    spans["exit_d"] = spans[["entry_d", "exit_d"]].max(axis=1)
    wean_d = chicks["species"].map(_typical_wean_d(chicks, rows)).astype(float)
    return come_through(spans[known], wean_d[known]).reindex(chicks.index, fill_value=0.0).mask(ended, 0.0)


def _typical_wean_d(chicks: pd.DataFrame, rows: Rows) -> dict[str, float]:
    """The age in days at which each species is weaned: the median here, else the keeper's days, else what was read."""
    age_d = (chicks["weaned_on"] - chicks["hatched_at"].dt.normalize()) / _DAY
    median = age_d[age_d > 0].groupby(chicks["species"]).median()
    own, days = keepers_species(rows["species"]), dict[str, float]()
    for species in chicks["species"].unique():
        row, read = own.get(same(species)), (facts := species_facts(species)) and facts.days("wean")
        written = [row[f"wean_{end}_d"] for end in ("from", "to") if row and row[f"wean_{end}_d"]]
        window = written or ([read.low, read.high] if read else [])
        days[species] = float(median.get(species, sum(window) / len(window) if window else WEAN_D))
    return days


def _ends(row: Row, lost_on: pd.Timestamp | None, ledger: Ledger) -> dict[str, Any]:
    """The days on which a chick was weaned, lost or left, and its fate.

    A death after weaning is weaned; of leaving and loss the earlier one counts.
    """
    weaned_on, left_on = row["weaned_on"], row["left_on"]
    if weaned_on is not None and lost_on is not None and weaned_on > lost_on:
        ledger.say("weaned-after-loss", row.place, "weaned_on", f"{weaned_on:%Y-%m-%d}")
        weaned_on = None
    lost = lost_on is not None and (left_on is None or lost_on <= left_on)
    fate = "weaned" if weaned_on is not None else "lost" if lost else "being reared" if left_on is None else "left"
    return {"weaned_on": weaned_on, "lost_on": lost_on, "left_on": left_on, "fate": fate}


def reared_at(chicks: pd.DataFrame) -> pd.Series:
    """Return the brooder of each chick that is reared by hand in a named one, else who rears it."""
    return chicks["brooder"].where(chicks["by_hand"] & (chicks["brooder"] != ""), chicks["reared_by"])


def kind_of(chicks: pd.DataFrame) -> pd.Series:
    """Return each chick's kind, as "cockatiel, by hand": chicks are held against others of their kind."""
    rearing = chicks["by_hand"].map({True: BY_HAND, False: BY_PARENTS}).where(chicks["rearer_asked"] == "", _ASKED)
    return chicks["species"].replace("", NOT_WRITTEN) + ", " + rearing


def kind_words(chicks: pd.DataFrame) -> dict[str, Finding]:
    """Return what each kind is called, by its name in `kind_of`."""
    kinds = {}
    about = zip(kind_of(chicks), chicks["species"], chicks["by_hand"], chicks["rearer_asked"], strict=True)
    for kind, species, by_hand, asked in about:
        rearing = "asked" if asked else "by-hand" if by_hand else "by-parents"
        kinds[kind] = found(f"season.kind-{rearing}", species=species or found("season.species-not-written"))
    return kinds


def chick_called(season: Season) -> dict[str, str]:
    """Return the chick that each name or ring leads to, by the name as `same` has it."""
    return season.once(chick_called, lambda: _called(season))


def _called(season: Season) -> dict[str, str]:
    rings = zip(season.chicks["ring"], season.chicks["chick"], strict=True)
    chicks = {same(chick): chick for chick in season.chicks["chick"]}
    return {same(ring): chick for ring, chick in rings if ring} | chicks


def unaccounted_chicks(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks that are written as being reared, and may not be here any more on a day, at midnight.

    Nothing was written of them for two weeks, and they are reared by hand and were written of before, or are two weeks
    past the days at which their species feeds itself. The season is to be opened up to the end of that day. A row a
    chick: chick, by_hand, last_record_on (the last day on which it was weighed, seen, fed or moved; NaT: none).

    Source: practice, see the numbers above; days of weaning as `species_facts` has them, the keeper's own first.
    """
    return season.once((unaccounted_chicks, on), lambda: _unaccounted(season, on))


def _unaccounted(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    chicks = season.chicks[season.chicks["fate"] == "being reared"]
    here_d = (on - chicks["hatched_at"].fillna(chicks["arrived_on"]).dt.normalize()).dt.days
    weaned_d = {species: _weaned_by_d(season, species) for species in chicks["species"].unique()}
    by_d = chicks["species"].map(weaned_d).astype(float).where(chicks["hatched_at"].notna()).fillna(_UNKNOWN_D)
    grown = here_d > by_d + WEAN_PAST_D
    last_record_on = pd.to_datetime(chicks["chick"].map(last_records(season, on)))
    silent = ~(last_record_on > on - _SILENT_D * _DAY)
    asked = silent & (grown | (chicks["by_hand"] & last_record_on.notna()))
    return chicks[["chick", "by_hand"]].assign(last_record_on=last_record_on)[asked].reset_index(drop=True)


def _weaned_by_d(season: Season, species: str) -> float | None:
    """The age in days by which a species feeds itself: the keeper's own, else what was read; None where nobody says."""
    own = [written_for(season.logs["species"], species, f"wean_{end}_d") for end in ("to", "from")]
    read = facts.days("wean") if (facts := species_facts(species)) else None
    return next((day for day in (*own, read.high if read else None) if day is not None), None)


def last_records(season: Season, on: pd.Timestamp) -> dict[str, pd.Timestamp]:
    """Return the last day, up to this one, on which each chick was weighed, seen, fed or moved."""
    logs = {"weights": season.weights, **season.logs}
    parts = [
        pd.DataFrame({"who": logs[log][who], "day": pd.to_datetime(logs[log][when]).dt.normalize()})
        for log, (who, when) in WHO_WHEN.items()
        if log in logs
    ]
    records = pd.concat(parts).dropna()
    last = records[records["day"] <= on].groupby("who")["day"].max()  # of each name first: there are few
    days: dict[str, pd.Timestamp] = last.groupby(last.index.map(same).map(chick_called(season))).max().to_dict()
    return days
