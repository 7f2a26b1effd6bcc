"""Weighings as the growth charts draw them: rows, tooltips, titles of panels."""

import textwrap
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from analysis.charts import dress
from analysis.finding import ACT, Finding, Words, found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import BLUE, INK, MUTED

EDGE_PX = 0.9
USUAL = "#e2e2e2"
REMARK = 90  # letters of a remark that pointing at its weighing shows
ASIDES = ("usual", "pair", "flag", "notes")  # what pointing shows besides
FLAGS = {"fall": "charts.a-fall", "slip": "charts.a-slip", "stall": "charts.a-stall", "swapped": "charts.a-swap"}
FLAGS |= {"light-for-age": "charts.light-for-age", "small-for-age": "charts.small-for-age"}
FLAGS |= {"unusual-shape": "charts.unusual-shape", "weigh-again": "charts.weigh-again"}


def drawn(
    weights: pd.DataFrame, *, usual: pd.DataFrame | None = None, flags: pd.DataFrame | None = None
) -> pd.DataFrame:
    """The columns that are drawn, in order of age, dates as text (a date would be moved by time zones).

    Besides chick, age_d, mass_g, kind, when, food and flagged, those of `ASIDES` in which some weighing has something
    to say.
    """
    weights = weights.dropna(subset=["age_d", "mass_g"]).reset_index(drop=True)
    dress.something(weights, "weighings")
    kind = weights["kind"].astype(object)
    rows = weights[["chick", "age_d", "mass_g"]].assign(kind=dress.called(kind), when="", food=False)
    rows["age_d"] = rows["age_d"].round(2)
    if "weighed_at" in weights:
        when = pd.to_datetime(weights["weighed_at"])
        rows["when"] = when.dt.strftime("%Y-%m-%d %H:%M").str.removesuffix(" 00:00").fillna("")
    if "crop" in weights:
        rows["food"] = weights["crop"].isin(["part", "full"])
    said = {"usual": _usual(rows, usual), "flag": _flags(rows, flags)}
    if "pair" in weights:
        said["pair"] = weights["pair"].astype(object).where(weights["pair"].notna(), "").astype(str)
    if "notes" in weights:
        said["notes"] = weights["notes"].fillna("").map(lambda text: textwrap.shorten(str(text), REMARK))
    there = {
        name: said[name].where(said[name] != "", say("words.not-written" if name == "pair" else f"charts.no-{name}"))
        for name in ASIDES
        if name in said and (said[name] != "").any()
    }
    rows = rows.assign(flagged=said["flag"] != "", **there)
    return rows.sort_values(["kind", "chick", "age_d"], kind="stable", ignore_index=True)


def _usual(rows: pd.DataFrame, usual: pd.DataFrame | None) -> pd.Series:
    """What is usual for each weighing's kind at its age, between the ages that are known."""
    said = pd.Series("", index=rows.index, dtype=object)
    if usual is None:
        return said
    for kind, own in usual.dropna(subset=["mass_g", "low_g", "high_g"]).groupby("kind"):
        own = own.sort_values("age_d")
        known_d = own["age_d"].to_numpy(dtype=float)
        here = rows[(rows["kind"] == kind) & rows["age_d"].between(known_d[0], known_d[-1])]
        lines = (np.interp(here["age_d"], known_d, own[name].astype(float)) for name in ("mass_g", "low_g", "high_g"))
        said[here.index] = [
            say("charts.usual-there", middle=middle, low=low, high=high)
            for middle, low, high in zip(*lines, strict=True)
        ]
    return said


def _flags(rows: pd.DataFrame, flags: pd.DataFrame | None) -> pd.Series:
    """The flags of each weighing, which are those nearest to it in age."""
    said = pd.Series("", index=rows.index, dtype=object)
    if flags is None:
        return said
    there: dict[Any, list[Finding]] = {}
    for flag in flags.dropna(subset=["chick", "age_d"]).itertuples():
        own = rows[rows["chick"] == flag.chick]
        if len(own):
            at = (own["age_d"] - flag.age_d).abs().idxmin()
            level = "charts.flag-act" if flag.level == ACT else "charts.flag-look"
            there.setdefault(at, []).append(found(level, flag=dress.worded(FLAGS, flag.flag)))
    for at, seen in there.items():
        said[at] = say("charts.flags", flags=seen)
    return said


def thinned(rows: pd.DataFrame, most: int) -> pd.DataFrame:
    """About so many weighings: of a long line only every second, third ... of them, the last, and the flagged."""
    if len(rows) <= most:
        return rows
    keep = max(6, most // rows["chick"].nunique())
    groups = rows.groupby(["kind", "chick"])
    place, size = groups.cumcount(), groups["age_d"].transform("size")
    step = -(-size // keep)
    return rows[(place % step == 0) | (place == size - 1) | rows["flagged"]]


def titles(columns: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """What pointing at a weighing shows with these columns, each field with its title."""
    there = [(name, f"charts.tip-{name}") for name in ASIDES if name in set(columns)]
    always = [("chick", "charts.chick"), ("when", "charts.weighed")]
    numbers = [("age_d", "charts.age-days"), ("mass_g", "charts.weight-g")]
    return tuple((name, say(title)) for name, title in [*always, *numbers, *there])


def tips(rows: pd.DataFrame) -> list[Any]:
    """What pointing at one of these weighings shows."""
    return tips_of(titles(rows))


def tips_of(shown: Iterable[tuple[str, str]]) -> list[Any]:
    """What pointing shows, by the titles of its columns."""
    import altair as alt

    kinds: dict[str, dict[str, Any]] = {
        "age_d": {"type": "quantitative", "format": ".3~r"},
        "mass_g": {"type": "quantitative"},
    }
    return [alt.Tooltip(name, title=title, **kinds.get(name, {"type": "nominal"})) for name, title in shown]


def alt_of_weighings(rows: pd.DataFrame, chicks: list[str]) -> list[Words]:
    """Each of these chicks, how often it was weighed, and the most it weighed."""
    weighed = rows.groupby("chick")["mass_g"].agg(["size", "max"]).loc[chicks]
    return dress.first_few(
        found("charts.weighings-to", chick=row.Index, n=row.size, most_g=row.max) for row in weighed.itertuples()
    )


def dots(area: int) -> dict[str, Any]:
    """How a chick's weighings look: filled, and hollow where it had food in the crop."""
    as_large = round((area**0.5 + EDGE_PX) ** 2)  # as with its edge
    return {
        "fill": dress.either("datum.food", "white", BLUE),
        "stroke": dress.either("datum.food", BLUE, dress.WIDE["stroke"]),
        "strokeWidth": dress.either("datum.food", EDGE_PX, dress.WIDE["strokeWidth"]),
        "size": dress.either("datum.food", area, as_large),
    }


def title(text: str, width: int, **more: Any) -> Any:
    """Title of a panel; a long name is cut."""
    import altair as alt

    return alt.TitleParams(text=text, limit=width, anchor="start", fontSize=11, fontWeight=600, color=INK, **more)


def hollow(rows: pd.DataFrame) -> list[Finding]:
    """What hollow points are, where there are any."""
    return [found("charts.hollow")] if rows["food"].any() else []


def grey(rows: pd.DataFrame, usual: pd.DataFrame) -> tuple[list[Finding], list[str]]:
    """What is grey behind the weighings, where anything is, and the kinds of which nothing usual is known."""
    kinds = by_name(rows["kind"].unique())
    without = [kind for kind in kinds if kind not in set(usual["kind"])]
    return [found("charts.grey-usual")] if len(without) < len(kinds) else [], without


def usual_layers(x: Any, y: Any, low: Any) -> list[Any]:
    """The usual band of a kind and the middle of it."""
    base = dress.of_part("usual").encode(x=x)
    band = base.mark_area(color=USUAL, aria=False).encode(y=low, y2="high_g")
    return [band, base.mark_line(color=MUTED, strokeWidth=0.8, aria=False).encode(y=y)]
