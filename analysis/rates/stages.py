"""The rate of each stage on its own denominator, and the way of all eggs from laid to weaned."""

from collections.abc import Mapping
from typing import SupportsInt

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.names import FATES, by_name, named
from analysis.rates.intervals import interval

# stage: what worked, of what, out of which eggs, how many of those are still incubating
EGG_STAGES = {
    "showed fertile": ("fertile", "fertile_known", "eggs", "undecided_incubating"),
    "hatch of fertile": ("hatched", "fertile_ended", "fertile", "fertile_incubating"),
    "hatch of set": ("hatched", "ended", "eggs", "incubating"),
}
WEANED = "weaned"
CREDITED_TO = {  # what each way of grouping is answerable for
    None: (*EGG_STAGES, WEANED),
    "pair": (*EGG_STAGES, WEANED),
    "cage": (*EGG_STAGES, WEANED),
    "species": (*EGG_STAGES, WEANED),
    "incubated_by": ("hatch of fertile", "hatch of set"),
    "reared_by": (WEANED,),
}
RATES = ["group", "name", "stage", "worked", "tried", "rate", "low", "high", "beside"]


def counted(numbers: Mapping[str, SupportsInt]) -> list[Finding]:
    """What is more than none; `numbers`: how many, by the code of what they are."""
    return [found(code, n=int(number)) for code, number in numbers.items() if int(number) > 0]


def parts(numbers: Mapping[str, SupportsInt]) -> Words:
    """The same as one finding ("3 clear, 1 lost"); blank where all are none."""
    some = counted(numbers)
    return found("rates.parts", parts=some) if some else ""


def group_names(frame: pd.DataFrame, by: str | None) -> pd.Series:
    """The group of each row, by its name in the column `by`; None: all are the aviary's."""
    return pd.Series("aviary", index=frame.index, dtype=object) if by is None else named(frame[by])


def stage_rates(counts: pd.DataFrame, chicks: pd.DataFrame, by: str | None = None) -> pd.DataFrame:
    """Rate of every stage with its count and its 95 % interval (Wilson), each on its own denominator.

    =================  ==========================================================================
    showed fertile     eggs that showed fertile / eggs whose answer is known
    hatch of fertile   hatched / eggs that showed fertile and whose outcome is known
    hatch of set       hatched / eggs laid whose outcome is known
    weaned             weaned / (weaned + lost); chicks still being reared stand beside it, and while
                       there are many of them it leans towards the early losses
    =================  ==========================================================================

    Each stage is credited to who did it, so the groups are never to be read as one table: "pair" is the pair as layers
    (its last stage is what became of the chicks it laid, whoever reared them), "incubated_by" has the hatch alone,
    "reared_by" the weaning alone. Clear is not infertile: it says what candling showed.

    `counts` is from `clutch_counts`, with ``parts=True`` for "incubated_by" and "cage", where clutches were split;
    `chicks` has a row a chick: pair, cage, species, reared_by, fate. `by` is None (the whole aviary) or one of these
    columns; another is a ValueError. Returns a row a name and stage; names by name, never by merit, stages in the order
    above: group (`by`, or "aviary"), name ("not written" where it is blank), stage, worked, tried, rate (NaN where
    nothing was tried), low, high, beside (what is counted in neither: a finding, or blank).
    """
    if by not in CREDITED_TO:
        raise ValueError(f"by is {by!r}; it must be one of {', '.join(map(str, CREDITED_TO))}")
    tallies = {}
    for stage in CREDITED_TO[by]:
        frame = chicks if stage == WEANED else counts
        names = group_names(frame, by)
        tallies[stage] = _weaning(frame, names) if stage == WEANED else _egg_stage(stage, frame, names)
    order = ["aviary"] if by is None else by_name(set().union(*(tally.index for tally in tallies.values())))
    rows = pd.MultiIndex.from_product([order, list(tallies)], names=["name", "stage"])  # what was never tried has none
    rates = pd.concat(tallies, names=["stage", "name"]).swaplevel().reindex(rows).reset_index()
    worked, tried = (rates[column].fillna(0).astype(int) for column in ("worked", "tried"))
    low, high = interval(worked, tried)
    rate = worked.astype(float) / tried.astype(float).replace(0.0, np.nan)  # 0 of 0 is no rate
    beside = rates["beside"].astype(object).fillna("")
    numbers = {"worked": worked, "tried": tried, "rate": rate, "low": low, "high": high}
    return rates.assign(group=by or "aviary", beside=beside, **numbers)[RATES]


def _egg_stage(stage: str, counts: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Index name; worked, tried, beside of one stage of the eggs."""
    worked, tried, base, incubating = EGG_STAGES[stage]
    known = counts[worked].notna() & counts[tried].notna()
    of_known = counts[[worked, tried, base, incubating]].astype("Float64").where(known, 0)
    of_known[[base, incubating]] = counts[[base, incubating]].astype("Float64").fillna(0)
    sums = of_known.set_axis(["worked", "tried", "base", "incubating"], axis=1).astype(int).groupby(names).sum()
    open_ = sums["base"] - sums["tried"] - sums["incubating"]
    sums["beside"] = [
        parts({"rates.still-incubating": still, "rates.not-known": rest})
        for still, rest in zip(sums["incubating"], open_, strict=True)
    ]
    return sums[["worked", "tried", "beside"]]


def _weaning(chicks: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Index name; worked, tried, beside of weaning."""
    sums = pd.DataFrame({fate: (chicks["fate"] == fate).groupby(names).sum() for fate in FATES}).astype(int)
    beside = [
        parts({"rates.being-reared": reared, "rates.left": left})
        for reared, left in zip(sums["being reared"], sums["left"], strict=True)
    ]
    return pd.DataFrame({"worked": sums["weaned"], "tried": sums["weaned"] + sums["lost"], "beside": beside})
