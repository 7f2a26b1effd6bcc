"""Weighings as the growth charts draw them: rows, tooltips, titles of panels."""

from typing import Any

import pandas as pd

from analysis.charts import dress
from analysis.names import NOT_WRITTEN
from analysis.theme import INK

AXIS_PX = 34  # room for weights of four digits


def drawn(weights: pd.DataFrame) -> pd.DataFrame:
    """The columns that are drawn, in order of age, dates as text (a date would be moved by time zones)."""
    weights = weights.dropna(subset=["age_d", "mass_g"])
    dress.something(weights, "no weighings")
    kind = weights["kind"].astype(object)
    rows = weights[["chick", "age_d", "mass_g"]].assign(
        kind=kind.where(kind.notna() & (kind != ""), NOT_WRITTEN), when="", food=False
    )
    if "weighed_at" in weights:
        when = pd.to_datetime(weights["weighed_at"])
        rows["when"] = when.dt.strftime("%Y-%m-%d %H:%M").str.removesuffix(" 00:00").fillna("")
    if "crop" in weights:
        rows["food"] = weights["crop"].isin(["part", "full"])
    return rows.sort_values(["kind", "chick", "age_d"], kind="stable", ignore_index=True)


def tips() -> list[Any]:
    """What pointing at a weighing shows."""
    import altair as alt

    return [
        alt.Tooltip("chick:N", title="chick"),
        alt.Tooltip("when:N", title="weighed"),
        alt.Tooltip("age_d:Q", title="age (days)", format=".3~r"),
        alt.Tooltip("mass_g:Q", title="weight (g)"),
    ]


def title(text: str, width: int, **more: Any) -> Any:
    """Title of a panel; a long name is cut."""
    import altair as alt

    return alt.TitleParams(text=text, limit=width, anchor="start", fontSize=11, fontWeight=600, color=INK, **more)
