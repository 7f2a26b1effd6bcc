"""Weighings as the growth charts draw them: rows, tooltips, titles of panels."""

import textwrap
from typing import Any

import numpy as np
import pandas as pd

from analysis.charts import dress
from analysis.names import NOT_WRITTEN, named
from analysis.theme import BLUE, INK
from analysis.words import grams

AXIS_PX = 34  # room for weights of four digits
EDGE_PX = 0.9
WIDE: dict[str, Any] = {"stroke": "transparent", "strokeWidth": 6}  # an edge unseen, so that a dot is easily met
REMARK = 90  # letters of a remark that pointing at its weighing shows
ASIDES = {  # column: its title, and what stands where there is none
    "usual": ("usual for its kind", "not known yet"),
    "pair": ("pair", NOT_WRITTEN),
    "flag": ("flag", "none"),
    "notes": ("remark", "none"),
}


def drawn(
    weights: pd.DataFrame, *, usual: pd.DataFrame | None = None, flags: pd.DataFrame | None = None
) -> pd.DataFrame:
    """The columns that are drawn, in order of age, dates as text (a date would be moved by time zones).

    Besides chick, age_d, mass_g, kind, when and food, those of `ASIDES` in which some weighing has something to say.
    """
    weights = weights.dropna(subset=["age_d", "mass_g"]).reset_index(drop=True)
    dress.something(weights, "no weighings")
    kind = weights["kind"].astype(object)
    rows = weights[["chick", "age_d", "mass_g"]].assign(
        kind=kind.where(kind.notna() & (kind != ""), NOT_WRITTEN), when="", food=False
    )
    rows["age_d"] = rows["age_d"].round(2)
    if "weighed_at" in weights:
        when = pd.to_datetime(weights["weighed_at"])
        rows["when"] = when.dt.strftime("%Y-%m-%d %H:%M").str.removesuffix(" 00:00").fillna("")
    if "crop" in weights:
        rows["food"] = weights["crop"].isin(["part", "full"])
    rows = _with_asides(rows, weights, usual, flags)
    return rows.sort_values(["kind", "chick", "age_d"], kind="stable", ignore_index=True)


def _with_asides(
    rows: pd.DataFrame, weights: pd.DataFrame, usual: pd.DataFrame | None, flags: pd.DataFrame | None
) -> pd.DataFrame:
    """Columns of `ASIDES` of which there is any."""
    said = {"usual": _usual(rows, usual), "flag": _flags(rows, flags)}
    if "pair" in weights:
        said["pair"] = named(weights["pair"]).astype(str)
    if "notes" in weights:
        said["notes"] = weights["notes"].fillna("").map(lambda text: textwrap.shorten(str(text), REMARK))
    there = {
        name: said[name].where(said[name] != "", blank)
        for name, (_, blank) in ASIDES.items()
        if name in said and (~said[name].isin(["", NOT_WRITTEN])).any()
    }
    return rows.assign(**there)


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
            f"{grams(middle)} g; nine in ten {grams(low)} to {grams(high)} g"
            for middle, low, high in zip(*lines, strict=True)
        ]
    return said


def _flags(rows: pd.DataFrame, flags: pd.DataFrame | None) -> pd.Series:
    """The flags of each weighing, which are those nearest to it in age."""
    said = pd.Series("", index=rows.index, dtype=object)
    if flags is None:
        return said
    for flag in flags.dropna(subset=["chick", "age_d"]).itertuples():
        own = rows[rows["chick"] == flag.chick]
        if len(own):
            at = (own["age_d"] - flag.age_d).abs().idxmin()
            word = f"{flag.flag} ({'act today' if flag.level == 'act' else 'look'})"
            said[at] = f"{said[at]}, {word}" if said[at] else word
    return said


def thinned(rows: pd.DataFrame, most: int) -> pd.DataFrame:
    """About so many weighings: of a long line only every second, third ... of them, the last, and the flagged."""
    if len(rows) <= most:
        return rows
    keep = max(6, most // rows["chick"].nunique())
    groups = rows.groupby(["kind", "chick"])
    place, size = groups.cumcount(), groups["age_d"].transform("size")
    step = -(-size // keep)
    flagged = rows["flag"] != ASIDES["flag"][1] if "flag" in rows else False
    return rows[(place % step == 0) | (place == size - 1) | flagged]


def tips(rows: pd.DataFrame) -> list[Any]:
    """What pointing at one of these weighings shows."""
    import altair as alt

    return [
        alt.Tooltip("chick:N", title="chick"),
        alt.Tooltip("when:N", title="weighed"),
        alt.Tooltip("age_d:Q", title="age (days)", format=".3~r"),
        alt.Tooltip("mass_g:Q", title="weight (g)"),
        *(alt.Tooltip(f"{name}:N", title=title) for name, (title, _) in ASIDES.items() if name in rows),
    ]


def dots(area: int) -> dict[str, Any]:
    """How a chick's weighings look: filled, and hollow where it had food in the crop."""
    import altair as alt

    def by_food(hollow: Any, filled: Any) -> Any:
        return alt.when("datum.food").then(alt.value(hollow)).otherwise(alt.value(filled))

    return {
        "fill": by_food("white", BLUE),
        "stroke": by_food(BLUE, WIDE["stroke"]),
        "strokeWidth": by_food(EDGE_PX, WIDE["strokeWidth"]),
        "size": by_food(area, round((area**0.5 + EDGE_PX) ** 2)),  # as large as with its edge
    }


def title(text: str, width: int, **more: Any) -> Any:
    """Title of a panel; a long name is cut."""
    import altair as alt

    return alt.TitleParams(text=text, limit=width, anchor="start", fontSize=11, fontWeight=600, color=INK, **more)
