"""What the weights ask for, in sentences: the failing chick first, and what cannot be judged said as plainly."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.findings.growing import Growth
from analysis.findings.light_said import course_said, light_said, no_longer
from analysis.findings.overview import Item
from analysis.growth.flags.find import ODD
from analysis.growth.flags.judge import LIGHT
from analysis.growth.flags.log import SURE_D
from analysis.growth.flags.sentences import VET
from analysis.names import by_name
from analysis.season import RATES, numbers_hold
from analysis.words import count_words, listed, percent

# In season a flag stands on the first page for so many days (practice, ours).
RECENT_D = 7
# Lighter than the others by this and more, and not off the curve: small, and said to be growing (ours).
SMALL = 0.10
# Lighter by this a chick does poorly (Klaassen & Bech 1992, arctic tern, read); its shape is as the others' where a
# healthy chick departs as far more often than this (ours).
POORLY, LIKE_THEM = 0.25, 0.05
BACK = "Since then it is back where it was expected."
NEARER = "Since then it is less than a fifth lighter."
LIGHT_FLAGS = ("light for age", "small for age")
# So often, at most, a healthy chick is flagged (calibrated: see the contributors' guide).
WEEKS_A_STALL, OFF_THE_CURVE, SLIPS = 80, 0.01, 0.001
# Weighings that are enough to speak of a lost chick's; weighings running with food in the crop that are spoken of.
ENOUGH, RUNNING = 5, 3
_WARNINGS = ("stall", "weigh again", "light for age", "unusual shape", "fall", "small for age")


def watched(growth: Growth) -> list[Item]:
    """Return (who, sentence) for all that the weights ask for or tell, the pressing first."""
    found = [*_flagged(growth, "act"), *_lost(growth), *_flagged(growth, "look"), *_small(growth), *_scale(growth)]
    return [*found, *_crops(growth), *_guessed(growth), *_no_curve(growth), *_by_chance(growth)]


def in_time(growth: Growth) -> list[Item]:
    """Return what of it belongs on the first page: chicks flagged in the last days, and whether losses were seen."""
    recent = warnings(growth)
    said = [(str(chick), _said(growth, own)) for chick, own in recent.groupby("chick", sort=False)]
    scale = growth.watch.scale(live=True)
    days = pd.Series([pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings_live], dtype="datetime64[ns]")
    said += [("The scale", str(sentence)) for sentence in scale["sentence"][_recent(growth, days).to_numpy()]]
    lost = lost_chicks(growth)
    if len(lost) and numbers_hold(growth.season, logs=RATES):
        said.append(("Seen in time", _in_all(lost)))
    return said


def warnings(growth: Growth, on: pd.Timestamp | None = None) -> pd.DataFrame:
    """Return the flags of the last days of chicks that are still here: as `Growth.raised`, with said and back.

    The last days before `on`; left out, before the last day of the logs.

    said: the sentence, with what to do; back: whether a stalled chick is where it was expected again, and a small one
    within a fifth of its kind.
    """
    raised = growth.raised[growth.raised["chick"].isin(_here(growth)) & growth.raised["flag"].isin(_WARNINGS)]
    recent = raised[_recent(growth, raised["day"], on)]
    # A stall says more than the call to weigh again at the same weighing.
    recent = recent.sort_values("level", kind="stable").drop_duplicates(["chick", "age_d"])
    said = [_said(growth, recent.iloc[[at]]) for at in range(len(recent))]
    back = [_is_back(growth, flag) for flag in recent.itertuples()]
    return recent.assign(said=said, back=np.array(back, dtype=bool))


def _is_back(growth: Growth, flag: Any) -> bool:
    return growth.on_course(flag.chick) if flag.flag == "stall" else _is_light(flag) and no_longer(growth, flag.chick)


def _is_light(flag: Any) -> bool:
    """Whether a flag asks for a look at a light chick, and no more."""
    return flag.flag in LIGHT_FLAGS and flag.level == "look"


def _here(growth: Growth) -> set[str]:
    """Chicks that are still being reared."""
    chicks = growth.season.chicks
    return set(chicks.loc[chicks["fate"] == "being reared", "chick"])


def _recent(growth: Growth, day: pd.Series, on: pd.Timestamp | None = None) -> pd.Series:
    """Whether days are among the last before `on`, or else of the logs."""
    last = on if on is not None else growth.season.last_day
    return day > (pd.Timestamp.max if last is None else last - pd.Timedelta(days=RECENT_D))


def _said(growth: Growth, own: pd.DataFrame) -> str:
    """One chick's sentences, with what to do while something can be done: not of the dead and the weaned."""
    chick = own["chick"].iloc[0]
    parts = []
    for flag, recent in zip(own.itertuples(), _recent(growth, own["day"]), strict=True):
        said = str(flag.sentence).removesuffix(VET).strip()
        calls = recent and chick in _here(growth)
        if said != flag.sentence and calls:
            said = f"{said} {BACK if _is_back(growth, flag) else VET}"
        if _is_light(flag) and calls:
            said = f"{said} {NEARER if _is_back(growth, flag) else light_said(growth, chick, float(str(flag.size)))}"
        parts.append(said)
    return " ".join(parts)


def _flagged(growth: Growth, level: str) -> list[Item]:
    """Each chick's flags of a level in one item, and where it came from if others reared it."""
    flags = growth.flags[growth.flags["level"] == level]
    from_where = _fostered(growth)
    chicks = by_name(flags["chick"].unique())
    return [
        (str(chick), " ".join([_said(growth, flags[flags["chick"] == chick]), *from_where.get(str(chick), [])]))
        for chick in chicks
    ]


def _fostered(growth: Growth) -> dict[str, list[str]]:
    chicks = growth.season.chicks
    others = (chicks["pair"] != "") & (chicks["reared_by"] != chicks["pair"])
    moved = chicks[others & ~chicks["by_hand"]]
    return {
        str(chick.chick): [
            f"It was laid by {chick.pair} and reared by {chick.reared_by}; one chick is no pattern for either."
        ]
        for chick in moved.itertuples()
        if chick.reared_by
    }


def lost_chicks(growth: Growth) -> pd.DataFrame:
    """Each weighed chick that was lost: chick, lost_d, and age and kind of the first flag a day before or earlier."""
    season = growth.season
    lost = season.chicks[(season.chicks["fate"] == "lost") & season.chicks["chick"].isin(growth.weights["chick"])]
    lost_d = (lost["lost_on"].dt.normalize() - lost["hatched_at"].dt.normalize()).dt.days
    table = pd.DataFrame({"chick": lost["chick"], "lost_d": lost_d}).reset_index(drop=True)
    warned = growth.raised[growth.raised["flag"].isin(_WARNINGS)].merge(table, on="chick")
    # A slip of the pen is no warning, nor is what lay a week and more before.
    slips = growth.flags.loc[growth.flags["flag"].isin(("slip", "swapped")), ["chick", "age_d"]]
    warned = warned[~warned.set_index(["chick", "age_d"]).index.isin(slips.set_index(["chick", "age_d"]).index)]
    before = warned[(warned["lost_d"] - warned["age_d"]).between(1, RECENT_D)].sort_values("age_d", kind="stable")
    first = before.groupby("chick")[["age_d", "flag"]].first()
    return table.join(first, on="chick")


def _in_all(lost: pd.DataFrame) -> str:
    warned = lost[lost["age_d"].notna()]
    chicks = count_words(len(lost), "weighed chick was lost", "weighed chicks were lost")
    if not len(warned):
        return f"{chicks}; none of them had been flagged by its weights a day before."
    names = listed(f"{one.chick} (day {one.age_d:.0f}, lost on day {one.lost_d:.0f})" for one in warned.itertuples())
    return f"{chicks}; {len(warned)} had been flagged by weight at least a day before: {names}."


def _lost(growth: Growth) -> list[Item]:
    lost = lost_chicks(growth)
    if lost.empty:
        return []
    unseen = lost[lost["age_d"].isna()]
    weighed = unseen["chick"].map(growth.weights.groupby("chick").size())
    events = growth.season.losses.loc[growth.season.losses["event"] != "", "chick"]
    alone = (weighed >= ENOUGH) & ~unseen["chick"].isin(events)
    said = [("Lost, and seen in time", _in_all(lost))]
    for chick, n in zip(unseen[alone].itertuples(), weighed[alone], strict=True):
        no_sign = f"Lost on day {chick.lost_d:.0f}; not flagged before: its {n} weighings gave no sign of it."
        said.append((str(chick.chick), no_sign))
    if not alone.all():
        rest = listed(unseen.loc[~alone, "chick"])
        said.append(("Not flagged before", f"{rest}: lost together with others, or weighed too few times to tell."))
    return said


def small_chicks(growth: Growth) -> pd.DataFrame:
    """Return the chicks that are small and grow as the others do: chick, share, light_p, shape_p, n."""
    flagged = growth.flags.loc[growth.flags["flag"].isin(ODD), "chick"]
    standing = growth.standing[~growth.standing["chick"].isin(flagged)]
    standing = standing.assign(n=standing["chick"].map(growth.weights.groupby("chick").size()))
    as_they_do = (standing["n"] >= ENOUGH) & (standing["shape_p"] > LIKE_THEM)
    return standing[standing["share"].between(LIGHT - 1, -SMALL, inclusive="right") & as_they_do]


def light_chicks(growth: Growth) -> pd.DataFrame:
    """Return the chicks that are lighter by a fifth and more and not flagged for it: chick, share and more."""
    flagged = growth.flags.loc[growth.flags["flag"].isin(ODD), "chick"]
    return growth.standing[(growth.standing["share"] <= LIGHT - 1) & ~growth.standing["chick"].isin(flagged)]


def _small(growth: Growth) -> list[Item]:
    said = [
        (
            str(chick.chick),
            f"Small: about {percent(-chick.share)} lighter than the others of its kind, and growing as they do. "
            "That is within what healthy chicks differ by; no alarm.",
        )
        for chick in small_chicks(growth).itertuples()
    ]
    here = _here(growth)
    for chick in light_chicks(growth).itertuples():
        name, light = str(chick.chick), f"About {percent(-chick.share)} lighter than the others of its kind."
        asks = light_said(growth, name, float(str(chick.share))) if name in here else course_said(growth, name)
        said.append((name, f"{light} {asks}".strip()))
    return said


def _scale(growth: Growth) -> list[Item]:
    days = growth.weights["weighed_at"].dt.normalize()
    here = [pd.Timestamp(one.day, unit="D") in set(days) for one in growth.watch.mornings if one.sure]
    return [("The scale", str(sentence)) for sentence in growth.watch.scale()["sentence"][here]]


def _crops(growth: Growth) -> list[Item]:
    """Chicks weighed several mornings running with food in the crop, and what that adds."""
    found = []
    for (chick, kind), own in growth.weights.groupby(["chick", "kind"], sort=True):
        population = growth.watch.kinds[str(kind)].population
        noted = own.sort_values("age_d")["crop"].isin(("part", "full"))
        running = noted.groupby((~noted).cumsum()).sum().max()
        if running < RUNNING or population is None:
            continue
        words = own.loc[noted, "crop"].unique()
        adds = listed(f"{percent(population.crop[word])} where {word}" for word in sorted(words))
        found.append(
            (
                str(chick),
                f"Weighed {running} times running with food in the crop. Among its kind that adds about {adds}; it is "
                "taken off before anything is judged.",
            )
        )
    return found


def _guessed(growth: Growth) -> list[Item]:
    guessed = growth.weights[growth.weights["sure_to_days"] > SURE_D].drop_duplicates("chick")
    return [
        (
            listed(own["chick"]),
            f"Age guessed to {days:g} days: judged on what it gains, never as light for its age.",
        )
        for days, own in guessed.groupby("sure_to_days")
    ]


def _no_curve(growth: Growth) -> list[Item]:
    here = growth.weights["kind"].unique()
    return [
        (str(kind), f"{known.why} Until then the trade's own rule stands: no gain two days running, or any drop.")
        for kind, known in growth.watch.kinds.items()
        if known.why and kind in here
    ]


def _by_chance(growth: Growth) -> list[Item]:
    """How many flags healthy chicks would have raised, and how many were raised, of what was judged."""
    able = [kind for kind, known in growth.watch.kinds.items() if known.population is not None]
    weights = growth.weights[growth.weights["kind"].isin(able)]
    if weights.empty:
        return []
    weeks = (
        float((weights.groupby("chick")["age_d"].agg("max") - weights.groupby("chick")["age_d"].agg("min")).sum()) / 7
    )
    raised = growth.flags["flag"].value_counts()
    stalls, slips = int(raised.get("stall", 0)), int(raised.get("slip", 0) + raised.get("swapped", 0))
    said = (
        f"In {weeks:.0f} chick-weeks up to {_about(weeks / WEEKS_A_STALL)} stalls would be flagged in healthy chicks "
        f"({stalls} were flagged here); of {len(weights)} weighings up to {_about(len(weights) * SLIPS)} good ones "
        f"would look mistaken ({slips} did)."
    )
    if len(growth.standing):
        off = sum(int(raised.get(name, 0)) for name in ("light for age", "unusual shape"))
        chicks = len(growth.standing)
        said += (
            f" Of {chicks} chicks about {_about(chicks * OFF_THE_CURVE)} would be called light or unusual ({off} were)."
        )
    return [("By chance", said)]


def _about(number: float) -> str:
    return f"{number:.1f}" if number < 10 else f"{number:.0f}"
