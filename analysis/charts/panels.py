"""One panel for each place of the records, and which records a layer draws."""

from typing import TYPE_CHECKING, Any

import pandas as pd

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart


def panels(panel: "LayerChart", records: list[dict[str, Any]], *, columns: int) -> "FacetChart":
    """One panel for each place of the records; its heading is drawn in it, since a facet's own has but one look.

    One chart of panels is far quicker to build than a chart a panel, and records have no empty cells to carry.
    """
    import altair as alt

    facet = alt.Facet("place:O", header=alt.Header(labelExpr="''", labelFontSize=0, labelPadding=0))
    facets = panel.facet(facet=facet, data=inline(records), columns=columns)
    panels: FacetChart = facets.resolve_scale(x="independent", y="independent")
    return panels


def inline(records: list[dict[str, Any]], *, dates: tuple[str, ...] = ()) -> Any:
    """Records as the data of a chart, without their empty cells; dates that no axis shows must be named."""
    import altair as alt

    read = alt.DataFormat(parse=dict.fromkeys(dates, "date")) if dates else alt.Undefined
    data = alt.InlineData(values=[], format=read)
    data.values = [  # only now: Altair would check every one of them
        {name: value for name, value in record.items() if pd.notna(value)} for record in records
    ]
    return data


def of_part(*parts: str) -> "Chart":
    """Only the records of some parts.

    Examples
    --------
    >>> of_part("name", "kind").transform[0].filter
    "datum.part == 'name' || datum.part == 'kind'"
    """
    import altair as alt

    return alt.Chart().transform_filter(" || ".join(f"datum.part == '{part}'" for part in parts))
