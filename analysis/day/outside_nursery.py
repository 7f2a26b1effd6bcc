"""What is read first of others than the chicks fed by hand: chicks with parents, birds, losses, hot food, places."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.chicks.brooders import brooders_read
from analysis.chicks.concerns import FELL_FAR
from analysis.chicks.fed import names_in
from analysis.chicks.feeding import CAP, OVER_CAP, REFUSE_FROM_C, VET
from analysis.chicks.in_the_nursery import LONGEST_NOTE, heaviest, nobody_knows_who_feeds
from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import called_by_rule, warnings
from analysis.eggs.incubators import (
    HATCHER_FROM_C,
    HEATER_OUT_C,
    OPEN_OVER_C,
    incubator_reading,
    thermometers_apart,
)
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.season import OPEN_D, Season, asked_by, chick_called, sign_words, signs_of, signs_seen
from analysis.season.remarks import shortened
from analysis.season.signs import AT_ONCE, LOOK_AGAIN, NEXT_FEED, TODAY, read_first, soon_words
from analysis.season.vocabulary import is_formula

RECENT_D = 2  # readings, food and losses older than this are not of this morning (practice)
SIGN_ASKED = "day.sign-asked"
_OFF_C = 1.0  # so far a kitchen thermometer may be off (practice)
BURNT, WHOEVER = found("day.burnt"), found("day.whoever")
_DAY = pd.Timedelta(days=1)


def outside_nursery(growth: Chicks, nursery: pd.DataFrame, on: pd.Timestamp) -> list[Finding]:
    """Return what concerns others than the chicks fed by hand (those of `in_the_nursery`), each as `read_first`."""
    season, names = growth.season, {same(chick) for chick in nursery["chick"]}
    read = [read_first(NEXT_FEED, one, of=found("day.who-feeds")) for one in nobody_knows_who_feeds(season, on)]
    read += [read_first(NEXT_FEED, one) for one in _weighed_by_no_name(season, on)]
    read += [*_flagged(growth, names, on), *_weaned_and_light(season, on), *_signs_of_others(season, names, on)]
    read += [*_found_lost(season, on), *_burning(season, on), *_too_much(season, on), *_asked_in_remarks(season, on)]
    apart = [read_first(LOOK_AGAIN, one) for one in _far_apart(season, on)["finding"]]
    return [*read, *brooders_read(nursery, last_read(season, on)), *apart]


def _weighed_by_no_name(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Ask about who is weighed again and again these days, and stands in no row of hatches: no line is for it.

    These days: beside or under the weighings that are used of yesterday and today, in the same file. Once is a slip.
    """
    recent = season.weights[season.weights["weighed_at"].dt.normalize().between(on - (RECENT_D - 1) * _DAY, on)]
    since = recent.groupby("file")["row"].min()
    unknown = season.problems[(season.problems["code"] == "unknown-chick") & season.problems["row"].notna()]
    unknown = unknown[unknown["row"] >= unknown["file"].map(since)]
    for _, own in unknown.groupby(unknown["value"].map(same), sort=True):
        if len(own) > 1:
            yield found("day.weighed-by-no-name", about=str(own["value"].iloc[0]))


def _flagged(growth: Chicks, names: set[str], on: pd.Timestamp) -> Iterator[Finding]:
    """Chicks with their parents whose weights call a veterinarian, or ask for a look."""
    flags, rule = warnings(growth, on), called_by_rule(growth, on)
    flags = flags[~flags["back"]].assign(acts=flags["level"] == "act")
    called = set(flags.loc[flags["acts"], "chick"])
    rule, flags = rule[~rule["chick"].isin(called)], flags[flags["acts"] | ~flags["chick"].isin(called)]
    calls = [found("day.all-of", parts=[said, VET]) for said in rule["said"]]
    rule = rule.assign(said=pd.Series(calls, index=rule.index, dtype=object), acts=True)
    both = pd.concat([flags[["chick", "said", "acts"]], rule[["chick", "said", "acts"]]])
    both = both[~both["chick"].map(same).isin(names)]
    reared_by = growth.season.chicks.set_index("chick")["reared_by"]
    for chick, own in both.astype({"chick": object}).groupby("chick", sort=True):
        by, soon = reared_by[chick], TODAY if own["acts"].any() else LOOK_AGAIN
        finding = found("day.all-of", about=str(chick), parts=own["said"].tolist())
        yield read_first(soon, finding, of=found("day.with", by=by) if by else "")


def _weaned_and_light(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Chicks that are written as weaned, are weighed on, and are far below their heaviest."""
    weights = season.weights[(season.weights["together"] == 1) & (season.weights["weighed_at"].dt.normalize() <= on)]
    weaned_on = season.chicks[season.chicks["fate"] == "weaned"].set_index("chick")["weaned_on"].to_dict()
    weights = weights[weights["chick"].isin(list(weaned_on))].sort_values("weighed_at", kind="stable")
    peak_g = heaviest(weights)
    for row in weights.groupby("chick").tail(1).itertuples():
        below = 1 - row.mass_g / peak_g[row.chick]
        since = max(weaned_on[row.chick], on - RECENT_D * _DAY)
        if below > FELL_FAR and row.weighed_at.normalize() > since:
            masses = {"mass": row.mass_g, "below": below, "peak": peak_g[row.chick]}
            finding = found("day.weaned-and-light", about=str(row.chick), **masses, vet=VET)
            yield read_first(TODAY, finding, of=found("day.weaned"))


def _signs_of_others(season: Season, names: set[str], on: pd.Timestamp) -> Iterator[Finding]:
    """Signs of the last days, of birds, pairs and chicks that are not fed by hand and still here."""
    seen = signs_seen(season)
    called, gone = chick_called(season), {same(chick) for chick in _gone(season)}
    whose = seen["who"].map(lambda who: same(called.get(same(who)) or str(who)))
    signs = season.logs["signs"]
    unknown = {same(who) for who, known in zip(signs["who"], signs["known"], strict=True) if not known}
    open_yet = (seen["day"] >= on - OPEN_D * _DAY) & ~seen["good"] & ~seen["over"] & ~whose.isin(names | gone)
    for who, own in seen[open_yet].groupby("who", sort=True):
        kinds = ("chick", "bird") if same(who) in unknown else ("chick",) if same(who) in called else ("bird",)
        signs = min((signs_of(own["sign"], kind) for kind in kinds), key=lambda kind: kind[0].rank)
        facts = {"signs": [sign_words(one.name) for one in signs], "on": own["seen_at"].max(), "asks": asked_by(signs)}
        notes = "; ".join(dict.fromkeys(note for note in own["notes"] if note))
        nobody = str(who) if same(who) in unknown else ""
        yield read_first(signs[0].soon, found("day.seen-of", about=str(who), unknown=nobody, **facts, notes=notes))


def _asked_in_remarks(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Ask whether a word in a remark of yesterday or today is a sign; of those that are still here.

    It is taken for none: no amount and no order changes by it. What would be at once is asked before the next feed.
    """
    asked = season.remarks[season.remarks["asked"].astype(bool) & (season.remarks["who"] != "")]
    recent = asked[(asked["on"].dt.normalize() > on - RECENT_D * _DAY) & ~asked["who"].isin(_gone(season))]
    chicks = set(season.chicks["chick"])
    for who, own in recent.groupby("who", sort=True):
        signs = signs_of(own["asked"].explode(), "chick" if who in chicks else "bird")
        soon = NEXT_FEED if signs[0].soon in (AT_ONCE, NEXT_FEED) else LOOK_AGAIN
        facts: dict[str, Any] = {"remarks": remarks_words(own), "signs": [sign_words(one.name) for one in signs]}
        yield read_first(soon, found(SIGN_ASKED, about=str(who), **facts, soon_as=soon_words(signs[0].soon)))


def remarks_words(remarks: pd.DataFrame) -> list[Finding]:
    """What was written, one after the other, as a page to write on repeats it: rows of `season.remarks`."""
    rows = remarks.drop_duplicates(["on", "text"]).itertuples()
    return [found("day.remark", text=shortened(row.text, row, LONGEST_NOTE), on=row.on) for row in rows]


def _gone(season: Season) -> set[str]:
    """Chicks that were lost or have left: nothing is asked of them."""
    return set(season.chicks.loc[season.chicks["fate"].isin(["lost", "left"]), "chick"])


def _fed(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Feeds of formula of yesterday and today, a row for each that a feed names.

    Beside the log: whose ("" of one that is gone) and when (a day, or a finding); shared: how many it names.
    """
    feeds = season.logs["feeds"]
    feeds = feeds[feeds["food"].map(lambda food: is_formula(food if isinstance(food, str) else "")).astype(bool)]
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    fed = feeds[(day > on - RECENT_D * _DAY) & (day <= on)]
    called, gone = chick_called(season), _gone(season)
    names = [names_in(who, called) for who in fed["who"]]
    fed = fed.assign(who=pd.Series(names, index=fed.index, dtype=object), shared=[len(one) for one in names])
    fed = fed.explode("who")
    when = [found("day.at" if at != at.normalize() else "day.on", at=at) for at in fed["fed_at"]]
    whose = [who if isinstance(who, str) and called.get(same(who)) not in gone else "" for who in fed["who"]]
    return fed.assign(whose=whose, when=pd.Series(when, index=fed.index, dtype=object))


def _burning(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Food written hot enough to burn a crop (no setting makes it safe), or in the other unit, where it burns so."""
    fed, (own, other) = _fed(season, on), _units(season)
    limit = min(season.settings.number("formula_burn_c"), REFUSE_FROM_C)
    for row in fed[fed["temperature"] >= limit].itertuples():
        hot = {"celsius": float(row.temperature), "when": row.when, "burnt": BURNT}
        yield read_first(AT_ONCE, found("day.hot-food", about=row.whose or WHOEVER, **hot))
    for row in fed[fed["temperature_if_other"] >= REFUSE_FROM_C].itertuples():
        read: dict[str, Any] = {"written": row.temperature_written, "celsius": row.temperature_if_other}
        read |= {"own": own, "other": other, "hot": own == "C", "when": row.when, "burnt": BURNT}
        yield read_first(AT_ONCE, found("day.food-in-other-unit", about=row.whose or WHOEVER, **read))


def burnt_chicks(season: Season, on: pd.Timestamp) -> set[str]:
    """The chicks named beside food that was hot enough to burn."""
    called = chick_called(season)
    whose = [one.about for one in _burning(season, on)]
    named = {called.get(same(who)) for who in whose if isinstance(who, str)}
    return {str(chick) for chick in named if chick}


def _units(season: Season) -> tuple[str, str]:
    """The unit that the keeper writes temperatures in, and the other."""
    return ("C", "F") if season.settings["temperature_unit"] == "C" else ("F", "C")


def _too_much(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Feeds far over the cap, by the last weight that stands in the logs before them; of several chicks, a share."""
    weights = season.weights[season.weights["together"] == 1].sort_values("weighed_at", kind="stable")
    called = chick_called(season)
    for row in _fed(season, on).dropna(subset="amount").itertuples():
        chick, each = called.get(same(row.whose)) if row.whose else None, row.amount / row.shared
        mine = weights[(weights["chick"] == chick) & (weights["weighed_at"].dt.normalize() <= row.fed_at)]
        if mine.empty or not each > OVER_CAP * CAP * mine["mass_g"].iloc[-1]:
            continue
        mass_g = float(mine["mass_g"].iloc[-1])
        fed: dict[str, Any] = {"amount_ml": row.amount, "when": row.when, "mass": mass_g, "most_ml": CAP * mass_g}
        fed |= {"asks": found("day.is-it-right")} | ({"chicks": row.shared, "each_ml": each} if row.shared > 1 else {})
        code = "day.too-much-shared" if row.shared > 1 else "day.too-much"
        yield read_first(NEXT_FEED, found(code, about=str(chick), **fed))


def _found_lost(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Losses found since yesterday: whoever shared their night is felt first."""
    losses = season.losses[season.losses["chick"] != ""]
    losses = losses[losses["found_on"].dt.normalize() > on - RECENT_D * _DAY]
    if len(losses):
        causes = list(dict.fromkeys(cause for cause in losses["cause"] if cause))
        lost = {"chicks": len(losses), "names": losses["chick"].tolist(), "causes": causes}
        yield read_first(AT_ONCE, found("day.found-lost", about=found("day.lost"), **lost))


def _recent(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Temperatures of yesterday and today; converted: whether they were written in the other unit."""
    readings = season.logs["readings"]
    converted = readings["temperature"].isna() & readings["temperature_if_other"].notna()
    celsius = readings["temperature"].fillna(readings["temperature_if_other"])
    readings = readings.assign(temperature=celsius, converted=converted)
    day = pd.to_datetime(readings["read_at"]).dt.normalize()
    return readings[readings["temperature"].notna() & (day > on - RECENT_D * _DAY) & (day <= on)]


def last_read(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """The last temperature of each place, of yesterday or today; note: that it was written in the other unit, or "".

    Of two thermometers that were read at one time the warmer counts: heat harms sooner than cold.
    """
    own, other = _units(season)
    recent = _recent(season, on)
    at = pd.to_datetime(recent["read_at"])
    recent = recent.assign(read_at=at, warmth=recent["temperature"].where(at != at.dt.normalize(), 0.0))
    recent = recent.sort_values(["read_at", "warmth"], kind="stable")
    last = recent.assign(name=recent["place"].map(same)).groupby("name", sort=True).tail(1)
    units, notes = {"own": own, "other": other}, []
    for row in last.itertuples():
        facts = {"written": row.temperature_written, "celsius": row.temperature, **units}
        notes.append(found("day.in-other-unit", **facts) if row.converted else "")
    return last.assign(note=pd.Series(notes, index=last.index, dtype=object))


def _far_apart(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Thermometers that disagree by more than a kitchen's may be off; what is less stands in the report alone."""
    apart = thermometers_apart(_recent(season, on))
    return apart[apart["apart_c"] >= _OFF_C]


def incubators_read(season: Season, on: pd.Timestamp) -> Iterator[Finding]:
    """Incubators with eggs in them whose last reading is out of range."""
    low_c, high_c = (season.settings.number(name) for name in ("incubator_from_c", "incubator_to_c"))
    eggs = season.eggs[season.eggs["outcome"] == "still incubating"]
    now_in = eggs["hatcher"].where(eggs["hatcher"] != "", eggs["incubated_by"])
    hatchers = {same(place) for place in eggs["hatcher"]}
    inside = eggs.groupby(now_in.map(same))["egg"].agg(list)
    for row in last_read(season, on).itertuples():
        from_c = min(low_c, HATCHER_FROM_C) if row.name in hatchers else low_c
        asks = incubator_reading(str(row.place), float(row.temperature), row.read_at, on, from_c, high_c, row.note)
        if asks is not None and row.name in inside.index:
            soon = LOOK_AGAIN if HEATER_OUT_C <= row.temperature <= OPEN_OVER_C else AT_ONCE
            yield read_first(soon, asks, of=found("day.eggs-in-it", eggs=len(inside[row.name])))
