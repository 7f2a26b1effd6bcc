"""What the weights ask for, in sentences: the failing chick first, and what cannot be judged said as plainly."""

import pandas as pd

from analysis.findings.growing import Growth
from analysis.findings.overview import Item
from analysis.words import count_words, listed, percent

# In season a flag stands on the first page for so many days (practice, ours).
RECENT_D = 7
# Lighter than the others by this and more, and not off the curve: small, and said to be growing (ours).
SMALL = 0.10
# So often, at most, a healthy chick is flagged (calibrated: see the contributors' guide).
WEEKS_A_STALL, OFF_THE_CURVE, SLIPS = 80, 0.01, 0.001
# Weighings that are enough to speak of a lost chick's; weighings running with food in the crop that are spoken of.
ENOUGH, RUNNING = 5, 3
_OFF = ("stall", "light for age", "unusual shape")
_WARNINGS = ("stall", "weigh again", "light for age", "unusual shape")


def watched(growth: Growth) -> list[Item]:
    """Return (who, sentence) for all that the weights ask for or tell, the pressing first."""
    found = [*_flagged(growth, "act"), *_lost(growth), *_flagged(growth, "look"), *_small(growth), *_scale(growth)]
    return [*found, *_crops(growth), *_guessed(growth), *_no_curve(growth), *_by_chance(growth)]


def in_time(growth: Growth) -> list[Item]:
    """Return what of it belongs on the first page: chicks flagged in the last days, and whether losses were seen."""
    season, here = growth.season, growth.season.chicks["fate"] == "being reared"
    rearing = set(season.chicks.loc[here, "chick"])
    raised = growth.raised[growth.raised["chick"].isin(rearing) & growth.raised["flag"].isin((*_WARNINGS, "fall"))]
    hatched = season.chicks.set_index("chick")["hatched_at"].dt.normalize()
    days = [
        hatched[chick] + pd.Timedelta(days=age) for chick, age in zip(raised["chick"], raised["age_d"], strict=True)
    ]
    recent = raised[[day > season.last_day - pd.Timedelta(days=RECENT_D) for day in days]]
    # A stall says more than the call to weigh again at the same weighing.
    recent = recent.sort_values("level", kind="stable").drop_duplicates(["chick", "age_d"])
    said = [(str(chick), " ".join(own["sentence"])) for chick, own in recent.groupby("chick", sort=False)]
    lost = lost_chicks(growth)
    if len(lost):
        said.append(("Seen in time", _in_all(lost)))
    return said


def _flagged(growth: Growth, level: str) -> list[Item]:
    """Each chick's flags of a level in one item, and where it came from if others reared it."""
    flags = growth.flags[growth.flags["level"] == level]
    from_where = _fostered(growth)
    found = []
    for chick, own in flags.groupby("chick", sort=True):
        swapped = own["flag"] == "swapped"
        sentences = [*own.loc[~swapped, "sentence"], *own.loc[swapped, "sentence"]]
        found.append((str(chick), " ".join([*sentences, *from_where.get(str(chick), [])])))
    return found


def _fostered(growth: Growth) -> dict[str, list[str]]:
    chicks = growth.season.chicks
    moved = chicks[(chicks["pair"] != "") & (chicks["reared_by"] != chicks["pair"]) & (chicks["reared_by"] != "hand")]
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
    before = warned[warned["age_d"] <= warned["lost_d"] - 1].sort_values("age_d", kind="stable")
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
    """Return the chicks that are small and grow as the others do: chick, share, light_p, shape_p."""
    flagged = growth.flags.loc[growth.flags["flag"].isin(_OFF), "chick"]
    standing = growth.standing
    return standing[(standing["share"] <= -SMALL) & ~standing["chick"].isin(flagged)]


def _small(growth: Growth) -> list[Item]:
    return [
        (
            str(chick.chick),
            f"Small: about {percent(-chick.share)} lighter than the others of its kind, and growing as they do. "
            "That is within what healthy chicks differ by; no alarm.",
        )
        for chick in small_chicks(growth).itertuples()
    ]


def _scale(growth: Growth) -> list[Item]:
    mornings = growth.watch.scale()
    first, last = growth.weights["weighed_at"].min(), growth.weights["weighed_at"].max()
    days = [pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings]
    here = [first.normalize() <= day <= last for day in days] if len(growth.weights) else []
    return [("The scale", str(sentence)) for sentence in mornings["sentence"][here]]


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
    guessed = growth.weights[growth.weights["sure_to_days"] > 1.5].drop_duplicates("chick")
    if guessed.empty:
        return []
    days = f"{guessed['sure_to_days'].max():g}"
    return [
        (
            listed(guessed["chick"]),
            f"Age guessed to {days} days: judged on what it gains, never as light for its age.",
        )
    ]


def _no_curve(growth: Growth) -> list[Item]:
    here = growth.weights["kind"].unique()
    return [
        (str(kind), f"{known.why} Until then the trade's own rule stands: no gain two days running, or any drop.")
        for kind, known in growth.watch.kinds.items()
        if known.why and kind in here
    ]


def _by_chance(growth: Growth) -> list[Item]:
    """How many flags healthy chicks would have raised, and how many were raised."""
    if growth.weights.empty:
        return []
    days = growth.weights.groupby("chick")["age_d"].agg(lambda ages: ages.max() - ages.min() + 1)
    chicks, weighings = len(days), len(growth.weights)
    weeks = float(days.sum()) / 7
    raised = growth.flags["flag"].value_counts()
    off = sum(int(raised.get(name, 0)) for name in ("light for age", "unusual shape"))
    return [
        (
            "By chance",
            f"In {weeks:.0f} chick-weeks up to {_about(weeks / WEEKS_A_STALL)} stalls would be flagged in healthy "
            f"chicks ({raised.get('stall', 0)} were flagged here); of {chicks} chicks about "
            f"{_about(chicks * OFF_THE_CURVE)} would be called light or unusual ({off} were); of {weighings} weighings "
            f"up to {_about(weighings * SLIPS)} good ones would look mistaken ({raised.get('slip', 0)} did).",
        )
    ]


def _about(number: float) -> str:
    return f"{number:.1f}" if number < 10 else f"{number:.0f}"
