"""What is set aside before anything is said of a pair: eggs that an incubator spoilt, chicks lost in one event."""

from dataclasses import dataclass

import pandas as pd

from analysis.incubation import inside, spells
from analysis.logs.names import same
from analysis.rates import chance_of_as_few, interval, losses_together
from analysis.season import Season, chick_spans
from analysis.season.species import incubation_range, written_for
from analysis.words import interval_words, listed, percent

WORSE = 0.05  # as often as this, eggs like the others hatch as badly (practice)
_LONGEST_D = 29.0  # of any species in the table
HEAT = ["place", "from_on", "to_on", "worst_c", "warm", "hatched", "tried", "other_hatched", "other_tried", "chance"]


@dataclass(frozen=True)
class Aside:
    """What one season sets aside.

    Parameters
    ----------
    eggs : which rows of `season.eggs` are set aside, by its index
    chicks : names of the chicks set aside
    heat : a row a spell out of range with eggs in it: place, from_on, to_on, worst_c, warm, hatched and tried of the
        fertile eggs in it, other_hatched and other_tried of the others, chance (Fisher, one-sided), pairs, said
    events : a row an event, from `losses_together`
    """

    eggs: pd.Index
    chicks: frozenset[str]
    heat: pd.DataFrame
    events: pd.DataFrame


def set_aside(season: Season) -> Aside:
    """Find what one season sets aside; nothing is left out of any log."""
    eggs, heat = _spoilt(season)
    events = losses_together(chick_spans(season))
    together = events[events["set_aside"].astype(bool)]
    chicks = frozenset(chick for chicks in together["chicks"] for chick in chicks)
    return Aside(eggs, chicks, heat, events)


def _spoilt(season: Season) -> tuple[pd.Index, pd.DataFrame]:
    """Fertile eggs that were in an incubator out of range and did worse than the others, and how they did."""
    eggs = season.eggs
    readings = season.logs["readings"]
    pairs = {same(pair) for pair in season.pairs["pair"]}
    places = {same(place) for place in eggs["incubated_by"]} - pairs - {""}
    readings = readings[readings["place"].map(same).isin(places)]
    limits = {"low_c": season.settings.number("incubator_from_c"), "high_c": season.settings.number("incubator_to_c")}
    told = eggs[_fertile(eggs) & _ended(eggs)]
    out = spells(readings.assign(place=readings["place"].map(same)), **limits)
    names = eggs.assign(incubated_by=eggs["incubated_by"].map(same))
    days = {species: _incubation_d(season, species) for species in eggs["species"].unique()}
    hit, rows = pd.Index([]), []
    for _, spell in out.iterrows():
        here = inside(names, spell, longest_d=eggs["species"].map(days).fillna(_LONGEST_D))
        if here.any():
            row = _held_against(told, told.index[here[told.index]], spell, eggs)
            rows.append(row)
            hit = hit.union(eggs.index[here]) if float(str(row["chance"])) < WORSE else hit
    return hit, pd.DataFrame(rows, columns=[*HEAT, "pairs", "eggs", "said"])


def _incubation_d(season: Season, species: str) -> float:
    """Days from setting to hatch: the keeper's own, else of the table."""
    own = written_for(season.logs["species"], species, "incubation_d")
    read = incubation_range(species)
    return own if own is not None else float(read.high if read else _LONGEST_D)


def _held_against(told: pd.DataFrame, here: pd.Index, spell: pd.Series, eggs: pd.DataFrame) -> dict[str, object]:
    """The eggs of one spell beside all other eggs, those of the same incubator where there are eight."""
    inside_it, others = told.loc[here], told.drop(here)
    beside = others[others["incubated_by"].map(same) == spell["place"]]
    others = beside if len(beside) >= 8 else others
    counts = [int((part["outcome"] == "hatched").sum()) for part in (inside_it, others)]
    chance = chance_of_as_few(counts[0], len(inside_it), counts[1], len(others))
    pairs = sorted(inside_it["pair"].unique())
    place = next(name for name in eggs["incubated_by"] if same(name) == spell["place"])
    facts = {
        "place": place,
        "hatched": counts[0],
        "tried": len(inside_it),
        "other_hatched": counts[1],
        "other_tried": len(others),
        "chance": chance,
        "pairs": tuple(pairs),
        "eggs": tuple(inside_it["egg"]),
    }
    return (
        {name: spell[name] for name in ("from_on", "to_on", "worst_c", "warm")}
        | facts
        | {"said": _heat_said(spell, facts)}
    )


def _heat_said(spell: pd.Series, facts: dict[str, object]) -> str:
    days = f"{spell['from_on'].day} {spell['from_on']:%B}"
    if spell["to_on"] != spell["from_on"]:
        days = f"{days} to {spell['to_on'].day} {spell['to_on']:%B}"
    first = f"{'Up' if spell['warm'] else 'Down'} to {spell['worst_c']:.1f} °C, {days}."
    if not facts["tried"]:
        return f"{first} No fertile egg with a known outcome was in it."
    rate = percent(int(str(facts["other_hatched"])) / max(int(str(facts["other_tried"])), 1))
    low, high = interval(int(str(facts["hatched"])), int(str(facts["tried"])))
    counts = (
        f"Of the {facts['tried']} fertile eggs in it then ({listed(facts['pairs'])}), {facts['hatched']} hatched "  # type: ignore[arg-type]
        f"(95 %: {interval_words(float(low), float(high))} %), against {rate} of {facts['other_tried']} others."
    )
    if facts["chance"] < WORSE:  # type: ignore[operator]
        end = "So this was the incubator; these eggs are not counted against the pairs."
    else:
        end = "That is no more than chance may do, so nothing is set aside."
    return f"{first} {counts} {end}"


def _fertile(eggs: pd.DataFrame) -> pd.Series:
    return (eggs["fertile"] == "yes") | (eggs["outcome"] == "hatched")


def _ended(eggs: pd.DataFrame) -> pd.Series:
    return ~eggs["outcome"].isin(["still incubating", "unknown"])
