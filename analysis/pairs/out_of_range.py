"""What is no pair's doing and is set aside: eggs that an incubator out of range spoilt, chicks lost in one event."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.eggs.incubators import inside, spells
from analysis.finding import Finding, Rates, found
from analysis.logs.headings import same
from analysis.rates import chance_of_exposed, clutch_intervals, losses_together
from analysis.season import Season, chick_spans
from analysis.season.species import incubation_range, longest_incubation_d, written_for

_WORSE = 0.05  # as seldom as this, any spell of a harmless season looks as bad (practice)
_BESIDE = 8  # other eggs of the same incubator, from which on they alone are named beside (practice)
_HEAT = [
    *("place", "from_on", "to_on", "worst_c", "warm", "hatched", "tried", "other_hatched", "other_tried", "chance"),
    *("pairs", "eggs", "found"),
]


@dataclass(frozen=True)
class Excluded:
    """What one season sets aside; nothing is left out of any log.

    `eggs`: rows of `season.eggs`, by its index; `chicks`: names. `heat`: a row a spell out of range with eggs in it
    (`chance`: from `chance_of_exposed`, all spells at once). `events`: from `losses_together`.
    """

    eggs: pd.Index
    chicks: frozenset[str]
    heat: pd.DataFrame
    events: pd.DataFrame

    @property
    def spoilt(self) -> pd.DataFrame:
        """The spells whose eggs are set aside."""
        return self.heat[self.heat["chance"].astype(float) <= _WORSE]

    @property
    def together(self) -> pd.DataFrame:
        """The events whose chicks are set aside."""
        return self.events[self.events["set_aside"].astype(bool)]

    @classmethod
    def of(cls, season: Season) -> "Excluded":
        """Find what one season sets aside."""
        eggs, heat = _spoilt(season)
        made = cls(eggs, frozenset(), heat, losses_together(chick_spans(season)))
        return replace(made, chicks=frozenset(chick for chicks in made.together["chicks"] for chick in chicks))


def _spoilt(season: Season) -> tuple[pd.Index, pd.DataFrame]:
    """Eggs that were in an incubator out of range and did worse than chance gives, and how the fertile ones did."""
    eggs = season.eggs
    fertile = (eggs["fertile"] == "yes") | (eggs["outcome"] == "hatched")
    known = eggs[fertile & ~eggs["outcome"].isin(["still incubating", "unknown"])]
    spells_of = list(_with_eggs(season))
    chances = _chances(known, [here for _, here in spells_of])
    hit, rows = pd.Index([]), []
    for (spell, here), chance in zip(spells_of, chances, strict=True):
        rows.append(_beside_others(known, known.index[here[known.index]], spell, eggs, chance))
        hit = hit.union(eggs.index[here]) if chance <= _WORSE else hit
    return hit, pd.DataFrame(rows, columns=_HEAT)


def _with_eggs(season: Season) -> Iterator[tuple[pd.Series, pd.Series]]:
    """Each spell out of range of a place that incubated, with which eggs were in it; only where any was."""
    eggs, readings = season.eggs, season.logs["readings"]
    pairs = {same(pair) for pair in season.pairs["pair"]}
    places = {same(place) for place in eggs["incubated_by"]} - pairs - {""}
    readings = readings[readings["place"].map(same).isin(places)]
    limits = {"low_c": season.settings.number("incubator_from_c"), "high_c": season.settings.number("incubator_to_c")}
    names = eggs.assign(incubated_by=eggs["incubated_by"].map(same))
    days = {}  # from setting to hatch: the keeper's own, else of the table
    for species in eggs["species"].unique():
        own, read = written_for(season.logs["species"], species, "incubation_d"), incubation_range(species)
        days[species] = own if own is not None else float(read.high if read else longest_incubation_d())
    for _, spell in spells(readings.assign(place=readings["place"].map(same)), **limits).iterrows():
        here = inside(names, spell, longest_d=eggs["species"].map(days).fillna(longest_incubation_d()))
        if here.any():
            yield spell, here


def _chances(known: pd.DataFrame, here: list[pd.Series]) -> list[float]:
    """The chance of each spell, clutches being dealt whole."""
    if not here or known.empty:
        return [1.0] * len(here)
    clutch = known.groupby([known["pair"].map(same), "clutch"], dropna=False).ngroup()
    counts = pd.DataFrame({"worked": known["outcome"] == "hatched", "tried": 1}).groupby(clutch).sum()
    pair = known["pair"].map(same).groupby(clutch).first()
    share = np.column_stack([one[known.index].astype(float).groupby(clutch).mean() for one in here])
    return [float(chance) for chance in chance_of_exposed(counts.assign(pair=pair), share)]


def _beside_others(
    known: pd.DataFrame, here: pd.Index, spell: pd.Series, eggs: pd.DataFrame, chance: float
) -> dict[str, Any]:
    """The eggs of one spell beside all other eggs, those of the same incubator where there are eight."""
    inside_it, others = known.loc[here], known.drop(here)
    beside = others[others["incubated_by"].map(same) == spell["place"]]
    others = beside if len(beside) >= _BESIDE else others
    row = {name: spell[name] for name in ("from_on", "to_on", "worst_c", "warm")} | {
        "place": next(name for name in eggs["incubated_by"] if same(name) == spell["place"]),
        "hatched": int((inside_it["outcome"] == "hatched").sum()),
        "tried": len(inside_it),
        "other_hatched": int((others["outcome"] == "hatched").sum()),
        "other_tried": len(others),
        "chance": chance,
        "pairs": tuple(sorted(inside_it["pair"].unique())),
        "eggs": tuple(inside_it["egg"]),
    }
    return row | {"found": _heat(row, _likely(known, here))}


def _likely(known: pd.DataFrame, here: pd.Index) -> Rates:
    """The 95 % interval of what hatched of some eggs, their clutches taken as wholes: see `clutch_intervals`."""
    pair = known["pair"].map(same)
    clutch = known.groupby([pair, "clutch"], dropna=False).ngroup()
    counts = pd.DataFrame({"worked": (known["outcome"] == "hatched").astype(float), "tried": 1.0})
    held = clutch_intervals(counts.assign(clutch=clutch, pair=pair), pd.Series(known.index.isin(here), known.index))
    return Rates(*map(float, held.loc[True, ["low", "high"]])) if len(here) else Rates(0.0, 1.0)


def _heat(row: dict[str, Any], likely: Rates) -> Finding:
    from_on, to_on = row["from_on"], row["to_on"]
    days = found("pairs.days" if to_on != from_on else "pairs.day", from_on=from_on, to_on=to_on)
    spell = found("pairs.heat-up" if row["warm"] else "pairs.heat-down", worst_c=row["worst_c"], days=days)
    if not row["tried"]:
        return found("pairs.heat-no-egg", about=row["place"], spell=spell)
    return found(
        "pairs.heat-set-aside" if row["chance"] <= _WORSE else "pairs.heat-by-chance",
        about=row["place"],
        spell=spell,
        **{name: row[name] for name in ("tried", "pairs", "hatched", "other_tried")},
        likely=likely,
        other_rate=row["other_hatched"] / max(row["other_tried"], 1),
    )
