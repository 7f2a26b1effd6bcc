"""What the weights ask for, in sentences: the failing chick first, and what cannot be judged said as plainly."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.findings.beside_kind import LIGHT, SMALL, below_said, beside_said
from analysis.findings.growing import Growth
from analysis.findings.light_said import course_said, light_said, no_longer
from analysis.findings.lost_said import WARNINGS, in_all, lost_chicks, lost_said
from analysis.findings.overview import Item
from analysis.growth.flags.log import SURE_D
from analysis.names import by_name
from analysis.say import in_words
from analysis.season import RATES, numbers_hold, unheard
from analysis.words import listed, percent

# In season a flag stands on the first page for so many days (practice, ours).
RECENT_D = 7
BACK = "Since then it is back where it was expected."
NEARER = "Since then it is less than a fifth lighter."
LIGHT_FLAGS = ("light for age", "small for age")
# So often, at most, a healthy chick is flagged (calibrated: see the contributors' guide).
WEEKS_A_STALL, OFF_THE_CURVE, SLIPS = 80, 0.01, 0.001
RUNNING = 3  # weighings running with food in the crop that are spoken of


def watched(growth: Growth) -> list[Item]:
    """Return (who, sentence) for all that the weights ask for or tell, the pressing first."""
    found = [*_flagged(growth, "act"), *lost_said(growth), *_flagged(growth, "look"), *_small(growth), *_scale(growth)]
    return [*found, *_crops(growth), *_guessed(growth), *_no_curve(growth), *_by_chance(growth)]


def in_time(growth: Growth) -> list[Item]:
    """Return what of it belongs on the first page beside each chick: the scale, and whether losses were seen."""
    scale = growth.watch.scale(live=True)
    days = pd.Series([pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings_live], dtype="datetime64[ns]")
    words = "sentence" if _here(growth) else "told"
    said = [("The scale", in_words(sentence)) for sentence in scale[words][_recent(growth, days).to_numpy()]]
    lost = lost_chicks(growth)
    if len(lost) and numbers_hold(growth.season, logs=RATES):
        said.append(("Seen in time", in_all(lost)))
    return said


def warnings(growth: Growth, on: pd.Timestamp | None = None) -> pd.DataFrame:
    """Return the flags of the last days of chicks that are still here: as `Growth.raised`, with said and back.

    The last days before `on`; left out, before the day that the season is of.

    said: the sentence, with what to do; back: whether a stalled chick is where it was expected again, and a small one
    within a fifth of its kind.
    """
    raised = growth.raised[growth.raised["chick"].isin(_here(growth)) & growth.raised["flag"].isin(WARNINGS)]
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
    """Chicks that are still being reared, as far as anything was written of them lately."""
    season, chicks = growth.season, growth.season.chicks
    gone = unheard(season, season.as_of)["chick"] if season.as_of is not None else ()
    return set(chicks.loc[chicks["fate"] == "being reared", "chick"]) - set(gone)


def _recent(growth: Growth, day: pd.Series, on: pd.Timestamp | None = None) -> pd.Series:
    """Whether days are among the last before `on`, or else before the day that the season is of."""
    last = on if on is not None else growth.season.as_of
    return day > (pd.Timestamp.max if last is None else last - pd.Timedelta(days=RECENT_D))


def _said(growth: Growth, own: pd.DataFrame) -> str:
    """One chick's sentences, with what to do while something can be done: not of the dead and the weaned."""
    chick = own["chick"].iloc[0]
    parts = []
    for flag, recent in zip(own.itertuples(), _recent(growth, own["day"]), strict=True):
        said, calls = in_words(flag.told), recent and chick in _here(growth)
        if calls and flag.call:
            said = f"{said} {BACK if _is_back(growth, flag) else in_words(flag.call)}"
        if calls and _is_light(flag):
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


def _small(growth: Growth) -> list[Item]:
    """Chicks that are small and grow as the others do, then those lighter by a fifth and more."""
    here, places = _here(growth), growth.places
    said = [
        (str(one.chick), _small_said(one, here=one.chick in here))
        for one in places[places["code"] == SMALL].itertuples()
    ]
    for one in places[places["code"] == LIGHT].itertuples():
        name, light = str(one.chick), beside_said(one)
        asks = light_said(growth, name, float(str(one.share))) if name in here else course_said(growth, name)
        said.append((name, f"{light} {asks}".strip()))
    return said


def _small_said(one: Any, *, here: bool) -> str:
    grows = "growing as they do" if here else "it grew as they did"
    said = f"Small: about {percent(-one.share)} lighter than the others of its kind, and {grows}."
    if one.below:
        return f"{said} {below_said(one)}"
    return f"{said} That is within what healthy chicks differ by; no alarm." if here else said


def _scale(growth: Growth) -> list[Item]:
    days = growth.weights["weighed_at"].dt.normalize()
    here = [pd.Timestamp(one.day, unit="D") in set(days) for one in growth.watch.mornings if one.sure]
    return [("The scale", in_words(sentence)) for sentence in growth.watch.scale()["sentence"][here]]


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
        (
            str(kind),
            f"{in_words(known.why)} Until then the trade's own rule stands: no gain two days running, or any drop.",
        )
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
