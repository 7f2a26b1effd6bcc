"""What the weights ask for: whom the trade's rule calls on a day, who may wean, flags of the last days, all of it."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.chicks.loss_warnings import WARNINGS, flagged_before_loss, losses_and_flags, lost_chicks
from analysis.chicks.of_season import LIGHT, SMALL, Chicks, below_lower_line, first_of_day, place_beside_kind
from analysis.chicks.status import all_of, course, light_chick, no_longer_light
from analysis.finding import ACT, LOOK, Finding, Level, Words, found
from analysis.growth import rule_today
from analysis.growth.as_arrays import SURE_D
from analysis.growth.trade_rule import FROM_D
from analysis.names import by_name
from analysis.season import RATES, Season, numbers_hold, species_facts
from analysis.season.species import window_written

FLEDGING = 0.75  # share of the weaning age from which a chick is near fledging, and gains little (practice)
RECENT_D = 7  # in season a flag stands on the first page for so many days (practice, ours)
LIGHT_FLAGS = ("light for age", "small for age")
# So often, at most, a healthy chick is flagged (calibrated: see tests/calibrate_flags.py).
WEEKS_A_STALL, OFF_THE_CURVE, SLIPS = 80, 0.01, 0.001
RUNNING = 3  # weighings running with food in the crop that are spoken of
_ADDS = {"part": "chicks.crop-adds-part", "full": "chicks.crop-adds-full"}
_DAY = pd.Timedelta(days=1)


def called_by_rule(growth: Chicks, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks for which the trade's rule calls a veterinarian on a day, decided once for every page.

    Of those that are here: whose kind has no curve yet (a flag says it better), not past their peak and not near
    fledging, by the weighing of the day or of the day before, alone and with an empty crop; a chick of unknown age is
    read from its first weighing on. A row a chick: chick, mass_g, before_g, weighed_on, age_d, said (a finding, without
    who is to see it). Source: Duerr & Gage, *Hand-Rearing Birds*, 2020, p. 617, from day 3 on; see `rule_today`.
    """
    empty = _weighed(growth, on)
    if empty.empty:
        return pd.DataFrame(columns=["chick", "mass_g", "before_g", "weighed_on", "age_d", "said"], dtype=object)
    newest = empty.groupby("chick")["day"].max()
    here = growth.season.chicks
    here = here[(here["fate"] == "being reared") & here["chick"].isin(newest.index[newest >= on - _DAY])]
    with_curve = growth.expected.get("median_g", pd.Series(dtype=float)).dropna().index
    here = here[~here["chick"].isin(with_curve) & ~near_fledging(growth.season, here, on)]
    called = rule_today(empty[empty["chick"].isin(here["chick"])], until=growth.watch.peaks)
    ages = empty.groupby("chick")["age_d"].max()
    called = called.assign(weighed_on=called["chick"].map(newest), age_d=called["chick"].map(ages))
    findings = [
        found("chicks.rule-calls", mass=row.mass_g, before=row.before_g, today=row.weighed_on == on)
        for row in called.itertuples()
    ]
    return called.assign(said=pd.Series(findings, index=called.index, dtype=object))


def near_fledging(season: Season, chicks: pd.DataFrame, on: pd.Timestamp) -> pd.Series:
    """Whether chicks are near fledging on a day, by the species log's weaning days; where it has none they are not."""
    return (on - chicks["hatched_at"].dt.normalize()).dt.days >= FLEDGING * _weans_from_d(season, chicks)


def may_wean(season: Season, chicks: pd.DataFrame, on: pd.Timestamp) -> pd.Series:
    """Whether their kind may eat alone at their age, by the species log, else as read; where not known, it may."""
    facts = {name: species_facts(name) for name in chicks["species"].unique()}
    read = {name: one.days("wean") if one else None for name, one in facts.items()}
    read_d = chicks["species"].map({name: days.low for name, days in read.items() if days}).astype(float)
    age_d = (on - chicks["hatched_at"].dt.normalize()).dt.days
    return ~(age_d < FLEDGING * _weans_from_d(season, chicks).fillna(read_d))


def _weans_from_d(season: Season, chicks: pd.DataFrame) -> pd.Series:
    """The age at which each chick's kind begins to wean by the species log, days; missing where it has none."""
    days = {name: window_written(season.logs["species"], name, "wean") for name in chicks["species"].unique()}
    return chicks["species"].map({name: ends[0] for name, ends in days.items() if ends}).astype(float)


def _weighed(growth: Chicks, on: pd.Timestamp) -> pd.DataFrame:
    """Weighings up to a day with an empty crop, one a chick and day, each with an age; none of a scale that was off."""
    weights = growth.season.weights
    weights = first_of_day(weights[(weights["together"] == 1) & ~weights["crop"].isin(("part", "full"))])
    off = [pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings_live]
    weights = weights[~weights["day"].isin(off) & (weights["day"] <= on)]
    if weights.empty:
        return weights
    since = weights["day"] - weights.groupby("chick")["day"].transform("min")
    return weights.assign(age_d=weights["age_d"].fillna(FROM_D + since.dt.days.astype(float)))


def watched(growth: Chicks) -> list[Finding]:
    """Return all that the weights ask for or tell, the pressing first."""
    asked = [*_flagged(growth, ACT), *losses_and_flags(growth), *_flagged(growth, LOOK), *_small(growth)]
    days = set(growth.weights["weighed_at"].dt.normalize())
    here = [pd.Timestamp(one.day, unit="D") in days for one in growth.watch.mornings if one.sure]
    scale = [all_of(found("chicks.about-scale"), told) for told in growth.watch.scale()["sentence"][here]]
    return [*asked, *scale, *_crops(growth), *_not_judged(growth), *_by_chance(growth)]


def scale_and_losses(growth: Chicks) -> list[Finding]:
    """Return what of it belongs on the first page beside each chick: the scale, and whether losses were seen."""
    scale = growth.watch.scale(live=True)
    days = pd.Series([pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings_live], dtype="datetime64[ns]")
    words = "sentence" if growth.here else "told"
    findings = [all_of(found("chicks.about-scale"), one) for one in scale[words][_recent(growth, days).to_numpy()]]
    lost = lost_chicks(growth)
    if len(lost) and numbers_hold(growth.season, logs=RATES):
        findings.append(all_of(found("chicks.about-seen-in-time"), flagged_before_loss(lost)))
    return findings


def warnings(growth: Chicks, on: pd.Timestamp | None = None) -> pd.DataFrame:
    """The flags of the last days of chicks that are still here: before `on`, else before the day that the season is of.

    As `Chicks.raised`, with said: a finding, with what to do; and back: whether a stalled chick is where it was
    expected again, and a small one within a fifth of its kind.
    """
    raised = growth.raised[growth.raised["chick"].isin(growth.here) & growth.raised["flag"].isin(WARNINGS)]
    recent = raised[_recent(growth, raised["day"], on)]
    # A stall says more than the call to weigh again at the same weighing.
    recent = recent.sort_values("level", kind="stable").drop_duplicates(["chick", "age_d"])
    findings = [found("chicks.all", parts=_parts(growth, recent.iloc[[at]])) for at in range(len(recent))]
    back = [_is_back(growth, flag) for flag in recent.itertuples()]
    return recent.assign(said=pd.Series(findings, index=recent.index, dtype=object), back=np.array(back, dtype=bool))


def _is_back(growth: Chicks, flag: Any) -> bool:
    return (
        growth.on_course(flag.chick)
        if flag.flag == "stall"
        else _is_light(flag) and no_longer_light(growth, flag.chick)
    )


def _is_light(flag: Any) -> bool:
    """Whether a flag asks for a look at a light chick, and no more."""
    return flag.flag in LIGHT_FLAGS and flag.level == "look"


def _recent(growth: Chicks, day: pd.Series, on: pd.Timestamp | None = None) -> pd.Series:
    """Whether days are among the last before `on`, or else before the day that the season is of."""
    last = on if on is not None else growth.season.as_of
    return day > (pd.Timestamp.max if last is None else last - pd.Timedelta(days=RECENT_D))


def _parts(growth: Chicks, own: pd.DataFrame) -> list[Words]:
    """What is said of one chick, with what to do while something can be done: not of the dead and the weaned."""
    chick = own["chick"].iloc[0]
    parts: list[Words] = []
    for flag, recent in zip(own.itertuples(), _recent(growth, own["day"]), strict=True):
        parts.append(flag.told)
        calls = recent and chick in growth.here
        if calls and flag.call:
            parts.append(found("chicks.back") if _is_back(growth, flag) else flag.call)
        if calls and _is_light(flag):
            nearer = found("chicks.nearer") if _is_back(growth, flag) else None
            parts.append(nearer or light_chick(growth, chick, float(str(flag.size))))
    return parts


def _flagged(growth: Chicks, level: Level) -> list[Finding]:
    """Each chick's flags of a level in one, and where it came from if others reared it."""
    flags, chicks = growth.flags[growth.flags["level"] == level], growth.season.chicks
    others = (chicks["pair"] != "") & (chicks["reared_by"] != chicks["pair"])
    moved = chicks[others & ~chicks["by_hand"] & (chicks["reared_by"] != "")]
    findings = []
    for chick in map(str, by_name(flags["chick"].unique())):
        pairs = moved.loc[moved["chick"] == chick, ["pair", "reared_by"]].to_dict("records")
        fostered = [found("chicks.fostered", **one) for one in pairs]
        findings.append(all_of(chick, *_parts(growth, flags[flags["chick"] == chick]), *fostered, level=level))
    return findings


def _small(growth: Chicks) -> list[Finding]:
    """Chicks that are small and grow as the others do, then those lighter by a fifth and more."""
    here, places = growth.here, growth.places
    findings = []
    for one in places[places["code"] == SMALL].itertuples():
        code = f"chicks.small-{'here' if one.chick in here else 'gone'}"
        below: dict[str, Any] = {"below": below_lower_line(one)} if one.below else {}
        findings.append(found(f"{code}-below" if below else code, about=str(one.chick), share=-one.share, **below))
    for one in places[places["code"] == LIGHT].itertuples():
        name = str(one.chick)
        asks = light_chick(growth, name, float(str(one.share))) if name in here else course(growth, name)
        findings.append(all_of(name, place_beside_kind(one), *([asks] if asks else []), level=LOOK))
    return findings


def _crops(growth: Chicks) -> list[Finding]:
    """Chicks weighed several mornings running with food in the crop, and what that adds."""
    findings = []
    for (chick, kind), own in growth.weights.groupby(["chick", "kind"], sort=True):
        population = growth.watch.kinds[str(kind)].population
        noted = own.sort_values("age_d")["crop"].isin(("part", "full"))
        running = noted.groupby((~noted).cumsum()).sum().max()
        if running < RUNNING or population is None:
            continue
        words = sorted(own.loc[noted, "crop"].unique())
        adds = [found(_ADDS[word], share=population.crop[word]) for word in words]
        findings.append(found("chicks.crop-running", about=str(chick), running=int(running), adds=adds))
    return findings


def _not_judged(growth: Chicks) -> list[Finding]:
    """Chicks whose age is a guess, and kinds that have no curve yet."""
    guessed = growth.weights[growth.weights["sure_to_days"] > SURE_D].drop_duplicates("chick")
    ages = [
        found("chicks.age-guessed", about=found("chicks.about-several", chicks=list(own)), days=days)
        for days, own in guessed.groupby("sure_to_days")["chick"]
    ]
    here = set(growth.weights["kind"])
    why = {kind: known.why for kind, known in growth.watch.kinds.items() if known.why and kind in here}
    return [*ages, *(found("chicks.no-curve-yet", about=growth.kinds[kind], why=why[kind]) for kind in why)]


def _by_chance(growth: Chicks) -> list[Finding]:
    """How many flags healthy chicks would have raised, and how many were raised, of what was judged."""
    able = [kind for kind, known in growth.watch.kinds.items() if known.population is not None]
    weights = growth.weights[growth.weights["kind"].isin(able)]
    if weights.empty:
        return []
    ends = weights.groupby("chick")["age_d"].agg(["min", "max"])
    weeks = float((ends["max"] - ends["min"]).sum()) / 7
    raised, chicks = growth.flags["flag"].value_counts(), len(growth.standing)
    off = sum(int(raised.get(name, 0)) for name in ("light for age", "unusual shape"))
    chance = _about(chicks * OFF_THE_CURVE)
    off_curve = found("chicks.by-chance-off-curve", chicks=chicks, by_chance=chance, off=off) if chicks else None
    facts: dict[str, Any] = {"weeks": weeks, "weighings": len(weights), "off_curve": off_curve}
    facts |= {"stalls": int(raised.get("stall", 0)), "stalls_by_chance": _about(weeks / WEEKS_A_STALL)}
    facts |= {"slips": int(raised.get("slip", 0) + raised.get("swapped", 0))}
    facts |= {"slips_by_chance": _about(len(weights) * SLIPS)}
    return [found("chicks.by-chance", about=found("chicks.about-chance"), **facts)]


def _about(number: float) -> float:
    """A number as it is spoken of: to a tenth below ten, else whole."""
    return round(number, 1) if number < 10 else round(number)
