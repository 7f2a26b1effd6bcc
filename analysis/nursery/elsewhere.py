"""What else is read of before the round: chicks with their parents, birds and pairs, losses, hot food, places."""

import re
from collections.abc import Iterator

import pandas as pd

from analysis.feeding import CAP, OVER_CAP, REFUSE_FROM_C, VET
from analysis.findings import Growth, called_by_rule, warnings
from analysis.logs.names import same
from analysis.nursery.brooders import Read, brooders_read
from analysis.nursery.care import FELL_FAR
from analysis.nursery.incubators import HEATER_OUT_C, OPEN_OVER_C, incubator_said
from analysis.nursery.who import heaviest, nobody_knows_who_feeds
from analysis.say import in_words
from analysis.season import OPEN_D, SOON, Season, asked_by, chick_called, is_formula, signs_of, signs_seen
from analysis.words import begun, count_words, day_words, grams, listed, percent

RECENT_D = 2  # readings, food and losses older than this are not of this morning (practice)
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
    found += [*_flagged(growth, names, on), *_weaned_and_light(season, on)]
    found += [*_seen(season, names, on), *_lost(season, on)]
    found += [*_hot(season, on), *_in_the_other_unit(season, on), *_too_much(season, on)]
    last = last_read(season, on)
    notes = dict(zip(last["place"], last["note"], strict=True))
    return [*found, *((rank, who, of, said + notes[who]) for rank, who, of, said in brooders_read(nursery, last))]


def _flagged(growth: Growth, names: set[str], on: pd.Timestamp) -> Iterator[Read]:
    """Chicks with their parents whose weights call a veterinarian, or ask for a look."""
    flags = warnings(growth, on)
    rule = called_by_rule(growth, on)
    flags = flags[~flags["back"]].assign(rank=flags["level"].map({"act": TODAY}).fillna(LOOK).astype(int))
    rule = rule[~rule["chick"].isin(flags.loc[flags["rank"] == TODAY, "chick"])]
    called = set(flags.loc[flags["rank"] == TODAY, "chick"])
    flags = flags[(flags["rank"] == TODAY) | ~flags["chick"].isin(called)]
    rule = rule.assign(said=[f"{in_words(said)} {VET}" for said in rule["said"]], rank=TODAY)
    found = pd.concat([flags[["chick", "said", "rank"]], rule[["chick", "said", "rank"]]])
    found = found[~found["chick"].map(same).isin(names)]
    reared_by = growth.season.chicks.set_index("chick")["reared_by"]
    for chick, own in found.astype({"chick": object}).groupby("chick", sort=True):
        by = reared_by[chick]
        yield int(own["rank"].min()), str(chick), f"with {by}" if by else "", in_words(own["said"])


def _weaned_and_light(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Chicks that are written as weaned, are weighed on, and are far below their heaviest."""
    weights = season.weights[(season.weights["together"] == 1) & (season.weights["weighed_at"].dt.normalize() <= on)]
    weaned_on = season.chicks[season.chicks["fate"] == "weaned"].set_index("chick")["weaned_on"].to_dict()
    weights = weights[weights["chick"].isin(list(weaned_on))].sort_values("weighed_at", kind="stable")
    peak_g = heaviest(weights)
    for row in weights.groupby("chick").tail(1).itertuples():
        below = 1 - row.mass_g / peak_g[row.chick]
        since = max(weaned_on[row.chick], on - RECENT_D * _DAY)
        if below > FELL_FAR and row.weighed_at.normalize() > since:
            said = f"{grams(row.mass_g)} g is {percent(below)} below its heaviest, {grams(peak_g[row.chick])} g, and it"
            yield TODAY, str(row.chick), "weaned", f"{said} is written as weaned: back to feeding by hand. {VET}"


def _seen(season: Season, names: set[str], on: pd.Timestamp) -> Iterator[Read]:
    """Signs of the last days, of birds, pairs and chicks that are not fed by hand and still here."""
    seen = signs_seen(season)
    called, gone = chick_called(season), {same(chick) for chick in _gone(season)}
    whose = seen["who"].map(lambda who: same(called.get(same(who)) or str(who)))
    signs = season.logs["signs"]
    unknown = {same(who) for who, known in zip(signs["who"], signs["known"], strict=True) if not known}
    open_yet = (seen["day"] >= on - OPEN_D * _DAY) & ~seen["good"] & ~seen["over"] & ~whose.isin(names | gone)
    for who, own in seen[open_yet].groupby("who", sort=True):
        kinds = ("chick", "bird") if same(who) in unknown else ("chick",) if same(who) in called else ("bird",)
        signs = min((signs_of(own["sign"], kind) for kind in kinds), key=lambda found: found[0].rank)
        asked = f"No {who} in your logs: which chick or bird? " if same(who) in unknown else ""
        notes = "; ".join(dict.fromkeys(note for note in own["notes"] if note))
        written = f" As written: {notes}." if notes else ""
        told = f"{begun(listed(sign.name for sign in signs))}, seen {day_words(own['seen_at'].max())}."
        yield signs[0].rank, str(who), "", f"{asked}{told} {asked_by(signs)}{written}"


def _gone(season: Season) -> set[str]:
    """Chicks that were lost or have left: nothing is asked of them."""
    return set(season.chicks.loc[season.chicks["fate"].isin(["lost", "left"]), "chick"])


def _fed(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Feeds of formula of yesterday and today, a row for each that a feed names.

    Beside the log: whose (of one that is gone: nobody's) and when, in words; shared: how many it names.
    """
    feeds = season.logs["feeds"]
    feeds = feeds[feeds["food"].map(lambda food: is_formula(food if isinstance(food, str) else "")).astype(bool)]
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    fed = feeds[(day > on - RECENT_D * _DAY) & (day <= on)]
    called, gone = chick_called(season), _gone(season)
    names = [_named(who, called) for who in fed["who"]]
    fed = fed.assign(who=pd.Series(names, index=fed.index, dtype=object), shared=[len(one) for one in names])
    fed = fed.explode("who")
    timed = [at != at.normalize() for at in fed["fed_at"]]
    when = [f"{at:%H:%M}" if clock else day_words(at) for at, clock in zip(fed["fed_at"], timed, strict=True)]
    named = [isinstance(who, str) and who and called.get(same(who)) not in gone for who in fed["who"]]
    whose = [who if here else "Whoever was fed" for who, here in zip(fed["who"], named, strict=True)]
    return fed.assign(whose=whose, when=when)


def _named(who: object, called: dict[str, str]) -> list[object]:
    """Whom a feed names: chicks that the logs know, where it names several, else what is written."""
    if not isinstance(who, str) or same(who) in called:
        return [who]
    for between in (r"[,;+&/]|\band\b", r"[,;+&/\s]+(?:and\s)?\s*"):
        parts = [part for part in map(str.strip, re.split(between, who)) if part]
        if len(parts) > 1 and all(same(part) in called for part in parts):
            return list(parts)
    return [who]


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
    own, other = _units(season)
    fed = _fed(season, on)
    for row in fed[fed["temperature_if_other"] >= REFUSE_FROM_C].itertuples():
        said = (
            f"{row.temperature_written:g} is written as the temperature of its food at {row.when}. No food is so "
            f"{'hot' if own == 'C' else 'cold'} in °{own}; in °{other} it is {row.temperature_if_other:.1f} °C, and "
            f"that burns a crop. Ask who fed it. If it was fed so hot: {_BURNT}"
        )
        yield AT_ONCE, row.whose, "", said


def _units(season: Season) -> tuple[str, str]:
    """The unit that the keeper writes temperatures in, and the other."""
    return ("C", "F") if season.settings["temperature_unit"] == "C" else ("F", "C")


def _too_much(season: Season, on: pd.Timestamp) -> Iterator[Read]:
    """Feeds far over the cap, by the last weight that stands in the logs before them; of several chicks, a share."""
    weights = season.weights[season.weights["together"] == 1].sort_values("weighed_at", kind="stable")
    called = chick_called(season)
    for row in _fed(season, on).dropna(subset="amount").itertuples():
        chick, each = called.get(same(row.whose)), row.amount / row.shared
        mine = weights[(weights["chick"] == chick) & (weights["weighed_at"].dt.normalize() <= row.fed_at)]
        if mine.empty or not each > OVER_CAP * CAP * mine["mass_g"].iloc[-1]:
            continue
        mass_g = float(mine["mass_g"].iloc[-1])
        of = f"for {row.shared} chicks, {each:.3g} ml for each, and this one is" if row.shared > 1 else "for a chick"
        said = (
            f"{row.amount:g} ml is written at {row.when} {of} of {grams(mass_g)} g; at most about a tenth, "
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
    """The last temperature of each place, of yesterday or today; note: where it was written in the other unit."""
    own, other = _units(season)
    readings = season.logs["readings"]
    converted = readings["temperature"].isna() & readings["temperature_if_other"].notna()
    readings = readings.assign(temperature=readings["temperature"].fillna(readings["temperature_if_other"]))
    notes = [
        f" {row.temperature_written:g} is written; in °{own} that cannot be, so it is read as °{other}: "
        f"{row.temperature:.1f} °C. Write it in °{own}."
        for row in readings[converted].itertuples()
    ]
    readings = readings.assign(note="")
    readings.loc[converted, "note"] = notes
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
            rank = LOOK if HEATER_OUT_C <= row.temperature <= OPEN_OVER_C else AT_ONCE
            yield rank, str(row.place), held, said + row.note
