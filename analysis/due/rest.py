"""Pairs that have laid their clutches of the season and whose last one is over: a rest begins."""

from collections.abc import Iterator

import pandas as pd

from analysis.due.own import YOURS, limit_of, usual_days, window
from analysis.due.things import DAY, Thing
from analysis.finding import found
from analysis.logs.names import same
from analysis.season import Season

SHOWN_D = 14  # practice: how long a rest that began is told
LAID_D = 7  # practice: a week without an egg, and the clutch is complete
_LONGEST_D = 30.0  # practice: days of incubation of any species here, where nobody says


def rests_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """Yield the pairs whose rest began in the last two weeks; a trio or colony has none."""
    pairs = season.pairs[season.pairs["kind"].eq("pair") & ~(season.pairs["parted_on"] <= day)]
    for pair in pairs.to_dict("records"):
        laid = _laid(season, pair["pair"])
        limit, source = limit_of(season, pair["species"])
        if laid < limit or _is_busy(season, pair["pair"]):
            continue
        over = _over(season, pair["pair"])
        if pd.isna(over) or not 0 <= (day - over).days <= SHOWN_D:
            continue
        why = found("due.rest-after-your-own" if source == YOURS else "due.rest-after", clutches=laid, limit=limit)
        yield Thing("rest", pair["pair"], pair["pair"], why, source, where=pair["cage"], since_on=over)


def _laid(season: Season, pair: str) -> int:
    """Clutches of a pair, pulled ones counted, from its eggs and from those counted."""
    both = (season.eggs, season.clutches)
    return len({same(clutch) for frame in both for clutch in frame.loc[frame["pair"] == pair, "clutch"]})


def _is_busy(season: Season, pair: str) -> bool:
    """Whether it sits on an egg or rears a chick, its own or another's."""
    sits = season.eggs["incubated_by"].eq(pair) & season.eggs["outcome"].eq("still incubating")
    rears = season.chicks["reared_by"].eq(pair) & season.chicks["fate"].eq("being reared")
    return bool(sits.any() or rears.any())


def _over(season: Season, pair: str) -> pd.Timestamp:
    """The day on which the last of its eggs and chicks was done with; NaT where none is known."""
    eggs = season.eggs[season.eggs["incubated_by"].eq(pair)]
    chicks = season.chicks[season.chicks["reared_by"].eq(pair)]
    laid = season.eggs.loc[season.eggs["pair"].eq(pair), "laid_on"] + LAID_D * DAY
    out = chicks["weaned_on"].fillna(chicks["lost_on"]).fillna(chicks["left_on"])
    days = [*laid, *_sat_until(season, eggs), *out, *_taken(season, pair), *_counted_until(season, pair)]
    return max((day.normalize() for day in days if not pd.isna(day)), default=pd.NaT)


def _sat_until(season: Season, eggs: pd.DataFrame) -> pd.Series:
    """Until when each egg was sat on: hatched, candled clear, or else its usual days."""
    clear = eggs["candled_on"].where(eggs["outcome"].eq("clear")) if "candled_on" in eggs else pd.NaT
    days = pd.to_timedelta([_incubated_d(season, species) for species in eggs["species"]], unit="D")
    return eggs["hatched_at"].fillna(clear).fillna(eggs["set_on"].fillna(eggs["laid_on"]) + days)


def _taken(season: Season, pair: str) -> list[pd.Timestamp]:
    """When chicks of its own were moved away from it, or to another."""
    moves = season.logs.get("moves", pd.DataFrame(columns=["what", "on"]))
    young = {same(chick) for chick in season.chicks.loc[season.chicks["pair"].eq(pair), "chick"]}
    return list(moves.loc[moves["what"].map(same).isin(young), "on"])


def _counted_until(season: Season, pair: str) -> list[pd.Timestamp]:
    """Until when a clutch took that was counted only: its usual days, and those to weaning where any hatched."""
    days = []
    counted = season.clutches[season.clutches["pair"].eq(pair)]
    for clutch in counted.assign(hatched=counted["hatched"].fillna(1)).to_dict("records"):
        weaned = window(season, clutch["species"], "wean")
        reared_d = weaned.to_d if weaned and clutch["hatched"] > 0 else 0.0
        days.append(clutch["first_egg_on"] + (_incubated_d(season, clutch["species"]) + reared_d) * DAY)
    return days


def _incubated_d(season: Season, species: str) -> float:
    longest = usual_days(season, species)[1]
    return _LONGEST_D if pd.isna(longest) else longest
