"""How long each chick's crop takes to empty after a feed, and which has slowed beside its own usual."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from analysis.chicks.fed import ONE_FEED, feeds_of
from analysis.chicks.feeding import COLDEST_C, FEED_FROM_C, FEED_ON, HATCHLING_D, USABLE_MIN, VET
from analysis.finding import ACT, LOOK, Finding, Words, found
from analysis.logs.headings import same
from analysis.logs.tables import AS_PACKET, THICKER, THINNER
from analysis.names import by_name
from analysis.season import SOON, Season

# Crop emptying time is to be watched, since it shows food that is not taken up: Duerr & Gage, Hand-Rearing Birds, 2020,
# p. 599. No source that was read gives hours beyond which a crop is slow, so each chick is held against itself: five
# feeds of the last four days, as feeds grow and come further apart (practice).
ENOUGH, USUAL_D = 5, 4
# Slower by half and by an hour: less is within when somebody looked (practice).
SLOWER, SLOWER_H = 1.5, 1.0
MUCH = 1.25  # a feed larger than its usual by a quarter stays longer (practice)
_RECENT_D = 2  # what was fed yesterday and today is of this morning
CROP = found("feeding.crop")
_DAY = pd.Timedelta(days=1)
_MORNING = pd.Timedelta(hours=5)  # what is fed before is a feed of the night (practice)
_NIGHT = "day.crop-night"
_COLUMNS = ["chick", "fed_at", "hours", "amount", "thickness", "temperature", "usual_h", "n", "usual_ml", "slow"]


def crop_times(season: Season, chicks: pd.Series, on: pd.Timestamp) -> pd.DataFrame:
    """Return the feeds up to the end of a day after which a chick's crop was seen empty, the oldest first.

    chick, fed_at, hours (at which it was seen empty), amount (ml), thickness and temperature (°C, of the feed or of the
    mix before it), usual_h and usual_ml (the middle of its feeds of the four days before; missing where these are fewer
    than five), n (how many they are), slow (whether it is slower than that by half and by an hour).

    By day alone: over a night nobody knows when it was empty. Where a feed came before the crop was empty, the hours
    are those of two feeds, and of neither.
    """
    rows = season.chicks[season.chicks["chick"].isin(chicks)].to_dict("records")
    parts = [_beside_its_own(_times(season, {str(key): cell for key, cell in row.items()}, on)) for row in rows]
    known = [part for part in parts if len(part)]
    return pd.concat(known, ignore_index=True) if known else pd.DataFrame(columns=_COLUMNS)


def _times(season: Season, row: dict[str, Any], on: pd.Timestamp) -> pd.DataFrame:
    feeds = feeds_of(season, row).sort_values("fed_at", kind="stable", ignore_index=True)
    feeds = feeds.assign(fed_at=pd.to_datetime(feeds["fed_at"]), empty=pd.to_datetime(feeds["crop_empty_at"]))
    feeds = feeds[feeds["fed_at"] < on + _DAY]
    mixes, feeds = feeds[feeds["mix"]], feeds[~feeds["mix"]]
    fed_at, empty = feeds["fed_at"], feeds["empty"]
    timed = (fed_at != fed_at.dt.normalize()) & (empty < on + _DAY) & (empty > fed_at)
    begun = fed_at.to_numpy()
    again = np.searchsorted(begun, fed_at + ONE_FEED, "right") < np.searchsorted(begun, empty.fillna(on + _DAY), "left")
    feeds = feeds[timed & (empty.dt.normalize() == fed_at.dt.normalize()) & ~again]
    of_mix = {name: _of_mix(feeds, mixes, name) for name in ("thickness", "temperature")}
    hours = (feeds["empty"] - feeds["fed_at"]) / pd.Timedelta(hours=1)
    return feeds[["fed_at", "amount"]].assign(chick=row["chick"], hours=hours, **of_mix)


def _of_mix(feeds: pd.DataFrame, mixes: pd.DataFrame, name: str) -> pd.Series:
    """How a feed was mixed, or how warm it was: as it is written of it, else of the last mix within the hour before."""
    known = mixes[mixes[name].notna()]
    if known.empty or feeds.empty:
        return feeds[name]
    at = np.searchsorted(known["fed_at"].to_numpy(), feeds["fed_at"].to_numpy(), "right") - 1
    last = known.iloc[np.maximum(at, 0)].set_axis(feeds.index)
    fresh = (at >= 0) & (feeds["fed_at"] - last["fed_at"] <= pd.Timedelta(minutes=USABLE_MIN))
    return feeds[name].astype(object).where(feeds[name].notna() | ~fresh, last[name].astype(object))


def _beside_its_own(times: pd.DataFrame) -> pd.DataFrame:
    """The same beside what was usual in the days before each."""
    day = times["fed_at"].dt.normalize().to_numpy()
    own, usual = times[["hours", "amount"]].to_numpy(dtype=float), np.full((len(times), 3), np.nan)
    for at in range(len(times)):
        before = own[:at][day[:at] >= day[at] - np.timedelta64(USUAL_D, "D")]
        known = before[~np.isnan(before[:, 1]), 1]
        usual[at] = np.nan, np.nan, len(before)
        if len(before) >= ENOUGH:
            usual[at, :2] = np.median(before[:, 0]), np.median(known) if len(known) else np.nan
    usual_h, slower = usual[:, 0], np.maximum(SLOWER * usual[:, 0], usual[:, 0] + SLOWER_H)
    slow = times["hours"].to_numpy(dtype=float) >= slower
    return times.assign(usual_h=usual_h, usual_ml=usual[:, 1], n=usual[:, 2].astype(int), slow=slow)[_COLUMNS]


def with_slow_crops(nursery: pd.DataFrame, times: pd.DataFrame, season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Add what crops say to `vet`, `look` and `rank` of `with_concerns`; `times` from `crop_times`.

    One slow feed of yesterday or today is looked at; two running call a veterinarian, and such a chick is `slow`. Food
    that outlasted the night is looked at, and a word where the hour should stand is asked about.
    """
    newest = times[times["fed_at"] >= on - (_RECENT_D - 1) * _DAY].groupby("chick").tail(1)
    slow = newest[newest["slow"].astype(bool)].set_index("chick")
    twice = times.groupby("chick")["slow"].agg(lambda own: len(own) > 1 and bool(own.iloc[-2:].all())).to_dict()
    asked, rows = _asked(season, nursery, on), []
    for chick in nursery.itertuples():
        others, vet, look, rank = asked.get(chick.chick, []), chick.vet, chick.look, chick.rank
        again = chick.chick in slow.index and twice[chick.chick]
        seen = [_seen(slow, chick.chick)] if chick.chick in slow.index else []
        seen += [one for one in others if one.code == _NIGHT]
        if again:
            ends = (found("day.not-warm", level=ACT) if chick.hot else VET, FEED_ON)
            vet = (*vet[:1], *seen, found("day.crop-slow-twice"), *(vet[1:] if vet else ends))
            rank = min(rank, SOON.index("today"))
        elif vet:  # what was seen of it may be more pressing, and what to do stands at the end
            vet = (*vet[:1], *seen, *vet[1:])
        elif seen:
            look = (*seen, found("day.crop-slow-look"), *look)
        look = (*look, *(one for one in others if one.code != _NIGHT))
        rows.append((vet, look, rank, again))
    table = pd.DataFrame(rows, columns=["vet", "look", "rank", "slow"], index=nursery.index)
    return nursery.assign(**table.astype({"slow": bool}).to_dict("series"))


def _seen(slow: pd.DataFrame, chick: str) -> Finding:
    """How slow a crop was, and what of that feed may have slowed it."""
    newest, others = slow.loc[chick], [name for name in by_name(slow.index) if name != chick]
    hours = {"hours": round(newest["hours"], 1), "usual": round(newest["usual_h"], 1), "n": int(newest["n"])}
    why: list[Words] = [found("day.crop-thicker")] if newest["thickness"] == THICKER else []
    celsius = float(newest["temperature"]) if pd.notna(newest["temperature"]) else np.nan
    why += [found("day.crop-cool", celsius=celsius)] if COLDEST_C <= celsius < FEED_FROM_C else []
    much = newest["amount"] > MUCH * newest["usual_ml"]
    why += [found("day.crop-much", ml=newest["amount"], usual=newest["usual_ml"])] if much else []
    why += [found("day.crop-others", chicks=others)] if others else []
    because = found("day.all-of", parts=why) if why else None
    return found("day.crop-slow", level=LOOK, at=newest["fed_at"], **hours, why=because)


def _asked(season: Season, nursery: pd.DataFrame, on: pd.Timestamp) -> dict[str, list[Finding]]:
    """What else crops ask, by chick: words in the place of the hour, and food that outlasted the night."""
    of_row = {at: found("day.crop-word", level=LOOK, word=word) for at, word in _words_for_hours(season, on).items()}
    of_row |= {(one.file, int(one.row)): _outlasted(one) for one in _late(season.logs["feeds"], on).itertuples()}
    asked: dict[str, list[Finding]] = {}
    chicks = season.chicks.set_index("chick", drop=False)
    for chick in nursery.itertuples() if of_row else ():
        feeds = feeds_of(season, {str(key): cell for key, cell in chicks.loc[chick.chick].items()})
        for file, row, fed_at in zip(feeds["file"], feeds["row"], feeds["fed_at"], strict=True):
            one = of_row.get((file, int(row)))
            by_night = one is not None and one.code == _NIGHT and chick.age_d < HATCHLING_D  # fed all night
            since = chick.crop == "empty" and chick.crop_on > fed_at
            said = one is not None and one in asked.get(chick.chick, [])
            if one is not None and not said and not by_night and (one.code == _NIGHT or not since):
                asked.setdefault(chick.chick, []).append(one)
    return {who: list(dict.fromkeys(ones)) for who, ones in asked.items()}


def _words_for_hours(season: Season, on: pd.Timestamp) -> dict[tuple[str, int], str]:
    """Words that stand where the hour of an empty crop should, beside feeds of yesterday and today, by file and row."""
    odd = season.problems[season.problems["code"].eq("unreadable-hour") & season.problems["row"].notna()]
    feeds = season.logs["feeds"]
    fed_at = dict(zip(zip(feeds["file"], feeds["row"], strict=True), pd.to_datetime(feeds["fed_at"]), strict=True))
    words = {(one.file, int(one.row)): str(one.value) for one in odd.itertuples()}
    since, until = on - (_RECENT_D - 1) * _DAY, on + _DAY
    return {at: word for at, word in words.items() if at in fed_at and since <= fed_at[at] < until}


def _late(feeds: pd.DataFrame, on: pd.Timestamp) -> pd.DataFrame:
    """Feeds of the evening whose food was still there when the feeding of this morning had begun an hour before."""
    fed_at, empty = (pd.to_datetime(feeds[column]) for column in ("fed_at", "crop_empty_at"))
    morning = fed_at[(fed_at >= on + _MORNING) & (fed_at < on + _DAY)].min()
    return feeds[(fed_at < on) & (empty < on + _DAY) & (empty > morning + ONE_FEED)]


def _outlasted(feed: Any) -> Finding:
    hours = round((feed.crop_empty_at - feed.fed_at) / pd.Timedelta(hours=1), 1)
    return found(_NIGHT, level=LOOK, at=feed.crop_empty_at, hours=hours, fed=feed.fed_at)


def crop_findings(times: pd.DataFrame, on: pd.Timestamp) -> Iterator[Finding]:
    """Say how long each crop took by day in the last days, or that its feeds are too few to tell."""
    recent = times[times["fed_at"] >= on - USUAL_D * _DAY]
    usual, few = [], []
    for chick in by_name(recent["chick"].unique()):
        hours = recent.loc[recent["chick"] == chick, "hours"].astype(float)
        if len(hours) < ENOUGH:
            few.append(found("day.crop-few", chick=chick, n=len(hours)))
            continue
        low, middle, high = hours.quantile([0, 0.5, 1]).round(1)
        usual.append(found("day.crop-usual", chick=chick, hours=middle, low=low, high=high, n=len(hours)))
    parts = [found("day.crop-usuals", days=USUAL_D, usual=usual)] if usual else []
    parts += [found("day.crop-not-enough", enough=ENOUGH, few=few)] if few else []
    if parts:
        yield found("day.all-of", about=found("day.crop-times-of"), parts=parts)


def crop_history(season: Season, chick: str) -> Finding | None:
    """Return how long a chick's crop took by day in the last days it was fed; None where its feeds are too few."""
    times = crop_times(season, pd.Series([chick]), season.day)
    times = times[times["fed_at"] >= times["fed_at"].max() - USUAL_D * _DAY]
    if len(times) < ENOUGH:
        return None
    low, middle, high = times["hours"].astype(float).quantile([0, 0.5, 1]).round(1)
    facts = {"hours": middle, "low": low, "high": high, "n": len(times), "last": times["fed_at"].max()}
    slow = [found("chicks.crop-slow-on", at=at) for at in times.loc[times["slow"].astype(bool), "fed_at"]]
    return found("chicks.crop-emptied", **facts, slow=slow)


def mixed_otherwise(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Say which mixes and feeds of yesterday and today were written to be otherwise than the packet says."""
    feeds = season.logs["feeds"].sort_values("fed_at", kind="stable")
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    feeds = feeds[(day > on - _RECENT_D * _DAY) & (day <= on) & feeds["thickness"].notna()]
    for _, own in feeds[feeds["thickness"] != AS_PACKET].groupby(feeds["thickness"].map(same), sort=False):
        last, who = own.iloc[-1], by_name(own["who"].dropna().unique())
        code = last["thickness"] if last["thickness"] in (THICKER, THINNER) else "otherwise"
        whose = who if own["who"].notna().all() else []
        yield found(f"day.mixed-{code}", level=LOOK, at=last["fed_at"], word=last["thickness"], who=whose)
