"""How a chick stands: its weights in sentences, what the next should show, what was flagged and what was seen."""

from collections.abc import Iterable

import pandas as pd

from analysis.finding import Finding
from analysis.findings.beside_kind import LIGHT, beside_said
from analysis.findings.chick_fed import chick_named, chick_row
from analysis.findings.growing import Growth
from analysis.findings.light_said import light_said
from analysis.findings.overview import Item
from analysis.logs.names import same
from analysis.say import in_words
from analysis.season import Season, signs_seen
from analysis.words import count_words, day_words, grams, percent

LAST_WEIGHINGS = 7
_FATES = {"being reared": "being reared", "weaned": "weaned", "lost": "lost", "left": "gone to another home"}


def stands(growth: Growth, chick: str, read: Iterable[Item | Finding]) -> list[Item | Finding]:
    """Return how a chick stands now: what is read of it first, its fate, its weights, what is expected, what was seen.

    `read` is what the round of the day reads first of it.
    """
    row = chick_row(growth.season, chick)
    name, here, read = str(row["chick"]), row["fate"] == "being reared", list(read)
    items: list[Item | Finding] = [*read, ("Now", _now(row)), ("Weights", " ".join(weights_said(growth.season, name)))]
    items += [("Next weighing", said) for said in _expected(growth, name)] if here and not read else []
    items += [("Beside its kind", said) for said in _beside(growth, name, here=here)]
    items += [(f"Day {age_d:.0f}", said) for age_d, said in _flags(growth, name)]
    seen = signs_said(growth.season, name)
    return [*items, *([("Seen", " ".join(seen))] if seen else [])]


def _now(row: dict[str, object]) -> str:
    on = {"weaned": "weaned_on", "lost": "lost_on", "left": "left_on"}.get(str(row["fate"]))
    day = row[on] if on else None
    when = f" on {day_words(pd.Timestamp(str(day)))}" if on and not pd.isna(pd.Timestamp(str(day))) else ""
    said = _FATES[str(row["fate"])]
    return f"{said[0].upper()}{said[1:]}{when}."


def _expected(growth: Growth, chick: str) -> list[str]:
    own = growth.weights[growth.weights["chick"] == chick]
    if own.empty:
        return []
    kind = growth.watch.kinds[str(own["kind"].iloc[0])]
    if not kind.expects:
        return [
            f"{in_words(kind.why) or 'Too few chicks of its kind to go by.'} So nothing can be expected of the next."
        ]
    if not growth.on_course(chick):
        return [f"{_off_course(growth, own)}, so nothing can be expected of the next."]
    one = growth.expected.loc[chick]
    return [
        f"A day after the last, crop empty: about {grams(one['median_g'])} g, between {grams(one['low_g'])} and "
        f"{grams(one['high_g'])} g 19 times in 20."
    ]


def _off_course(growth: Growth, own: pd.DataFrame) -> str:
    """Why a chick's last weight says nothing of the next: mistaken, of a morning of the scale, or not as expected."""
    last = own.sort_values("weighed_at", kind="stable").iloc[-1]
    weight = f"{grams(last['mass_g'])} g on day {last['age_d']:.0f}"
    flags = growth.flags[(growth.flags["chick"] == last["chick"]) & (growth.flags["age_d"] == last["age_d"])]
    if flags["flag"].isin(("slip", "swapped")).any():
        return f"{weight} looks mistaken"
    if last["weighed_at"].normalize() in {pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings if one.sure}:
        return f"{weight} is of a morning on which the scale was off"
    return f"{weight} was not where its weighings before led"


def _beside(growth: Growth, chick: str, *, here: bool) -> list[str]:
    if chick not in growth.places.index:
        return []
    one = growth.places.loc[chick]
    looks = f" {light_said(growth, chick, float(one['share']))}" if here and one["code"] == LIGHT else ""
    return [f"{beside_said(one)}{looks}"]


def _flags(growth: Growth, chick: str) -> list[tuple[float, str]]:
    """Every flag of a chick on its day; what to do about it now is what is read of it first."""
    mine = growth.flags[growth.flags["chick"] == chick].sort_values("age_d", kind="stable")
    return [(float(flag.age_d), in_words(flag.told)) for flag in mine.itertuples()]


def weights_said(season: Season, chick: str) -> list[str]:
    """Return a chick's weighings in sentences: how many, first, heaviest, last."""
    own = weighings_of(season, chick)
    if own.empty:
        return ["No weight of it is written that could be used."]
    empty = own[~own["crop"].isin(("part", "full"))]  # food in the crop is no weight of the chick's
    first, last, most = own.iloc[0], own.iloc[-1], (empty if len(empty) else own).nlargest(1, "mass_g").iloc[0]
    if len(own) == 1:
        return [f"Weighed once: {_written(last['mass_g'])} g on {_when(last)}."]
    said = f"Weighed {len(own)} times, from {_when(first)} ({_written(first['mass_g'])} g) to {_when(last)}"
    said += f" ({_written(last['mass_g'])} g)."
    if most["mass_g"] > last["mass_g"]:
        fall = 1 - last["mass_g"] / most["mass_g"]
        heaviest = "Heaviest" if len(empty) == len(own) else "Heaviest with no food noted in the crop"
        said += f" {heaviest}: {_written(most['mass_g'])} g on {_when(most)}; the last is {percent(fall)} below that."
    last = own.tail(LAST_WEIGHINGS)
    days = f"{_short(last.iloc[0])} to {_short(last.iloc[-1])}"
    return [said, f"The last {len(last)}, {days}: {', '.join(_written(mass_g) for mass_g in last['mass_g'])} g."]


def _written(mass_g: float) -> str:
    """A weight with the digits it was written with."""
    return f"{mass_g:.2f}".rstrip("0").rstrip(".")


def flagged_said(growth: Growth, chick: str) -> list[str]:
    """Return what the weights of a chick called for while it was here, a sentence each, with the day of its life."""
    return [f"Day {age_d:.0f}: {said}" for age_d, said in _flags(growth, chick_named(growth.season, chick))]


def _short(weighing: pd.Series) -> str:
    return f"{weighing['weighed_at'].day} {weighing['weighed_at']:%B}"


def _when(weighing: pd.Series) -> str:
    day = day_words(weighing["weighed_at"])
    young = pd.isna(weighing["age_d"]) or weighing["age_d"] < 1
    return day if young else f"{day}, at {count_words(round(weighing['age_d']), 'day')}"


def weighings_of(season: Season, chick: str) -> pd.DataFrame:
    """Return the weighings of a chick alone on the scale, by time: the rows of `season.weights`."""
    own = season.weights[(season.weights["chick"] == chick_named(season, chick)) & (season.weights["together"] == 1)]
    return own.sort_values("weighed_at", kind="stable").reset_index(drop=True)


def signs_said(season: Season, chick: str) -> list[str]:
    """Return what was seen of a chick and written among the signs, a sentence a sign, by day."""
    return [f"{sign.sign}, {day_words(sign.seen_at)}." for sign in _signs(season, chick).itertuples()]


def _signs(season: Season, chick: str) -> pd.DataFrame:
    row = chick_row(season, chick)
    names = {same(row["chick"]), same(row["ring"])} - {""}
    seen = signs_seen(season)
    return seen[seen["who"].map(same).isin(names)].sort_values("seen_at", kind="stable")
