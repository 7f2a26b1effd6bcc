"""Charts of losses: at what age, and of what."""

from typing import TYPE_CHECKING

import pandas as pd

from analysis.charts import dress
from analysis.theme import INK

if TYPE_CHECKING:
    from altair import LayerChart


def losses_by_age_chart(losses: pd.DataFrame) -> "LayerChart":
    """Chicks lost in each band of age, of those who came into it.

    Parameters
    ----------
    losses : frame
        From `losses_by_age`: band, lost, entered.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where no chick was lost.

    Examples
    --------
    >>> losses = pd.DataFrame({"band": ["0–2", "3–7"], "lost": [1, 0], "entered": [4, 3]})
    >>> losses_by_age_chart(losses).description
    'Chicks lost by age in days: 0–2, 1 of 4; 3–7, 0 of 3.'
    """
    dress.something(losses[losses["lost"] > 0], "no losses")
    rows = losses.assign(
        name="days " + losses["band"],
        told=losses["lost"].astype(str) + " of " + losses["entered"].astype(str),
    )
    told = "; ".join(f"{row.band}, {row.told}" for row in rows.itertuples())
    return _bars(
        rows,
        who="age",
        title="chicks lost (count)",
        description=f"Chicks lost by age in days: {told}.",
        caption="Lost, of the chicks under watch at that age.",
    )


def losses_by_cause_chart(losses: pd.DataFrame) -> "LayerChart":
    """Losses by what the keeper thought was the cause, the keeper's own words beside them.

    Parameters
    ----------
    losses : frame
        From `losses_by_cause`: cause_group, lost, as_written. Drawn in the order of the frame.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where nothing was lost.

    Examples
    --------
    >>> losses = pd.DataFrame({"cause_group": ["cold"], "lost": [2], "as_written": ["chilled; cold night"]})
    >>> losses_by_cause_chart(losses).description
    'Losses by cause as the keeper saw it: cold, 2.'
    """
    dress.something(losses[losses["lost"] > 0], "no losses")
    written = (" (" + losses["as_written"] + ")").where(losses["as_written"] != "", "")
    rows = losses.assign(name=losses["cause_group"], told=losses["lost"].astype(str) + written)
    told = dress.sentence_list(f"{row.cause_group}, {row.lost}" for row in losses.itertuples())
    return _bars(
        rows,
        who="cause",
        title="losses (count)",
        description=f"Losses by cause as the keeper saw it: {told}.",
        caption="In brackets: as written. A cause that nobody examined is a guess.",
    )


def _bars(rows: pd.DataFrame, *, who: str, title: str, description: str, caption: str) -> "LayerChart":
    """Lost things: white bars with a dashed outline, the count in words beside them."""
    import altair as alt

    rows = rows[["name", "lost", "told"]].assign(start=0)
    x = dress.counts(title, int(rows["lost"].max()))
    base = alt.Chart(rows).encode(y=dress.names(rows["name"].tolist()))
    tips = [alt.Tooltip("name:N", title=who), alt.Tooltip("told:N", title="lost")]
    bars = base.transform_filter("datum.lost > 0").mark_bar(height=15, **dress.LOST)
    words = base.mark_text(align="left", dx=6, color=INK, limit=200)
    return dress.page(
        bars.encode(x=x, x2="lost", tooltip=tips),
        words.encode(x="lost:Q", text="told:N"),
        height=dress.rows_px(len(rows)),
        description=description,
        caption=caption,
    )
