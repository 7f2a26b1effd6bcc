"""What else is read of before the round: chicks with their parents, birds and pairs, losses, hot food, places."""

from collections.abc import Iterator

import pandas as pd

from analysis.feeding import CAP, REFUSE_FROM_C, VET
from analysis.findings import Growth, called_by_rule, warnings
from analysis.logs.names import same
from analysis.nursery.brooders import Read, brooders_read
from analysis.nursery.incubators import HEATER_OUT_C, OPEN_OVER_C, incubator_said
from analysis.nursery.who import nobody_knows_who_feeds
from analysis.season import OPEN_D, SOON, Season, asked_by, chick_called, signs_of, signs_seen
from analysis.words import begun, count_words, day_words, grams, listed

RECENT_D = 2  # readings, food and losses older than this are not of this morning (practice)
OVER_CAP = 1.2  # a feed over the cap by a fifth and more is spoken of (practice)
AT_ONCE, NEXT_FEED, TODAY, LOOK = (
    SOON.index(soon) for soon in ("at once", "before the next feed", "today", "look again")
)
FEEL = (
    "Feel every other chick before it is fed: a cold one is warmed slowly, a hot one cooled first, and neither is fed "
    "until it has settled; an avian veterinarian, today, for any that is weak."
)
_DAY = pd.Timedelta(days=1)


def elsewhere(growth: Growth, nursery: pd.DataFrame, on: pd.Timestamp) -> list[Read]:
    """Return (how pressing, who, where or what, sentence) for what concerns others than each chick fed by hand.

    Parameters
    ----------
    growth : of a season opened up to the end of the day
    nursery : the chicks fed by hand, as `in_the_nursery`
    on : the day
    """
    season, names = growth.season, {same(chick) for chick in nursery["chick"]}
    found: list[Read] = [(NEXT_FEED, *item) for item in nobody_knows_who_feeds(season, on)]
    found += [*_flagged(growth, names, on), *_seen(season, names, on), *_lost(season, on)]
    found += [*_hot(season, on), *_in_the_other_unit(season, on), *_too_much(season, on)]
    return [*found, *brooders_read(nursery, last_read(season, on))]


def _flagged(growth: Growth, names: set[str], on: pd.Timestamp) -> Iterator[Read]:
    """Chicks with their parents whose weights call a veterinarian, or ask for a look."""
    flags = warnings(growth, on)
    rule = called_by_rule(growth, on)
    flags = flags[~flags["back"]].assign(rank=flags["level"].map({"act": TODAY}).fillna(LOOK).astype(int))
    rule = rule[~rule["chick"].isin(flags.loc[flags["rank"] == TODAY, "chick"])]
    called = set(flags.loc[flags["rank"] == TODAY, "chick"])
    flags = flags[(flags["rank"] == TODAY) | ~flags["chick"].isin(called)]
    rule = rule.assign(said=[f"{said} {VET}" for said in rule["said"]], rank=TODAY)
    found = pd.concat([flags[["chick", "said", "rank"]], rule[["chick", "said", "rank"]]])
    found = found[~found["chick"].map(same).isin(names)]
    reared_by = growth.season.chicks.set_index("chick")["reared_by"]
    for chick, own in found.astype({"chick": object}).groupby("chick", sort=True):
        by = reared_by[chick]
        yield int(own["rank"].min()), str(chick), f"with {by}" if by else "", " ".join(own["said"])


def _seen(season: Season, names: set[str], on: pd.Timestamp) -> Iterator[Read]:
    """Signs of the last days, of birds, pairs and chicks that are not fed by hand and still here."""
    seen = signs_seen(season)
    called, gone = chick_called(season), {same(chick) for chick in _gone(season)}
    whose = seen["who"].map(lambda who: same(called.get(same(who)) or str(who)))
    open_yet = (seen["day"] >= on - OPEN_D * _DAY) & ~seen["good"] & ~seen["over"] & ~whose.isin(names | gone)
    for who, own in seen[open_yet].groupby("who", sort=True):
        signs = signs_of(own["sign"], "chick" if same(who) in called else "bird")
        notes = "; ".join(dict.fromkeys(note for note in own["notes"] if note))
        written = f" As written: {notes}." if notes else ""
        told = f"{begun(listed(sign.name for sign in signs))}, seen {day_words(own['seen_at'].max())}."
        yield signs[0].rank, str(who), "", f"{told} {asked_by(signs)}{written}"


def _gone(season: Season) -> set[str]:
    """Chicks that were lost or have left: nothing is asked of them."""
    return set(season.chicks.loc[season.chicks["fate"].isin(["lost", "left"]), "chick"])


def _fed(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Feeds of yesterday and today, with whose they were and when, in words; those of one that is gone are nobody's."""
    feeds = season.logs["feeds"]
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    fed = feeds[(day > on - RECENT_D * _DAY) & (day <= on)]
    timed = [at != at.normalize() for at in fed["fed_at"]]
    when = [f"{at:%H:%M}" if clock else day_words(at) for at, clock in zip(fed["fed_at"], timed, strict=True)]
    called, gone = chick_called(season), _gone(season)
    named = [isinstance(who, str) and who and called.get(same(who)) not in gone for who in fed["who"]]
    whose = [who if here else "Whoever was fed" for who, here in zip(fed["who"], named, strict=True)]
    return fed.assign(whose=whose, when=when)


def _hot(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Food hot enough to burn a crop, as it was written in the last days; no setting makes hotter food safe."""
    fed = _fed(season, on)
    limit = min(season.settings.number("formula_burn_c"), REFUSE_FROM_C)
    for row in fed[fed["temperature"] >= limit].itertuples():
        said = f"Food of {row.temperature:.1f} °C is written at {row.when}: it burns a crop. If it was fed: {_BURNT}"
        yield AT_ONCE, row.whose, "", said


_BURNT = (
    "an avian veterinarian, now, also where nothing is to be seen yet: a burn of the crop shows days later "
    "(LafeberVet, pediatric avian medicine). Ask there how it is fed on."
)


def burnt_chicks(season: Season, on: pd.Timestamp) -> set[str]:
    """The chicks named beside food that was hot enough to burn."""
    called = chick_called(season)
    named = {called.get(same(who)) for _, who, _, _ in (*_hot(season, on), *_in_the_other_unit(season, on))}
    return {str(chick) for chick in named if chick}


def _in_the_other_unit(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Temperatures of food that read like the other unit, and were left out for it: asked about where they burn so."""
    problems = season.problems[(season.problems["code"] == "other-temperature") & season.problems["row"].notna()]
    written = {
        (str(file), int(row)): float(value)
        for file, row, value in zip(problems["file"], problems["row"], problems["value"], strict=True)
    }
    for row in _fed(season, on).itertuples():
        value = written.get((str(row.file), int(row.row)))
        celsius = None if value is None else (value - 32) / 1.8
        if celsius is None or celsius < REFUSE_FROM_C or season.settings["temperature_unit"] != "C":
            continue
        said = (
            f"{value:g} is written as the temperature of its food at {row.when}. No food is so hot in °C; in °F it is "
            f"{celsius:.1f} °C, and that burns a crop. Ask who fed it. If it was fed so hot: {_BURNT}"
        )
        yield AT_ONCE, row.whose, "", said


def _too_much(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Feeds far over the cap, by the last weight that stands in the logs before them."""
    weights = season.weights[season.weights["together"] == 1].sort_values("weighed_at", kind="stable")
    called = chick_called(season)
    for row in _fed(season, on).dropna(subset="amount").itertuples():
        chick = called.get(same(row.whose))
        mine = weights[(weights["chick"] == chick) & (weights["weighed_at"].dt.normalize() <= row.fed_at)]
        if mine.empty or not row.amount > OVER_CAP * CAP * mine["mass_g"].iloc[-1]:
            continue
        mass_g = float(mine["mass_g"].iloc[-1])
        said = (
            f"{row.amount:g} ml is written at {row.when} for a chick of {grams(mass_g)} g; at most about a tenth, "
            f"{CAP * mass_g:.1f} ml, is given at a feed. Is the number right? If it was fed: nothing more until its "
            "crop is nearly empty. Food at its nostrils, hard breathing or a tight crop: an avian veterinarian, now. "
            "Never press the crop."
        )
        yield NEXT_FEED, str(chick), "", said


def _lost(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Losses found since yesterday: whoever shared their night is felt first."""
    losses = season.losses[
        (season.losses["chick"] != "") & (season.losses["found_on"].dt.normalize() > on - RECENT_D * _DAY)
    ]
    if len(losses):
        causes = listed(dict.fromkeys(cause for cause in losses["cause"] if cause))
        written = f" As written: {causes}." if causes else ""
        lost = f"{count_words(len(losses), 'chick')} found lost since yesterday: {listed(losses['chick'])}."
        yield AT_ONCE, "Lost", "", f"{lost}{written} {FEEL}"


def last_read(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """The last temperature of each place, of yesterday or today."""
    readings = season.logs["readings"]
    day = pd.to_datetime(readings["read_at"]).dt.normalize()
    recent = readings[readings["temperature"].notna() & (day > on - RECENT_D * _DAY) & (day <= on)]
    recent = recent.sort_values("read_at", kind="stable")
    return recent.assign(name=recent["place"].map(same)).groupby("name", sort=True).tail(1)


def incubators_read(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Incubators with eggs in them whose last reading is out of range."""
    low_c, high_c = (season.settings.number(name) for name in ("incubator_from_c", "incubator_to_c"))
    eggs = season.eggs[season.eggs["outcome"] == "still incubating"]
    inside = eggs.groupby(eggs["incubated_by"].map(same))["egg"].agg(list)
    for row in last_read(season, on).itertuples():
        said = incubator_said(float(row.temperature), row.read_at, on, low_c, high_c)
        if said and row.name in inside.index:
            held = f"{count_words(len(inside[row.name]), 'egg')} in it"
            yield LOOK if HEATER_OUT_C <= row.temperature <= OPEN_OVER_C else AT_ONCE, str(row.place), held, said
