"""Lines of many chicks, of which those of one pair, or the one that is pointed at, come forward.

On paper, and until something is chosen, all of them look alike.
"""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts.panels import of_part
from analysis.charts.weighings import WIDE, tips
from analysis.names import by_name
from analysis.say import say
from analysis.theme import BLUE

if TYPE_CHECKING:
    from altair import Chart

POINTED, PAIR = "hover", "shown_pair"  # names of what is chosen
FADED = 0.1  # opacity beside a pair that is chosen


def weight_layers(x: Any, y: Any, rows: pd.DataFrame) -> list["Chart"]:
    """Lines and points of the chicks; those of the pair that is chosen, and the chick pointed at, come forward."""
    import altair as alt

    base = of_part("weight").encode(x=x, y=y, detail="chick:N")
    pointed = alt.selection_point(name=POINTED, fields=["chick"], on="pointerover", clear="pointerout", empty=False)
    pair = _pair(rows)
    size = alt.when(pointed).then(alt.value(2.5))  # a line's width: a theme's own would win over `strokeWidth`
    lines = base.mark_line(color=BLUE, aria=False).encode(
        opacity=_forward(pointed, pair, 0.3), size=size.otherwise(alt.value(1.5))
    )
    points = base.mark_point(filled=True, size=9, color=BLUE, aria=False, **WIDE).encode(
        opacity=_forward(pointed, pair, 0.5), tooltip=tips(rows)
    )
    return [lines, points.add_params(pointed, *([] if pair is None else [pair]))]


def _pair(rows: pd.DataFrame) -> Any:
    """A pair, chosen from a list below the chart or by a click on one of its weighings; none where there is but one."""
    import altair as alt

    pairs = by_name(rows.loc[rows["pair"] != say("words.not-written"), "pair"].unique()) if "pair" in rows else []
    if len(pairs) < 2:
        return None
    bound = alt.binding_select(
        options=[None, *pairs], labels=[say("charts.all-pairs"), *pairs], name=say("charts.choose-pair")
    )
    return alt.selection_point(name=PAIR, fields=["pair"], bind=bound, on="click", clear="dblclick")


def _forward(pointed: Any, pair: Any, usual: float) -> Any:
    """Opacity: full where pointed at or of the pair that is chosen, faded beside it, else as usual."""
    import altair as alt

    look = alt.when(pointed).then(alt.value(1))
    if pair is None:
        return look.otherwise(alt.value(usual))
    chosen = look.when(pair, empty=False).then(alt.value(1))
    return chosen.when(pair).then(alt.value(usual)).otherwise(alt.value(FADED))
