"""Who is credited for chicks: who had them first, what was taken away, and how hard their broods were to rear."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.pairs.record import Record
from analysis.rates import InBrood, weaning_in_brood
from analysis.rates.stages import clutches_of, group_names

_TAKEN = ["name", "had", "weaned", "taken", "lost", "still", "least", "most", "why"]
FEWEST = 12  # practice: chicks that ended, below which nothing is told of places and broods
_IN_BROOD = ["name", "brood", "place", "size", "worked", "tried", "ended"]


def taken_away(chicks: pd.DataFrame) -> pd.DataFrame:
    """Count the chicks by who had them first, whoever had them later.

    `chicks`: with first_reared_by, fate, taken_on and taken_why. Returns a row a name, by name: name; had (weaned or
    lost) and weaned of these, whoever finished them; taken (from it), of them lost and still being reared; least and
    most of what it would have weaned itself, had none or all of those taken from it lived there, which nobody can know
    (bounds without assumptions: Manski 1990, *Am. Econ. Rev.* 80:319; from memory); why (as written, each once).

    Examples
    --------
    >>> chicks = {"first_reared_by": ["P1"] * 4, "fate": ["weaned", "lost", "weaned", "lost"]}
    >>> chicks |= {"taken_on": [pd.NaT, pd.NaT, *pd.to_datetime(["2026-05-01"] * 2)], "taken_why": ["", "", "thin", ""]}
    >>> taken_away(pd.DataFrame(chicks)).to_numpy().tolist()
    [['P1', 4, 2, 2, 1, 0, 1, 3, ('thin',)]]
    """
    taken, fate = chicks["taken_on"].notna(), chicks["fate"]
    weaned, ended = fate == "weaned", fate.isin(["weaned", "lost"])
    counts = {"had": ended, "weaned": weaned, "taken": taken, "lost": taken & (fate == "lost")}
    counts |= {"still": taken & (fate == "being reared"), "least": weaned & ~taken, "most": ended & (weaned | taken)}
    names = group_names(chicks, "first_reared_by")
    sums = pd.DataFrame(counts).astype(int).groupby(names).sum()
    said = chicks["taken_why"].fillna("").where(taken, "")
    why = said.groupby(names).agg(lambda texts: tuple(dict.fromkeys(text for text in texts if text)))
    return sums.assign(why=why).loc[by_name(sums.index)].rename_axis("name").reset_index()[_TAKEN]


def taken_said(row: Mapping[Any, Any]) -> Finding | None:
    """What was taken from one who had chicks first, and what became of it; `row` of `taken_away`, None where none."""
    facts: dict[str, Any] = {name: row[name] for name in ("taken", "lost", "still", "why")}
    return found("pairs.taken-one" if row["taken"] == 1 else "pairs.taken", **facts) if row["taken"] else None


def chicks_counted(record: Record) -> pd.DataFrame:
    """The named chicks of all joined seasons, without those set aside: what `taken_away` counts."""
    chicks = record.birds.chicks
    aside = {
        chick if name == record.this_season else f"{chick} ({name})"
        for name, excluded in record.excluded.items()
        for chick in excluded.chicks
    }
    return chicks[~chicks["chick"].isin(aside)]


@dataclass(frozen=True)
class InBroods:
    """How weaning goes with place and size here, and what the chicks of each pair would give, from `in_broods`.

    `chicks`: a row a chick that a pair had first: name (of the pair), brood, place (1 hatched first), size (chicks that
    hatched in its clutch), worked and tried (see `weaning_in_brood`), ended. `pairs`: a row a pair, by name: name,
    weaned, ended, in_part, expected (what such chicks give in a typical nest, of those that ended and those in part).
    """

    chicks: pd.DataFrame
    told: InBrood
    pairs: pd.DataFrame


def in_broods(record: Record) -> InBroods | None:
    """Hold the chicks that each pair had first against others of the same place in broods of the same size.

    Over all joined seasons, without what is set aside; a chick whose clutch or day of hatch is not written is left out.
    None where fewer than a dozen were weaned or lost: then only what is thought beforehand would speak.
    """
    return record.season.once(in_broods, lambda: _in_broods(record))


def _in_broods(record: Record) -> InBroods | None:
    hatched = record.birds.chicks
    known = hatched[hatched["hatched_at"].notna() & (hatched[["pair", "clutch"]] != "").all(axis=1)]
    brood = clutches_of(known)
    by_day = known["hatched_at"].dt.normalize().groupby(brood)
    known = known.assign(brood=brood, place=by_day.rank(method="min"), size=by_day.transform("size"))
    known = known[known["first_reared_by"].isin(record.birds.pairs["pair"])]
    known = known[known["chick"].isin(chicks_counted(record)["chick"])]
    ended, come = known["fate"].isin(["weaned", "lost"]), known["come_through"].fillna(0.0)
    counts = {"worked": (known["fate"] == "weaned") + come, "tried": ended + come, "ended": ended}
    known = known.assign(**counts, name=known["first_reared_by"])
    known = known.loc[known["tried"] > 0, _IN_BROOD].reset_index(drop=True)
    nests = known.assign(brood=known.groupby(["brood", "name"], sort=False).ngroup())
    told = weaning_in_brood(nests) if nests["ended"].sum() >= FEWEST else None
    return InBroods(nests, told, _by_pair(nests, told)) if told else None


def _by_pair(chicks: pd.DataFrame, told: InBrood) -> pd.DataFrame:
    counts = {
        "weaned": chicks["worked"].where(chicks["ended"], 0.0),
        "ended": chicks["ended"],
        "in_part": ~chicks["ended"],
        "expected": told.chance * chicks["tried"],
    }
    sums = pd.DataFrame(counts).groupby(chicks["name"]).sum()
    sums = sums.astype(dict.fromkeys(["weaned", "ended", "in_part"], int))
    return sums.loc[by_name(sums.index)].reset_index()
