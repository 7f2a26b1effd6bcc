"""Eggs and incubation: water lost, what it asks of the humidity, days to hatch, incubators out of range."""

from typing import Any

import numpy as np
import pandas as pd

from analysis import charts, show
from analysis.eggs.egg_mass import HOYT_G_PER_CM3, fresh_mass_g
from analysis.eggs.findings import (
    expected_on,
    guide_lines,
    humidity_findings,
    past_losses,
    shell_findings,
    species_without_days,
)
from analysis.eggs.hatch_days import OVERDUE
from analysis.eggs.incubators import humidity_range, thermometers_apart, time_out
from analysis.eggs.of_season import Eggs
from analysis.finding import found
from analysis.logs.headings import same
from analysis.names import NOT_WRITTEN, name_said
from analysis.pairs.of_season import incubators_out_of_range
from analysis.say import heads, in_words, say
from analysis.season.egg_weighings import DOUBTS
from analysis.season.hatches import outcome_words
from analysis.words import day_words


def water(eggs: Eggs) -> list[Any]:
    """Show each egg's way from setting to pipping between the guide lines."""
    drawn = _drawn(eggs)
    if drawn.empty:
        return [show.nothing(found("chapters.no-egg-weights"))]
    lines = eggs.loss.drop_duplicates("group").set_index("group")[["low_line", "high_line"]]
    guides = {str(group): (float(low), float(high)) for group, low, high in lines.itertuples()}
    return list(charts.water_loss_chart(drawn, guides=guides))


def _drawn(eggs: Eggs) -> pd.DataFrame:
    """A row a weighing of an egg whose loss is known, as the chart takes it."""
    weighed = eggs.weighings[eggs.weighings["egg_row"].isin(eggs.loss.index) & (eggs.weighings["pip_d"] > 0)]
    mine = eggs.loss.loc[weighed["egg_row"].to_numpy()].set_axis(weighed.index)
    words = mine["high"].lt(mine["low_line"]).map({True: "little", False: ""})
    words = words.mask(mine["low"] > mine["high_line"], "much")
    drawn = pd.DataFrame(
        {
            "group": weighed["group"],
            "egg": mine["name"],
            "part": weighed["day"] / weighed["pip_d"],
            "lost": 1 - weighed["mass_g"] / mine["fresh_g"],
            "when": [day_words(day) for day in weighed["weighed_on"]],
            "doubt": [in_words(DOUBTS.get(doubt, doubt)) for doubt in weighed["doubt"]],
            "day": weighed["day"].round(1),
            "mass_g": weighed["mass_g"],
            "word": words,
        }
    )
    return drawn[drawn["lost"].notna()]


def advice(eggs: Eggs) -> list[Any]:
    """Show what the eggs ask of the humidity of each place, and of whose shells the eggs speak."""
    return show.if_any(*humidity_findings(eggs), *past_losses(eggs), *shell_findings(eggs))


def weighed(eggs: Eggs) -> list[Any]:
    """Show every egg that was weighed: what it lost and will have lost."""
    loss = eggs.loss
    if loss.empty:
        return []
    so_far = ["" if pd.isna(lost) else say("chapters.percent", percent=lost) for lost in 100 * loss["lost"]]
    by_pipping = [
        "" if pd.isna(mean) else say("chapters.percent-between", percent=100 * mean, low=100 * low, high=100 * high)
        for mean, low, high in zip(loss["at_pip"], loss["low"], loss["high"], strict=True)
    ]
    columns = {
        "egg": loss["name"],
        "pair": loss["pair"],
        "where": loss["incubated_by"],
        "weighings": loss["n"],
        "lost-so-far": so_far,
        "by-pipping": by_pipping,
        "outcome": loss["outcome"].map(outcome_words),
    }
    table = pd.DataFrame(columns).set_axis(heads(*columns), axis=1)
    caption, note = found("chapters.egg-water-caption"), in_words([guide_lines(eggs), found("chapters.guides")])
    return [show.table(table, caption=caption, note=note, name="egg_water")]


def expected(eggs: Eggs) -> list[Any]:
    """Show when the eggs still in the shell are expected."""
    sitting = eggs.incubating
    if sitting.empty:
        return [show.nothing(found("chapters.none-incubating-then"))]
    days = [expected_on(egg) for egg in sitting.itertuples()]
    table = sitting[["name", "species", "incubated_by", "day"]].assign(expected=days, own=sitting["own"])
    table = table.set_axis(heads("egg", "species", "where", "day", "expected", "own-eggs"), axis=1)
    caption, note = found("chapters.in-shell-caption"), in_words([found("chapters.expected-note"), OVERDUE])
    formats: dict[str, show.Format] = {say("heads.day"): "{:.0f}"}
    shown = show.table(table, caption=caption, note=note, formats=formats, name="eggs_expected")
    return [shown, *show.if_any(*species_without_days(eggs))]


def readings(eggs: Eggs) -> list[Any]:
    """Show what was read in the places where eggs were, and how long they were out of range."""
    season = eggs.season
    read = season.logs["readings"]
    sat = {same(place): place for place in reversed(season.eggs["incubated_by"].tolist())}
    named = read["place"].map(lambda place: sat.get(same(place), ""))
    read = read.assign(place=named)[named != ""]
    humid, read = read, read[read["temperature"].notna()]
    if read.empty:
        return [show.nothing(found("chapters.no-temperature"))]
    limits = {"low_c": season.settings.number("incubator_from_c"), "high_c": season.settings.number("incubator_to_c")}
    table, apart = time_out(read, **limits), thermometers_apart(read)["finding"]
    said = [
        found("chapters.humidity", about=str(row.place), middle=row.median_pct, low=row.low_pct, high=row.high_pct)
        for row in humidity_range(humid).itertuples()
    ]
    return [
        charts.readings_chart(read, **limits),
        show.attention(*table["finding"], *apart, *incubators_out_of_range(season), *said),
    ]


def fresh(eggs: Eggs) -> list[Any]:
    """Show what eggs of each species weighed fresh, by length and breadth, with the aviary's own constant."""
    laid = eggs.season.eggs
    measured = laid[(laid["length_mm"] > 0) & (laid["breadth_mm"] > 0)]
    if measured.empty:
        return [show.nothing(found("chapters.none-measured"))]
    rows = []
    for species, own in measured.groupby("species", sort=True):
        if (known := eggs.constants.get(str(species))) is None:
            used, told = HOYT_G_PER_CM3, say("chapters.constant-general", constant=HOYT_G_PER_CM3)
        else:
            used, sure = known.constant, {"low": known.low, "high": known.high, "n": known.n}
            told = say("chapters.constant-own", constant=known.constant, **sure)
        mass_g = fresh_mass_g(own["length_mm"], own["breadth_mm"], constant=used)
        rows.append((name_said(species or NOT_WRITTEN), len(own), f"{np.nanmedian(mass_g):.2f}", told))
    table = pd.DataFrame(rows, columns=heads("species", "measured", "fresh-g-middle", "constant"))
    caption, note = found("chapters.fresh-caption"), found("chapters.fresh-note")
    return [show.table(table, caption=caption, note=note, name="fresh_eggs")]
