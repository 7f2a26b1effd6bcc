"""Who is fed by hand on a day: each chick's age, its last weights and what was seen of it."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.chicks.of_season import first_of_day
from analysis.finding import Finding, found
from analysis.logs import STAGES
from analysis.logs.headings import same
from analysis.logs.tables import NOT_EMPTYING
from analysis.names import sorted_by_name
from analysis.season import OPEN_D, Season, chick_called, in_quarantine, signs_seen, unaccounted_chicks

EATS, _NOT_YET = "eating alone", ("begging again", "not eating")  # the latest of them counts
LONGEST_NOTE = 150  # characters of a note that a page to write on repeats
_DAY = pd.Timedelta(days=1)


def in_the_nursery(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks that are fed by hand on a day, by name; of whom nobody knows whether they are here, none.

    `season` is opened up to the end of that day; `on`, at midnight, may be later than the last day of the logs.

    chick, species, pair, ring; hatched_at, hatched_at_timed, sure_to_days; age_d: whole days since the day of hatch,
    missing where that is not known; age: see `age_of`; bought_in, and still kept apart; today_g: this morning's weight;
    last_, before_ and third_on and _g: the three weighings before today; crop and crop_on: of the last weighing, whose
    weight may be unusable ("" where it was not written), odd_crop: another word that stands there, crop_before: of the
    morning before that; peak_g: the heaviest it was; falls: how many weighings running it fell, up to the newest; signs
    of the last days, (name, day) each, and notes; eats: whether it was seen eating alone; stage: of its feathers, as
    written last; brooder: which it is in. Weighings of several chicks together count for none of them.
    """
    unaccounted = season.chicks["chick"].isin(unaccounted_chicks(season, on)["chick"])
    here = season.chicks["fate"].eq("being reared") & ~unaccounted
    chicks = sorted_by_name(season.chicks[here & season.chicks["by_hand"]], ["chick"])
    frame = chicks[["chick", "species", "pair", "ring", "hatched_at", "hatched_at_timed", "sure_to_days"]].copy()
    frame["age_d"] = (on - chicks["hatched_at"].dt.normalize()).dt.days.astype(float)
    frame["bought_in"], frame["brooder"] = in_quarantine(season, chicks["arrived_on"], on), chicks["brooder"]
    frame["age"] = pd.Series([age_of(chick) for chick in frame.itertuples()], index=frame.index, dtype=object)
    weights = season.weights[(season.weights["together"] == 1) & season.weights["chick"].isin(set(frame["chick"]))]
    # What stands in the place of empty, part or full beside a weighing, where it is another word.
    odd = season.problems[(season.problems["column"] == "crop") & season.problems["row"].notna()]
    words = {(one.file, int(one.row)): str(one.value) for one in odd.itertuples()}
    at = zip(weights["file"], weights["row"].astype(int), strict=True)
    weights = weights.assign(odd_crop=[words.get(cell, "") for cell in at])
    seen = first_of_day(weights)
    frame = frame.join(_weighed(seen, on), on="chick").join(_crops(seen, season.crops, on), on="chick")
    crops = ["crop", "crop_before", "odd_crop"]
    frame[crops] = frame[crops].astype(object).fillna("")
    return frame.join(_seen(season, on, list(frame["chick"])), on="chick")


def nobody_knows_who_feeds(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Ask who feeds the chicks that are here, for each word in `reared_by` that no log knows."""
    asked = season.chicks[(season.chicks["fate"] == "being reared") & (season.chicks["rearer_asked"] != "")]
    asked = asked[~asked["chick"].isin(unaccounted_chicks(season, on)["chick"])]
    for _, own in asked.groupby(asked["rearer_asked"].map(same), sort=False):
        word, names = _short(str(own["rearer_asked"].iloc[0])), own["chick"].tolist()
        about = names[0] if len(names) == 1 else found("day.chicks", names=names)
        yield found("day.rearer-not-known", about=about, word=word)


def age_of(chick: Any, *, brief: bool = False) -> Finding:
    """Say an age as far as it is known, of a row with age_d, sure_to_days, hatched_at and hatched_at_timed."""
    if pd.isna(chick.age_d):
        return found("day.age-not-known")
    if chick.age_d < 1:
        return found("day.hatched-at", at=chick.hatched_at) if chick.hatched_at_timed else found("day.hatched-today")
    days = round(chick.age_d)
    if not chick.sure_to_days > 1:
        return found("day.age", days=days)
    return found("day.age-about-brief" if brief else "day.age-about", days=days, give=float(chick.sure_to_days))


def _short(note: str) -> str:
    """A note, cut where it is too long for a page to write on."""
    return note if len(note) <= LONGEST_NOTE else f"{note[:LONGEST_NOTE]}…"


def _weighed(seen: pd.DataFrame, on: pd.Timestamp) -> pd.DataFrame:
    """The weighing of the day and the two before it, one row a chick; of several on a day the first counts."""
    earlier = seen[seen["day"] < on]
    back = earlier.groupby("chick").cumcount(ascending=False)
    columns = {"today_g": seen[seen["day"] == on].set_index("chick")["mass_g"]}
    for name, place in (("last", 0), ("before", 1), ("third", 2)):
        mine = earlier[back == place].set_index("chick")
        columns |= {f"{name}_g": mine["mass_g"], f"{name}_on": mine["day"]}
    upto = seen[seen["day"] <= on]
    fell = upto.groupby("chick")["mass_g"].diff() < 0
    running = fell[::-1].groupby(upto["chick"][::-1]).cumprod()
    falls = running.astype(int).groupby(upto["chick"]).sum()
    return pd.DataFrame(columns | {"peak_g": heaviest(upto), "falls": falls})


def _crops(seen: pd.DataFrame, alone: pd.DataFrame, on: pd.Timestamp) -> pd.DataFrame:
    """The crop of the last morning and of the one before it, a row a chick; beside a weight that is not used too."""
    seen = pd.concat([seen[list(alone)], alone]).sort_values("weighed_at", kind="stable")
    seen = seen.assign(day=seen["weighed_at"].dt.normalize(), blank=(seen["crop"] + seen["odd_crop"]).eq(""))
    seen = seen[seen["day"] <= on].sort_values(["day", "blank"], kind="stable").drop_duplicates(["chick", "day"])
    back = seen.groupby("chick").cumcount(ascending=False)
    newest, one_before = (seen[back == place].set_index("chick") for place in (0, 1))
    running = newest["day"] - one_before["day"].reindex(newest.index) <= _DAY
    crop_before = one_before["crop"].reindex(newest.index).where(running, "")
    return newest[["crop", "odd_crop"]].assign(crop_on=newest["day"], crop_before=crop_before)


def heaviest(weights: pd.DataFrame) -> pd.Series:
    """Return the heaviest that each chick was, by the middle of three weighings: a slip of the pen is no peak."""
    middle = weights.groupby("chick")["mass_g"].transform(lambda own: own.rolling(3, center=True).median().fillna(own))
    inner = weights.groupby("chick").cumcount().gt(0) & weights.groupby("chick").cumcount(ascending=False).gt(0)
    inner |= weights.groupby("chick")["mass_g"].transform("size") < 3
    return middle[inner].groupby(weights["chick"]).max()


def _seen(season: Season, on: pd.Timestamp, chicks: list[str]) -> pd.DataFrame:
    """What was seen of each chick: signs, seen_on, notes, eats and stage."""
    seen = signs_seen(season)
    seen = seen.assign(chick=seen["who"].map(same).map(chick_called(season)))
    seen = seen[seen["day"] <= on].sort_values("seen_at", kind="stable")
    empty = season.weights[season.weights["crop"] == "empty"]
    emptied = empty.groupby("chick")["weighed_at"].max().dt.normalize().to_dict()
    over = seen["sign"].eq(NOT_EMPTYING) & (seen["day"] < pd.to_datetime(seen["chick"].map(emptied)))
    bad = seen[(seen["day"] >= on - OPEN_D * _DAY) & ~seen["good"] & ~seen["over"] & ~over]
    last = seen[seen["sign"].isin((EATS, *_NOT_YET))].groupby("chick")["sign"].last()
    eats = set(last.index[last == EATS])
    stages = seen[seen["sign"].isin(STAGES)].groupby("chick")["sign"].last().to_dict()
    rows = []
    for chick in chicks:
        mine = bad[bad["chick"] == chick]
        notes = _short("; ".join(dict.fromkeys(note for note in mine["notes"] if note)))
        signs = tuple(mine.groupby("sign", sort=False)["day"].max().items())
        rows.append((signs, notes, chick in eats, stages.get(chick, "")))
    return pd.DataFrame(rows, columns=["signs", "notes", "eats", "stage"], index=pd.Index(chicks, name="chick"))
