"""Eggs and incubation: water lost, what it asks of the humidity, days to hatch, incubators out of range."""

from typing import Any

import numpy as np
import pandas as pd

from analysis import charts, findings, show
from analysis.incubation import (
    HOYT_G_PER_CM3,
    OVERDUE,
    OwnConstant,
    fresh_mass_g,
    humidity_range,
    time_out,
)
from analysis.logs.names import same
from analysis.nursery import Eggs, hatch_said, lines_said, past_said, places_said, shells_said, unknown_said
from analysis.say import in_words
from analysis.words import day_words

_NO_WEIGHTS = "No egg of known age was weighed, so what eggs lose in water cannot be told."
_GUIDES = (
    "Over 81 species 15 ± 2.5 % was lost (Ar & Rahn 1980); 13 to 17 % are the lines on the chart of one amazon's egg "
    "(Duerr & Gage, Hand-Rearing Birds, 2020, p. 65), a parrot's manual says 16 %, others 11 to 16 %. In brackets: 95 "
    "times in 100 it ends between these."
)


def water(eggs: Eggs) -> list[Any]:
    """Show each egg's way from setting to pipping between the guide lines."""
    drawn = _drawn(eggs)
    if drawn.empty:
        return [show.nothing(_NO_WEIGHTS)]
    lines = eggs.loss.drop_duplicates("group").set_index("group")[["low_line", "high_line"]]
    guides = {str(group): (float(low), float(high)) for group, low, high in lines.itertuples()}
    return list(charts.water_loss_chart(drawn, guides=guides))


def advice(eggs: Eggs) -> list[Any]:
    """Show what the eggs ask of the humidity of each place, and of whose shells the eggs speak."""
    items = [*places_said(eggs), *past_said(eggs), *shells_said(eggs)]
    return [show.attention(*items)] if items else []


def weighed(eggs: Eggs) -> list[Any]:
    """Show every egg that was weighed: what it lost and will have lost."""
    loss = eggs.loss
    if loss.empty:
        return []
    table = pd.DataFrame(
        {
            "egg": loss["name"],
            "pair": loss["pair"],
            "where": loss["incubated_by"],
            "weighings": loss["n"],
            "lost so far": _percent(loss["lost"]),
            "by pipping": [_between(row) for row in loss.itertuples()],
            "outcome": loss["outcome"],
        }
    )
    note = in_words([lines_said(eggs), _GUIDES])
    return [show.table(table, caption="Water lost by every weighed egg.", note=note, name="egg_water")]


def expected(eggs: Eggs) -> list[Any]:
    """Show when the eggs still in the shell are expected."""
    sitting = eggs.incubating
    if sitting.empty:
        return [show.nothing("No egg is still incubating on this day.")]
    table = pd.DataFrame(
        {
            "egg": sitting["name"],
            "species": sitting["species"],
            "where": sitting["incubated_by"],
            "day": sitting["day"],
            "expected": [hatch_said(egg) for egg in sitting.itertuples()],
            "own eggs": sitting["own"],
        }
    )
    note = (
        "From the usual days of the species and your own eggs that hatched (own eggs: how many). 19 times in 20 an egg "
        f"that hatches does so within its range. {in_words(OVERDUE)}"
    )
    shown = show.table(
        table, caption="Eggs still in the shell.", note=note, formats={"day": "{:.0f}"}, name="eggs_expected"
    )
    said = unknown_said(eggs)
    return [shown, *([show.attention(*said)] if said else [])]


def readings(eggs: Eggs) -> list[Any]:
    """Show what was read in the places where eggs were, and how long they were out of range."""
    season = eggs.season
    read = season.logs["readings"]
    sat = {same(place): place for place in reversed(season.eggs["incubated_by"].tolist())}
    named = read["place"].map(lambda place: sat.get(same(place), ""))
    read = read.assign(place=named)[named != ""]
    humid, read = read, read[read["temperature"].notna()]
    if read.empty:
        return [show.nothing("No temperature was read in a place where eggs were incubated.")]
    limits = {"low_c": season.settings.number("incubator_from_c"), "high_c": season.settings.number("incubator_to_c")}
    table = time_out(read, **limits)
    said = [*table["finding"], *findings.heat_said(season)]
    said += [
        (str(row.place), f"Humidity: {row.median_pct:.0f} % in the middle, {row.low_pct:.0f} to {row.high_pct:.0f} %.")
        for row in humidity_range(humid).itertuples()
    ]
    return [charts.readings_chart(read, **limits), show.attention(*said)]


def fresh(eggs: Eggs) -> list[Any]:
    """Show what eggs of each species weighed fresh, by length and breadth, with the aviary's own constant."""
    laid = eggs.season.eggs
    measured = laid[(laid["length_mm"] > 0) & (laid["breadth_mm"] > 0)]
    if measured.empty:
        return [show.nothing("No egg was measured. With length and breadth its fresh weight can be told.")]
    rows = []
    for species, own in measured.groupby("species", sort=True):
        constant = eggs.constants.get(str(species))
        used = HOYT_G_PER_CM3 if constant is None else constant.constant
        mass_g = fresh_mass_g(own["length_mm"], own["breadth_mm"], constant=used)
        rows.append((species or "not written", len(own), f"{np.nanmedian(mass_g):.2f}", _constant(constant)))
    table = pd.DataFrame(rows, columns=["species", "measured", "fresh (g), middle", "constant"])
    note = (
        "Fresh weight = constant × length × breadth², in grams and centimetres: 0.548 over many species (Hoyt 1979, "
        "from memory); your own where ten eggs or more were measured, "
        "and weighed by the day after they were laid or on that on which they were set."
    )
    return [show.table(table, caption="Fresh eggs.", note=note, name="fresh_eggs")]


def _constant(own: OwnConstant | None) -> str:
    if own is None:
        return f"{HOYT_G_PER_CM3}, general"
    return f"{own.constant:.3f} ({own.low:.3f}–{own.high:.3f}), your {own.n} eggs"


def _drawn(eggs: Eggs) -> pd.DataFrame:
    """A row a weighing of an egg whose loss is known, as the chart takes it."""
    weighed = eggs.weighings[eggs.weighings["egg_row"].isin(eggs.loss.index) & (eggs.weighings["pip_d"] > 0)]
    mine = eggs.loss.loc[weighed["egg_row"].to_numpy()].set_axis(weighed.index)
    words = mine["high"].lt(mine["low_line"]).map({True: "too little", False: ""})
    words = words.mask(mine["low"] > mine["high_line"], "too much")
    drawn = pd.DataFrame(
        {
            "group": weighed["group"],
            "egg": mine["name"],
            "part": weighed["day"] / weighed["pip_d"],
            "lost": 1 - weighed["mass_g"] / mine["fresh_g"],
            "when": [day_words(day) for day in weighed["weighed_on"]],
            "doubt": weighed["doubt"],
            "day": weighed["day"].round(1),
            "mass_g": weighed["mass_g"],
            "word": words,
        }
    )
    return drawn[drawn["lost"].notna()]


def _percent(shares: pd.Series) -> list[str]:
    return ["" if pd.isna(share) else f"{100 * share:.1f} %" for share in shares]


def _between(row: Any) -> str:
    return "" if pd.isna(row.at_pip) else f"{100 * row.at_pip:.1f} % ({100 * row.low:.1f}–{100 * row.high:.1f})"
