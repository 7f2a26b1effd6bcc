"""What the eggs ask for, in sentences: humidity by incubator, shells by pair, days to pip and hatch."""

from typing import Any

import pandas as pd

from analysis.incubation import OVERDUE, lines_words
from analysis.incubation.water_advice import LOWER, RAISE
from analysis.logs.names import same
from analysis.nursery.eggs import Eggs
from analysis.nursery.round import Round

Item = tuple[str, str]
NO_DAYS = (
    "No days are known for it: its eggs get no pip, hatch or overdue until three of your own have hatched. Write "
    "incubation days in the species log."
)
DOUBTED_D = 3  # a doubtful weighing is spoken of for so many days (practice)


def water_said(today: Round) -> list[Item]:
    """Return (place, sentence) for the eggs that are incubating now, and what a pair's shells do."""
    eggs = today.eggs
    if eggs.incubating.empty:
        return []
    overdue = [("Overdue", OVERDUE)] if (eggs.incubating["state"] == "overdue").any() else []
    return [*_doubted(eggs), *places_said(eggs), *shells_said(eggs), *unknown_said(eggs), *overdue]


def _doubted(eggs: Eggs) -> list[Item]:
    """Eggs still incubating whose weighing of the last days is in doubt."""
    weighed = eggs.season.egg_weights
    recent = weighed[(weighed["doubt"] != "") & (weighed["weighed_on"] >= eggs.on - pd.Timedelta(days=DOUBTED_D))]
    recent = recent[recent["egg_row"].isin(eggs.incubating.index)]
    said = {"gained": "gained weight: another egg, or the scale", "lost too fast": "lost 3 % in a day or more"}
    return [
        (
            str(eggs.names[row.egg_row]),
            f"{row.mass_g:.2f} g on {_day(row.weighed_on)}: {said[row.doubt]}; "
            + ("weigh it again." if row.doubt == "gained" else "the scale, or a crack: look at the shell."),
        )
        for row in recent.itertuples()
    ]


def places_said(eggs: Eggs) -> list[Item]:
    """What the eggs still incubating ask of the humidity of each place."""
    return [(str(row.name), str(row.sentence)) for row in eggs.places.itertuples(index=False) if row.eggs]


def water_asks(eggs: Eggs) -> list[Item]:
    """What belongs on a first page: a humidity to change, and pairs whose shells let more or less through."""
    asks = eggs.places[eggs.places["word"].isin([RAISE, LOWER])]
    return [*((str(row.name), str(row.sentence)) for row in asks.itertuples(index=False)), *shells_said(eggs)]


def lines_said(eggs: Eggs) -> str:
    """The guide lines of each species that was weighed, and who gives them, in one sentence."""
    return lines_words(eggs.loss)


def past_said(eggs: Eggs) -> list[Item]:
    """What the eggs of each place that are out had lost."""
    return [(str(row.name), _lost(row)) for row in eggs.past_places.itertuples(index=False) if row.eggs]


def shells_said(eggs: Eggs) -> list[Item]:
    """Pairs whose shells let more, or less, water through than others."""
    return [(str(row.pair), str(row.sentence)) for row in eggs.shells.itertuples() if row.sentence]


def unknown_said(eggs: Eggs) -> list[Item]:
    """Species with eggs in the shell of which no days are known, each once."""
    sitting = eggs.incubating
    unknown = sitting[(sitting["state"] == "") & sitting["day"].notna() & (sitting["species"] != "")]
    first = unknown["species"].groupby(unknown["species"].map(same), sort=False).first()
    return [(species, NO_DAYS) for species in first]


def hatch_said(egg: Any) -> str:
    """When an egg is expected, in a sentence; of a row of `Eggs.incubating`.

    Examples
    --------
    >>> from types import SimpleNamespace as Row
    >>> days = {name: pd.Timestamp(2026, 5, day) for name, day in
    ...         (("internal_low_on", 16), ("hatch_low_on", 18), ("hatch_high_on", 21))}
    >>> hatch_said(Row(state="incubating", **days))
    '18–21 May; pip from 16 May'
    """
    if egg.state == "":
        return f"not known: {_why_unknown(egg)}"
    if egg.state == "overdue":
        return f"overdue; was expected by {_day(egg.hatch_high_on)}"
    hatch = _range(egg.hatch_low_on, egg.hatch_high_on)
    pip = f"; pip from {_day(egg.internal_low_on)}" if egg.state == "incubating" else ""
    return f"{hatch}{pip}" + {"may pip": "; may pip now", "may hatch": "; may hatch now"}.get(egg.state, "")


def _why_unknown(egg: Any) -> str:
    if pd.isna(egg.day):
        return "write the day it was set"
    return f"no days are known for {egg.species}" if egg.species else "write its species"


def _range(low: pd.Timestamp, high: pd.Timestamp) -> str:
    if low == high:
        return _day(high)
    within = (low.year, low.month) == (high.year, high.month)
    return f"{low.day}–{_day(high)}" if within else f"{_day(low)} – {_day(high)}"


def _day(day: pd.Timestamp) -> str:
    return f"{day.day} {day:%b}"


def _lost(row: Any) -> str:
    lines = row.lines
    if row.high < lines.low:
        where = f"under the guide line of {lines.under}: the air was damp for them"
    elif row.low > lines.high:
        where = f"over the guide line of {lines.over}: the air was dry for them"
    elif row.low >= lines.low and row.high <= lines.high:
        where = f"between the guide lines of {lines.between}"
    else:
        wide = row.low < lines.low and row.high > lines.high
        where = "too wide to tell it from the guide lines" if wide else "about a guide line"
    which = "The one egg that is" if row.eggs == 1 else f"The {row.eggs} eggs that are"
    return (
        f"{which} out lost {100 * row.at_pip:.1f} % of the fresh mass by pipping "
        f"({100 * row.low:.1f} to {100 * row.high:.1f}): {where}."
    )
