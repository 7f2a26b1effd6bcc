"""Losses: their causes in a short list of groups, which came together, and how long each chick was at risk."""

import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import folded, has_stem, same
from analysis.logs.tables import keepers_words
from analysis.needed import typed_frame
from analysis.rates import losses_by_age
from analysis.rates.stages import clutches_of
from analysis.say import in_words
from analysis.season.chicks import reared_at
from analysis.season.days import Rows
from analysis.season.hatches import Hatch, HatchIndex
from analysis.season.model import Season

LOSSES = {
    **{"chick": "str", "egg": "str", "found_on": "datetime64[us]", "last_seen_well_on": "datetime64[us]"},
    **{"age_d": "float64", "cause": "str", "cause_group": "str", "examined": "str"},
    **{"event": "str", "event_found": "object", "file": "str", "row": "Int64"},
}
HEAT_OR_POWER = "cold, heat or power"
_GROUPS: dict[str, list[str]] = keepers_words()["causes"]  # how the words begin that lead to each
NOT_KNOWN = "not known"
_OTHER = "other, as written"
_CODES = ("cold", "attacked", "crop", "breathing", "weak", "illness", "deformed", "disturbed", "not-known", "other")
_CALLED = {
    group: Finding(f"season.cause-{code}") for group, code in zip((*_GROUPS, NOT_KNOWN, _OTHER), _CODES, strict=True)
}
_UNSURE = tuple(keepers_words()["no_cause"]["words"])
_TOGETHER, _PAIRS = 3, 2  # so many chicks, of so many pairs
_DAY = pd.Timedelta(days=1)


def cause_group(cause: str) -> str:
    """Return the group of a cause as written."""
    words = folded(cause)
    if not words:
        return NOT_KNOWN
    for group, stems in _GROUPS.items():
        if has_stem(words, stems):
            return group
    return NOT_KNOWN if words.startswith(_UNSURE) else _OTHER


def cause_words(group: str) -> Words:
    """What a group of causes is called; one that is not ours as it stands."""
    return _CALLED.get(group, group)


def read_losses(rows: Rows, index: HatchIndex, ledger: Ledger) -> tuple[Rows, pd.DataFrame]:
    """Return the rows that are used, and one row a loss of a chick or an egg that the hatches know."""
    first: dict[tuple[str, str], Row] = {}
    losses, pairs = [], dict[str, str]()
    for row in rows["losses"]:
        column = "chick" if row["chick"] else "egg"
        h = (index.chick(row["chick"]) if row["chick"] else None) or index.egg(row[column])
        if h is None:
            index.drop_unknown(row, column, ledger, f"unknown-{column}")
            continue
        who = (h.chick, "" if h.chick else h.label)
        hatched = h.row["hatched_at"]
        age_d = math.nan if hatched is None else float((row["found_on"].normalize() - hatched.normalize()).days)
        if (earlier := first.get(who)) is not None:
            code = "repeated-row" if earlier.place.cells == row.place.cells else "second-loss"
            ledger.drop(code, row.place, "chick", row["chick"] or row["egg"], first=earlier.place.row)
        elif age_d < -(h.row["sure_to_days"] or 0):
            ledger.drop("loss-before-hatch", row.place, "found_on", f"{row['found_on']:%Y-%m-%d}")
        else:
            first[who], pairs[h.chick] = row, h.pair
            losses.append(_loss(row, h, age_d, ledger))
    frame = typed_frame(losses, LOSSES).sort_values(["found_on", "row"], ignore_index=True)
    return rows.used(ledger, "losses"), _with_events(frame, pairs)


def _loss(row: Row, h: Hatch, age_d: float, ledger: Ledger) -> dict[str, Any]:
    seen = row["last_seen_well_on"]
    if seen is not None and seen > row["found_on"]:
        ledger.say("seen-well-after-found", row.place, "last_seen_well_on", f"{seen:%Y-%m-%d}")
        seen = None
    about = {"chick": h.chick, "egg": "" if h.chick else h.row["egg"], "age_d": age_d, "event_found": ""}
    about |= {name: row[name] for name in ("found_on", "cause", "examined")}
    where = {"file": row.place.file, "row": row.place.row}
    return about | {"last_seen_well_on": seen, "cause_group": cause_group(row["cause"] or "")} | where


def _with_events(losses: pd.DataFrame, pairs: Mapping[str, str]) -> pd.DataFrame:
    """Fill in `event_found`, a Finding, and `event`, its words: three or more chicks of two or more pairs, on one day.

    This describes what came together and says nothing of chance.
    """
    for day, group in losses[losses["chick"] != ""].groupby("found_on"):
        of_pairs = group["chick"].map(pairs).nunique()
        if len(group) >= _TOGETHER and of_pairs >= _PAIRS:
            event = found("season.lost-together", chicks=len(group), pairs=of_pairs, day=pd.Timestamp(str(day)))
            losses.loc[group.index, "event_found"] = event
            losses.loc[group.index, "event"] = in_words(event)
    return losses


def chick_spans(season: Season) -> pd.DataFrame:
    """Return one row a chick of known age: from when to when it was watched, and where.

    A chick hatched here enters at age 0, one that arrived at the age it had then. It is watched until it was weaned,
    lost, left or, failing these, the last day. A loss is put half-way between the last good look and the finding
    (Green, Bird Ecology and Conservation, §3.3.6), or, where no look is written, on the day it was found. A chick that
    was moved is counted, for all its days, where it was last.

    Columns: chick, species, reared_by, event, entry_d and exit_d (age in days), lost; pair and clutch (that laid),
    brood (a number, the same for the chicks of a clutch), nest (the pair that reared it, or that laid it where no pair
    did: chicks of one nest share a fate), place (the cage of the pair that reared it; the brooder, or hand, where no
    pair did), cage (of the pair that laid), room (of the place; the place itself where it is no cage), hatched_at,
    came_on and out_on (days; a loss has the day it was found), fate, and wean_d, the age in days by which its
    species is weaned: the keeper's `wean_to_d`, or the latest age at which one of it was weaned this season, or the
    keeper's `wean_from_d`; missing where none is known.
    """
    chicks = season.chicks[season.chicks["hatched_at"].notna()]
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    hatched = chicks["hatched_at"].dt.normalize()
    of_chick = losses.reindex(chicks["chick"]).set_axis(chicks.index)
    lost = chicks["fate"].eq("lost")
    ends = chicks["weaned_on"].fillna(chicks["left_on"]).fillna(season.last_day)
    seen = of_chick["last_seen_well_on"].where(of_chick["last_seen_well_on"] >= hatched, chicks["lost_on"])
    out = (seen + (chicks["lost_on"] - seen) / 2).where(lost, ends)
    came_on = chicks["arrived_on"].where(chicks["arrived_on"] > hatched, hatched)
    out_on = chicks["lost_on"].where(lost, ends)
    spans = pd.DataFrame(
        {
            **{name: chicks[name] for name in ("chick", "species", "reared_by")},
            "event": of_chick["event_found"].fillna(""),
            "entry_d": ((chicks["arrived_on"] - hatched) / _DAY).clip(lower=0).fillna(0.0),
            "exit_d": ((out - hatched) / _DAY).clip(lower=0),
            "lost": lost,
            **{name: chicks[name] for name in ("pair", "clutch")},
            "brood": clutches_of(chicks),
            **_where(season, chicks),
            **{name: chicks[name] for name in ("cage", "hatched_at")},
            "came_on": came_on,
            "out_on": out_on.where(out_on > came_on, came_on),  # no chick goes before it came, whatever is written
            "fate": chicks["fate"],
            "wean_d": _wean_d(season, chicks, hatched),
        }
    )
    return spans.assign(exit_d=spans[["entry_d", "exit_d"]].max(axis=1, skipna=False)).reset_index(drop=True)


def ages_lost(season: Season) -> pd.DataFrame:
    """Return how old each chick was that was lost before weaning: the one count of losses by age.

    A row a chick, in the order of `season.chicks`: chick, lost_on, age_d (days from the day of hatch to the day it was
    found; NaN where either is not known).
    """
    lost = season.chicks[season.chicks["fate"] == "lost"]
    age = lost["lost_on"].dt.normalize() - lost["hatched_at"].dt.normalize()
    return lost[["chick", "lost_on"]].assign(age_d=age.dt.days.astype(float)).reset_index(drop=True)


def lost_by_age(season: Season) -> tuple[pd.DataFrame, int]:
    """Count the chicks lost before weaning by age when found, as `rates.losses_by_age`; then those of unknown age."""
    ages, spans = ages_lost(season).set_index("chick")["age_d"], chick_spans(season)
    age_d = spans["chick"].map(ages).fillna(spans["exit_d"])
    known = spans.assign(exit_d=age_d.where(age_d > spans["entry_d"], spans["entry_d"]))
    return losses_by_age(known), int(ages.isna().sum())


def _where(season: Season, chicks: pd.DataFrame) -> dict[str, pd.Series]:
    """Return nest, place and room of each chick."""
    pairs = dict(zip(season.pairs["pair"].map(same), season.pairs["cage"], strict=True))
    rooms = dict(zip(season.cages["cage"].map(same), season.cages["room"], strict=True))
    by = chicks["reared_by"].map(same)
    own = by == chicks["pair"].map(same)
    with_pair = own | by.isin(list(pairs))
    cage = pd.Series([pairs.get(name, "") for name in by], index=chicks.index, dtype="str")
    place = chicks["cage"].where(own, cage).where(with_pair, reared_at(chicks))
    room = [rooms.get(same(name), name) for name in place]
    nest = chicks["reared_by"].where(with_pair, chicks["pair"])
    return {"nest": nest, "place": place, "room": pd.Series(room, index=chicks.index, dtype="str")}


def _wean_d(season: Season, chicks: pd.DataFrame, hatched: pd.Series) -> pd.Series:
    """Age by which a chick's species is weaned."""
    species = chicks["species"].map(same)
    latest = ((chicks["weaned_on"] - hatched) / _DAY).groupby(species).max()
    log = season.logs.get("species", pd.DataFrame(columns=["species", "wean_from_d", "wean_to_d"]))
    own = log.assign(species=log["species"].map(same)).drop_duplicates("species").set_index("species")
    first, last = (pd.to_numeric(species.map(own[column])) for column in ("wean_from_d", "wean_to_d"))
    return last.fillna(species.map(latest)).fillna(first).astype(float)
