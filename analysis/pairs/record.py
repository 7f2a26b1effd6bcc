"""What the joined seasons say of each stage, a row a clutch and who did it, and the rates worked from these rows.

What is no pair's doing is set aside first: eggs that an incubator spoilt, chicks lost in one event.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.pairs.beforehand import beforehand, drawn_together
from analysis.pairs.out_of_range import Excluded
from analysis.pairs.partners import partners
from analysis.rates import Pooled, clutch_counts, not_told_apart, pooled
from analysis.season import NOT_WRITTEN, Season
from analysis.season.across_seasons import JoinedSeasons, join_seasons, seasons_by_name
from analysis.season.pairs import counted_chicks

Array = NDArray[np.float64]
INTACT, FERTILE, HATCH, WEAN = "not broken", "showed fertile", "hatch of fertile", "weaned"
STAGES = (INTACT, FERTILE, HATCH, WEAN)
_NOT_APART = {HATCH: "pairs.eggs-not-apart", WEAN: "pairs.chicks-not-apart"}
_SEVERAL = 2  # eggs


@dataclass(frozen=True)
class Record:
    """The record of an aviary over its joined seasons.

    `season` is the one that was opened, `birds` the seasons joined by cock and hen, `excluded` what each sets aside, by
    its name. An egg that was broken or went missing is lost at the first stage and counts at no later one but, where it
    had shown fertile, at that; an egg that was left is lost at the first if nobody knows whether it was fertile, else
    at the hatch. `rows` has by stage a row a clutch and who did it: pair (that laid; of weaning: who reared, a pair, a
    place or hand), place, kind (species, and season where there are several), species, season, laid_by, clutch, worked,
    tried, excluded (tried, but set aside), and in_part and pending (how many chicks are still being reared, or left
    before they were weaned, and what they have come through; a row of which none has ended yet has 0 tried). `clutches`
    is of all seasons, as `clutch_counts` gives it, with season.
    """

    season: Season
    birds: JoinedSeasons
    excluded: dict[str, Excluded]
    rows: dict[str, pd.DataFrame]
    clutches: pd.DataFrame

    @cached_property
    def rates(self) -> dict[str, Pooled]:
        """The rates of every stage: groups pair, and place and kind where there are several."""
        options = dict(zip(STAGES, beforehand(self.birds.pairs["species"]), strict=True))
        tried = {stage: begun(rows) for stage, rows in self.rows.items()}
        groups = {
            stage: ["pair", *(group for group in ("place", "kind") if len(set(rows[group])) > 1)]
            for stage, rows in tried.items()
        }
        return {
            stage: pooled(tried[stage], "tried", "worked", groups[stage], pending="pending", **options[stage])
            for stage in STAGES
        }

    @cached_property
    def together(self) -> dict[str, NDArray[np.intp]]:
        """Which draws of each stage stand together in what a clutch gives: see `drawn_together`."""
        fits = [self.rates[stage] for stage in STAGES]
        shares = [fit.rates() * (1 if fit.failing is None else 1 - fit.failing) for fit in fits]
        return dict(zip(STAGES, drawn_together(shares, self.birds.pairs["species"]), strict=True))

    @property
    def told(self) -> list[str]:
        """The stages that tell something of any pair: see `tells`."""
        return [stage for stage in STAGES if any(tells(stage, rows) for _, rows in self.rows[stage].groupby("pair"))]

    @cached_property
    def partners(self) -> pd.DataFrame:
        """What each bird did with each partner."""
        return partners(self.season)

    def draws(self, stage: str, **names: str) -> Array:
        """Draws of the rate of a pair, place and kind, as far as the stage has such groups: see `Pooled.rates`."""
        fit = self.rates[stage]
        return fit.rates(**{group: name for group, name in names.items() if group in set(fit.sd.index)})

    def inseparable(self) -> list[Finding]:
        """What eggs and chicks cannot tell apart, pairs from places."""
        return [
            found(code, which=which)
            for stage, code in _NOT_APART.items()
            for which in not_told_apart(self.rows[stage], "tried", ("pair", "place"))
        ]

    @property
    def this_season(self) -> str:
        """The name of the season that was opened, among those joined."""
        return next(iter(self.excluded))

    @property
    def checked(self) -> set[str]:
        """The pairs that the keeper wrote down as checked."""
        written = {same(name) for name in self.season.settings["checked"].split(";") if name.strip()}
        return {pair for pair in self.season.pairs["pair"] if same(pair) in written}

    def chicks_of(self, pair: str, season: str, chicks: Iterable[str]) -> list[str]:
        """Which of these chicks of a season a pair laid or reared."""
        mine = self.birds.chicks[(self.birds.chicks[["pair", "reared_by"]] == pair).any(axis=1)]
        names = set(mine.loc[mine["season"] == season, "chick"])
        return [chick for chick in chicks if {chick, f"{chick} ({season})"} & names]


def begun(rows: pd.DataFrame) -> pd.DataFrame:
    """The rows that say anything of a stage: something has ended, or is under way."""
    return rows[rows["tried"] + rows["pending"] > 0]


def tells(stage: str, rows: pd.DataFrame) -> bool:
    """Whether a pair's rows of a stage are worth telling: eggs broken or gone are where there were several."""
    return stage != INTACT or bool((rows["tried"] - rows["worked"]).sum() >= _SEVERAL)


def read_record(season: Season) -> Record:
    """Gather the record of a season and of those joined to it, once; rates are worked out when they are asked for."""
    return season.once(read_record, lambda: _gathered(season))


def _gathered(season: Season) -> Record:
    seasons = seasons_by_name(season)
    excluded = {name: Excluded.of(one) for name, one in seasons.items()}
    first, *others = (
        replace(
            one,
            eggs=one.eggs.drop(index=excluded[name].eggs),
            chicks=one.chicks[~one.chicks["chick"].isin(excluded[name].chicks)],
        )
        for name, one in seasons.items()
    )
    birds, left = join_seasons(season), join_seasons(replace(first, earlier=tuple(others)))
    counts = _counts(birds)
    of_left, of_all = (_counts(one, parts=True) for one in (left, birds))
    rows = {
        INTACT: _stage(of_all, "whole", "seen"),
        FERTILE: _stage(counts, "fertile", "fertile_known").assign(by=counts["pair"]),
        HATCH: _with_excluded(*(_stage(one, "hatched", "fertile_whole") for one in (of_left, of_all))),
        WEAN: _with_excluded(_reared(left), _reared(birds)),
    }
    return Record(season, birds, excluded, {stage: _placed(frame, birds) for stage, frame in rows.items()}, counts)


def _counts(birds: JoinedSeasons, *, parts: bool = False) -> pd.DataFrame:
    """Clutch counts of all seasons, with the season's name.

    And seen (ended or still incubating), whole (of these, neither broken nor gone), fertile_whole (of fertile_ended,
    neither broken nor missing), fertile_gone (the others of it).
    """
    tables = []
    for name in birds.names["season"].unique():
        eggs, clutches = (frame[frame["season"] == name] for frame in (birds.eggs, birds.clutches))
        if len(eggs) + len(clutches):
            tables.append(clutch_counts(eggs, clutches, parts=parts).assign(season=name))
    none = clutch_counts(birds.eggs, birds.clutches).assign(season="")
    counts = pd.concat(tables, ignore_index=True) if tables else none
    broken = counts[["fertile_broken", "fertile_missing"]].sum(axis=1)
    seen = counts["ended"] + counts["incubating"]
    whole = {"whole": seen - counts["gone"] - broken, "fertile_whole": counts["fertile_ended"] - broken}
    return counts.assign(seen=seen, fertile_gone=broken, **whole)


def _stage(counts: pd.DataFrame, worked: str, tried: str) -> pd.DataFrame:
    """A stage of the eggs, credited to the pair that laid."""
    known = counts[counts[[worked, tried]].notna().all(axis=1)]
    done = {"worked": known[worked].astype(int), "tried": known[tried].astype(int), "excluded": 0}
    done |= {"pending": 0.0, "in_part": 0}
    rows = known[["pair", "clutch", "cage", "species", "season"]].assign(laid_by=known["pair"], **done)
    return rows.assign(by=known["incubated_by"])


def _reared(birds: JoinedSeasons) -> pd.DataFrame:
    """Weaned of those weaned or lost, credited to who reared; also of young that were counted and not named."""
    counted = [
        counted_chicks(*(frame[frame["season"] == name] for frame in (birds.clutches, birds.chicks)))
        for name in birds.names["season"].unique()
    ]
    chicks = pd.concat([birds.chicks, *(frame for frame in counted if len(frame))], ignore_index=True)
    by = ["reared_by", "pair", "clutch", "cage", "species", "season"]
    worked, ended = chicks["fate"] == "weaned", chicks["fate"].isin(["weaned", "lost"])
    pending = chicks["come_through"].fillna(0.0)
    counts = {"worked": worked, "tried": ended, "in_part": pending > 0, "pending": pending}
    told = chicks.assign(**counts)[ended | (pending > 0)]
    sums = told.groupby(by, dropna=False)[list(counts)].sum().astype(dict.fromkeys(["worked", "tried", "in_part"], int))
    done = sums.reset_index().assign(excluded=0)
    return done.rename(columns={"pair": "laid_by"}).assign(pair=done["reared_by"]).rename(columns={"reared_by": "by"})


def _with_excluded(left: pd.DataFrame, every: pd.DataFrame) -> pd.DataFrame:
    """The rows of what is left, and how many of each were set aside; a row of which all was stays with none tried."""
    numbers = ["worked", "tried", "in_part", "pending"]
    by = [column for column in every if column not in (*numbers, "excluded")]
    rows = every.merge(left[[*by, *numbers]], on=by, how="left", suffixes=("_all", ""))
    counts = rows[numbers].fillna(0).astype(dict.fromkeys(numbers[:-1], int))
    return rows[by].assign(**counts, excluded=rows["tried_all"] - counts["tried"])


def _placed(rows: pd.DataFrame, birds: JoinedSeasons) -> pd.DataFrame:
    """Where each was (the cage of a pair that sat or reared, else the incubator or place), and of what kind."""
    pairs = set(birds.pairs["pair"])
    rows = rows.fillna({name: "" for name in ("cage", "species", "by")})  # blank, however it is stored
    place = rows["cage"].where(rows["by"].isin(pairs) | (rows["by"] == ""), rows["by"])
    species = rows["species"].replace("", NOT_WRITTEN)
    several = len(set(rows["season"])) > 1
    kind = species + ", " + rows["season"] if several else species
    return rows.assign(place=place, kind=kind, species=species).reset_index(drop=True)
