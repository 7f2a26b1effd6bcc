"""Chart of growth: all chicks of a kind together."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.charts.weighings import AXIS_PX, drawn, tips, title
from analysis.names import by_name
from analysis.theme import BLUE, INK, MUTED, PAGE_PX
from analysis.words import count_words

if TYPE_CHECKING:
    from altair import Chart, ConcatChart

GAP_PX, HEIGHT_PX = 24, 190


def growth_by_kind(weights: pd.DataFrame, reference: pd.DataFrame | None = None) -> "ConcatChart":
    """Weights of all chicks against age, a thin line a chick, a panel a kind.

    Each kind has its own scales. Pointing at a weighing shows chick, day, age and weight, and brings its
    chick forward.

    Parameters
    ----------
    weights : frame
        A row a weighing: chick, kind, age_d, mass_g; where known weighed_at, crop.
    reference : frame
        The curve that chicks are compared with: kind, age_d, mass_g, and where there is a band low_g, high_g.

    Returns
    -------
    altair.ConcatChart, 170 mm wide: one panel, or two in a row; kinds by name

    Raises
    ------
    ValueError
        Where there are no weighings.

    Examples
    --------
    >>> weights = pd.DataFrame({"chick": "K01", "kind": "cockatiel", "age_d": [1, 9], "mass_g": [5.0, 40.0]})
    >>> growth_by_kind(weights).description
    'Weight against age: cockatiel, 1 chick, 2 weighings from day 1 to day 9, 5 g to 40 g.'
    """
    import altair as alt

    rows = drawn(weights)
    kinds = by_name(rows["kind"].unique())
    columns = min(len(kinds), 2)
    width = (PAGE_PX - GAP_PX * (columns - 1)) // columns - AXIS_PX
    reference = weights[:0].assign(mass_g=0) if reference is None else reference
    parts = [(rows[rows["kind"] == kind], reference[reference["kind"] == kind]) for kind in kinds]
    panels = [
        alt.layer(*_kind_layers(own, known, hover=f"hover_{number}")).properties(
            title=title(kind, width, offset=6), width=width, height=HEIGHT_PX
        )
        for number, (kind, (own, known)) in enumerate(zip(kinds, parts, strict=True))
    ]
    dashed = " Dashed: the reference curve." if any(len(known) for _, known in parts) else ""
    return alt.concat(*panels, columns=columns, spacing=GAP_PX).properties(
        description=f"Weight against age: {'; '.join(_kind_told(own) for own, _ in parts)}.",
        usermeta={"caption": f"Each line is one chick. Each kind has its own scales.{dashed}"},
    )


def _kind_layers(rows: pd.DataFrame, reference: pd.DataFrame, hover: str) -> list["Chart"]:
    """Lines and points of one kind, and its reference curve."""
    import altair as alt

    axis = alt.Axis(minExtent=AXIS_PX, maxExtent=AXIS_PX, tickCount=4, titleX=-AXIS_PX, **dress.LYING)
    below = alt.Axis(grid=False, tickMinStep=1)
    x = alt.X("age_d:Q", title="age (days)", axis=below, scale=alt.Scale(nice=False, zero=True))
    y = alt.Y("mass_g:Q", title="weight (g)", axis=axis)
    base = alt.Chart(rows.drop(columns="kind")).encode(x=x, y=y, detail="chick:N")
    pointed = alt.selection_point(name=hover, fields=["chick"], on="pointerover", clear="pointerout", empty=False)
    near = alt.when(pointed)
    lines = base.mark_line(color=BLUE, aria=False).encode(
        opacity=near.then(alt.value(1)).otherwise(alt.value(0.3)),
        strokeWidth=near.then(alt.value(2.5)).otherwise(alt.value(0.9)),
    )
    points = base.mark_point(filled=True, size=9, color=BLUE, aria=False).encode(
        opacity=near.then(alt.value(1)).otherwise(alt.value(0.5)), tooltip=tips()
    )
    return [lines, points.add_params(pointed), *_reference_layers(reference, x, y)]


def _reference_layers(reference: pd.DataFrame, x: Any, y: Any) -> list["Chart"]:
    """The reference curve, dashed and labelled, and its band where there is one."""
    import altair as alt

    if reference.empty:
        return []
    reference = reference.sort_values("age_d")
    base = alt.Chart(reference[[c for c in ("age_d", "mass_g", "low_g", "high_g") if c in reference]]).encode(x=x)
    end = alt.Chart(reference[["age_d", "mass_g"]].tail(1).assign(label="reference")).encode(x=x, y=y)
    label: Any = {"align": "right", "baseline": "bottom", "dy": -5, "fontWeight": 600}
    layers = [
        base.mark_line(color=INK, strokeDash=[5, 3], strokeWidth=1.4).encode(y=y),
        end.mark_text(stroke="white", strokeWidth=4, **label).encode(text="label:N"),  # a halo: lines cross it
        end.mark_text(**label).encode(text="label:N"),
    ]
    if {"low_g", "high_g"} <= set(reference):
        band = base.mark_area(color=MUTED, opacity=0.15).encode(y=alt.Y("low_g:Q"), y2="high_g")
        layers.insert(0, band)
    return layers


def _kind_told(rows: pd.DataFrame) -> str:
    """One kind in words."""
    ages, masses = rows["age_d"], rows["mass_g"]
    chicks = count_words(rows["chick"].nunique(), "chick")
    return (
        f"{rows['kind'].iloc[0]}, {chicks}, {count_words(len(rows), 'weighing')} "
        f"from day {ages.min():.3g} to day {ages.max():.3g}, {masses.min():.3g} g to {masses.max():.3g} g"
    )
