"""What is set aside before anything is said of a pair: eggs that an incubator spoilt, chicks lost in one event."""

from dataclasses import dataclass

import pandas as pd

from analysis.eggs.incubators import inside, spells
from analysis.finding import Finding, Rates, found
from analysis.logs.headings import same
from analysis.rates import chance_of_as_few, interval, losses_together
from analysis.season import Season, chick_spans
from analysis.season.species import incubation_range, written_for

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
        fertile eggs in it, other_hatched and other_tried of the others, chance (Fisher, one-sided), pairs, eggs, found
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
    return hit, pd.DataFrame(rows, columns=[*HEAT, "pairs", "eggs", "found"])


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
    of_spell = {name: spell[name] for name in ("from_on", "to_on", "worst_c", "warm")}
    return of_spell | facts | {"found": _heat(**of_spell, **facts)}


def _heat(
    *,
    place: str,
    from_on: pd.Timestamp,
    to_on: pd.Timestamp,
    worst_c: float,
    warm: bool,
    pairs: tuple[str, ...],
    hatched: int,
    tried: int,
    other_hatched: int,
    other_tried: int,
    chance: float,
    **_: object,
) -> Finding:
    days = found("pairs.days" if to_on != from_on else "pairs.day", from_on=from_on, to_on=to_on)
    spell = found("pairs.heat-up" if warm else "pairs.heat-down", worst_c=worst_c, days=days)
    if not tried:
        return found("pairs.heat-no-egg", about=place, spell=spell)
    low, high = interval(hatched, tried)
    return found(
        "pairs.heat-set-aside" if chance < WORSE else "pairs.heat-by-chance",
        about=place,
        spell=spell,
        tried=tried,
        pairs=pairs,
        hatched=hatched,
        likely=Rates(float(low), float(high)),
        other_rate=other_hatched / max(other_tried, 1),
        other_tried=other_tried,
    )


def _fertile(eggs: pd.DataFrame) -> pd.Series:
    return (eggs["fertile"] == "yes") | (eggs["outcome"] == "hatched")


def _ended(eggs: pd.DataFrame) -> pd.Series:
    return ~eggs["outcome"].isin(["still incubating", "unknown"])
