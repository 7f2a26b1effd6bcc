"""The rate of each stage on its own denominator, and the way of all eggs from laid to weaned."""

from collections.abc import Mapping
from typing import SupportsInt

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.names import by_name, named
from analysis.rates.intervals import clutch_intervals

# stage: what worked, of what, out of which eggs, how many of those are still incubating
EGG_STAGES = {
    "showed fertile": ("fertile", "fertile_known", "eggs", "undecided_incubating"),
    "hatch of fertile": ("hatched", "fertile_ended", "fertile", "fertile_incubating"),
    "hatch of set": ("hatched", "ended", "eggs", "incubating"),
}
WEANED = "weaned"
# fate of a chick that has not ended, whether it counts by what it has come through: what it is called beside the rate
_OPEN = {
    ("being reared", True): "rates.being-reared-so-far",
    ("being reared", False): "rates.being-reared",
    ("left", True): "rates.left-so-far",
    ("left", False): "rates.left",
}
CREDITED_TO = {  # what each way of grouping is answerable for
    None: (*EGG_STAGES, WEANED),
    "pair": (*EGG_STAGES, WEANED),
    "cage": (*EGG_STAGES, WEANED),
    "species": (*EGG_STAGES, WEANED),
    "incubated_by": ("hatch of fertile", "hatch of set"),
    "reared_by": (WEANED,),
    "first_reared_by": (WEANED,),
}
RATES = ["group", "name", "stage", "worked", "tried", "rate", "low", "high", "beside", "in_part"]


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


def clutches_of(frame: pd.DataFrame) -> pd.Series:
    """A label for the clutch of each row, by season, pair and clutch; a row that does not say is one of its own."""
    by = frame.reindex(columns=["season", "pair", "clutch"]).astype(object)
    blank = (by[["pair", "clutch"]].isna() | (by[["pair", "clutch"]] == "")).any(axis=1)
    labels = by.groupby(list(by), sort=False, dropna=False).ngroup()
    return labels.mask(blank, -1 - pd.Series(range(len(frame)), index=frame.index))


def stage_rates(counts: pd.DataFrame, chicks: pd.DataFrame, by: str | None = None) -> pd.DataFrame:
    """Rate of every stage with its count and its 95 % interval, clutches taken as wholes, each on its own denominator.

    =================  ==========================================================================
    showed fertile     eggs that showed fertile / eggs whose answer is known
    hatch of fertile   hatched / eggs that showed fertile and whose outcome is known
    hatch of set       hatched / eggs laid whose outcome is known
    weaned             weaned / (weaned + lost), and in both, chicks still being reared and those that left before
                       they were weaned, each as what it has come through (see `come_through`)
    =================  ==========================================================================

    A loss counts at once and a chick that lives only weeks later, so counts alone lean towards the early losses while
    chicks are being reared; with what these have come through, the rate is on any day about what it will be. Where
    none of a group is weaned or lost yet it has no rate.

    Each stage is credited to who did it, so the groups are never to be read as one table: "pair" is the pair as layers
    (its last stage is what became of the chicks it laid, whoever reared them), "incubated_by" has the hatch alone,
    "reared_by" (who had a chick last) and "first_reared_by" the weaning alone. Clear is not infertile: it says what
    candling showed.

    `counts` is from `clutch_counts`, with ``parts=True`` for "incubated_by" and "cage", where clutches were split;
    `chicks` has a row a chick: pair, clutch, cage, species, reared_by, fate, and come_through where it is known. `by`
    is None (the whole aviary) or one of these columns; another is a ValueError. Returns a row a name and stage; names
    by name, never by merit, stages in the order above: group (`by`, or "aviary"), name ("not written" where it is
    blank), stage, worked, tried (whole counts), rate (NaN where nothing was tried), low, high (`clutch_intervals`, how
    much alike clutches do being that of all `counts` or chicks), beside (what is in neither count: a finding, or
    blank), in_part (how many chicks count in the rate by what they have come through).
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
    numbers = {name: rates[name].fillna(0).astype(int) for name in ("worked", "tried", "in_part")}
    none = numbers["tried"] == 0  # 0 of 0 is no rate
    ends = {"rate": np.nan, "low": 0.0, "high": 1.0}
    likely = {name: rates[name].astype(float).mask(none, value) for name, value in ends.items()}
    return rates.assign(group=by or "aviary", beside=rates["beside"].astype(object).fillna(""), **numbers, **likely)[
        RATES
    ]


def weaned_a_clutch(counts: pd.DataFrame, chicks: pd.DataFrame, rate: float) -> float:
    """Chicks weaned for each clutch that has no egg still incubating: counted, or as many as it will about be.

    A chick still being reared that has come through the share G of the danger is weaned with probability
    rate ** (1 - G) from here on; chicks of clutches that still have eggs are left out with them. `counts` and `chicks`
    as for `stage_rates`; `rate` is the aviary's, of weaning. NaN where no clutch is over, or chicks are being reared
    and no rate is known.
    """
    open_ = (counts["incubating"] > 0).fillna(False).astype(bool)
    still = pd.MultiIndex.from_frame(counts.loc[open_, ["pair", "clutch"]])
    chicks = chicks[~pd.MultiIndex.from_frame(chicks[["pair", "clutch"]]).isin(still)]
    reared = chicks[chicks["fate"] == "being reared"]
    weaned = (chicks["fate"] == "weaned").sum() + (rate ** (1 - reared["come_through"])).sum()
    known = (~open_).any() and (reared.empty or rate == rate)
    return float(weaned / (~open_).sum()) if known else float("nan")


def _egg_stage(stage: str, counts: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Index name; worked, tried, rate and its ends, beside, in_part of one stage of the eggs."""
    worked, tried, base, incubating = EGG_STAGES[stage]
    known = counts[worked].notna() & counts[tried].notna()
    of_known = counts[[worked, tried, base, incubating]].astype("Float64").where(known, 0)
    of_known[[base, incubating]] = counts[[base, incubating]].astype("Float64").fillna(0)
    each = of_known.set_axis(["worked", "tried", "base", "incubating"], axis=1).astype(int)
    sums = each.groupby(names).sum()
    open_ = sums["base"] - sums["tried"] - sums["incubating"]
    sums["beside"] = [
        parts({"rates.still-incubating": still, "rates.not-known": rest})
        for still, rest in zip(sums["incubating"], open_, strict=True)
    ]
    return _with_rate(sums, each.assign(clutch=clutches_of(counts), pair=counts.get("pair")), names).assign(in_part=0)


def _weaning(chicks: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Index name; worked, tried, rate and its ends, beside, in_part of weaning."""
    worked, ended = chicks["fate"] == "weaned", chicks["fate"].isin(["weaned", "lost"])
    way = chicks["come_through"].astype(float).fillna(0.0) if "come_through" in chicks else pd.Series(0.0, chicks.index)
    labels = {"clutch": clutches_of(chicks), "pair": chicks.get("pair")}
    each = pd.DataFrame({"worked": worked + way, "tried": ended + way, **labels})
    sums = pd.DataFrame({"worked": worked, "tried": ended}).astype(int).groupby(names).sum()
    counted = (way > 0) & (names.map(sums["tried"]) > 0)  # where none has ended there is no rate to count in
    told = {
        code: ((chicks["fate"] == fate) & (counted == so_far)).groupby(names).sum()
        for (fate, so_far), code in _OPEN.items()
    }
    sums["beside"] = [parts(row) for row in pd.DataFrame(told, index=sums.index).to_dict("records")]
    return _with_rate(sums.assign(in_part=counted.groupby(names).sum()), each, names)


def _with_rate(sums: pd.DataFrame, each: pd.DataFrame, names: pd.Series) -> pd.DataFrame:
    """Sums by name with rate, low and high; `each`: a row a clutch or chick, see `clutch_intervals`."""
    likely = clutch_intervals(each, names)
    return sums.assign(rate=likely["worked"] / likely["tried"], **{end: likely[end] for end in ("low", "high")})
