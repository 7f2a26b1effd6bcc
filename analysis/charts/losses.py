"""Charts of losses: at what age, and of what."""

from typing import TYPE_CHECKING

import pandas as pd

from analysis.charts import dress
from analysis.finding import found
from analysis.say import say
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
    dress.something(losses[losses["lost"] > 0], "losses")
    records = losses[["band", "lost", "entered"]].to_dict("records")
    rows = losses.assign(
        name=[say("charts.days-band", band=band) for band in losses["band"]],
        told=[say("charts.lost-of", lost=row["lost"], entered=row["entered"]) for row in records],
    )
    told = [found("charts.band-told", **{str(name): fact for name, fact in row.items()}) for row in records]
    return _bars(
        rows,
        who=say("charts.who-age"),
        title=say("charts.chicks-lost-axis"),
        description=found("charts.by-age-told", told=told),
        caption=found("charts.by-age-caption"),
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
    dress.something(losses[losses["lost"] > 0], "losses")
    written = zip(losses["lost"], losses["as_written"], strict=True)
    told = [say("charts.lost-as-written", lost=lost, written=words) for lost, words in written]
    by_cause = zip(dress.called(losses["cause_group"]), losses["lost"], strict=True)
    causes = dress.first_told(found("charts.cause-told", cause=cause, lost=lost) for cause, lost in by_cause)
    return _bars(
        losses.assign(name=dress.called(losses["cause_group"]), told=told),
        who=say("charts.cause"),
        title=say("charts.losses-axis"),
        description=found("charts.by-cause-told", told=causes),
        caption=[found("charts.by-cause-caption"), found("charts.a-guess")],
    )


def _bars(rows: pd.DataFrame, *, who: str, title: str, description: dress.Told, caption: dress.Told) -> "LayerChart":
    """Lost things: white bars with a dashed outline, the count in words beside them."""
    import altair as alt

    rows = rows[["name", "lost", "told"]].assign(start=0)
    x = dress.counts(title, int(rows["lost"].max()))
    base = alt.Chart(rows).encode(y=dress.names(rows["name"].tolist()))
    tips = [alt.Tooltip("name:N", title=who), alt.Tooltip("told:N", title=say("charts.lost"))]
    bars = base.transform_filter("datum.lost > 0").mark_bar(height=15, **dress.LOST)
    words = base.mark_text(align="left", dx=6, color=INK, limit=200)
    return dress.page(
        bars.encode(x=x, x2="lost", tooltip=tips),
        words.encode(x="lost:Q", text="told:N"),
        height=dress.rows_px(len(rows)),
        description=description,
        caption=caption,
    )
