"""How many chicks live to weaning age, by who reared them, species, cage or room."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Words
from analysis.names import by_name, named
from analysis.rates.stages import parts
from analysis.rates.survival import kaplan_meier

SURVIVAL = ["group", "name", "chicks", "at_risk_at_end", "lost", "survival", "low", "high", "sound", "beside", "chance"]
_FEWEST = 5  # losses below which groups are not compared (practice)
_DEALS = 1_999
_SEED = 20_260_606


def survival_to(spans: pd.DataFrame, age_d: float | Mapping[str, float] | str, by: str | None = None) -> pd.DataFrame:
    """Share of chicks alive at an age (Kaplan–Meier), of all or by group; chicks that came late or left are heeded.

    Parameters
    ----------
    spans : frame
        A row a chick: entry_d, exit_d, lost, as for `kaplan_meier`; the column `by`; and fate, where it is known.
        A chick whose fate is "weaned" lived to weaning: it stays among the living up to age_d, however early
        it was weaned.
    age_d : number, mapping of species to number, or name of a column of spans
        Age in days. Where it differs from chick to chick (a column or a mapping), each chick is followed
        to its own, and the curve is worked on age as a share of it: a finch at 20 of 35 days stands beside a
        conure at 40 of 70. Chicks for which it is not known are left out, and counted beside.
    by : column of spans, or None
        None: all chicks together.

    Returns
    -------
    frame, a row a group; names by name, never by merit
        group (`by`, or "aviary"), name ("not written" where it is blank), chicks (followed at some age up to age_d),
        at_risk_at_end (under watch, or weaned, at age_d), lost (by then), survival, low, high (95 %, as in
        `kaplan_meier`), sound, beside (what is not in the count, or still open: a finding, or blank),
        chance.

        sound is False where nobody was under watch on part of the way: the share then speaks of a part only.
        chance is that of the log-rank test, of all groups at once (the same in each row): how often groups that
        live equally well differ as much (see `log_rank`). NaN for one group, or fewer than five losses (practice).
        It takes chicks to be lost one by one: where several went together, set them aside first.

        By "reared_by", a chick pulled for hand-rearing counts with the hand from hatch on, although it had
        to live until it was pulled: hand-rearing looks better than it is, and the pairs worse.

    Raises
    ------
    ValueError
        For an age below or at zero, a column that is not there, or spans that `kaplan_meier` refuses.

    Notes
    -----
    Sources: Kaplan & Meier 1958; Peto & Peto 1972, *J. R. Stat. Soc. A* 135:185, log-rank (from memory).

    Examples
    --------
    >>> spans = pd.DataFrame({"entry_d": [0, 0, 0, 12], "exit_d": [4, 50, 20, 50],
    ...     "reared_by": ["P1", "P1", "hand", ""],
    ...     "lost": [True, False, False, False], "fate": ["lost", "weaned", "being reared", "weaned"]})
    >>> from analysis.say import in_words
    >>> table = survival_to(spans, 40, by="reared_by")
    >>> table = table.assign(beside=table["beside"].map(in_words))
    >>> table[["name", "chicks", "survival", "sound", "beside"]].to_numpy().tolist()
    ... # doctest: +NORMALIZE_WHITESPACE
    [['hand', 1, 1.0, False, '1 still being reared'],
     ['P1', 2, 0.5, True, ''],
     ['not written', 1, 1.0, False, '']]
    """
    target = _targets(spans, age_d)
    own = not isinstance(age_d, (int, float))
    if (target <= 0).any():
        raise ValueError("age_d must be above zero")
    names = pd.Series("aviary", index=spans.index, dtype=object) if by is None else named(_column(spans, by))
    followed = _followed(spans, target, own=own)
    rows = [_row(name, spans[names == name], followed, target) for name in by_name(set(names))]
    told = pd.DataFrame(rows, columns=[c for c in SURVIVAL if c not in ("group", "chance")])
    chance = log_rank(followed, names[followed.index])[1]
    return told.assign(group=by or "aviary", chance=chance)[SURVIVAL]


def log_rank(spans: pd.DataFrame, names: pd.Series) -> tuple[float, float]:
    """Log-rank test of whether groups live equally well; chicks that came late are at risk from then on.

    At each age with losses, a group's expected losses are its share of all at risk; what is lost more or less is
    summed over ages and held against its variance (hypergeometric). A chick is at risk on the days it comes and goes.

    Parameters
    ----------
    spans : frame
        entry_d, exit_d, lost.
    names : series on the same index
        Group of each chick.

    Returns
    -------
    chi2, chance
        The statistic, and how often losses dealt at random to those at risk at the same ages give as much: 1,999
        such seasons, the same on every run. The usual chi-square table is not asked: with one chick in a
        group it says 0.00 of a single loss. NaN for one group, or fewer than five losses (practice).

    Examples
    --------
    >>> spans = pd.DataFrame({"entry_d": 0, "exit_d": [1, 2, 3, 4, 5, 9, 9, 9], "lost": [True] * 5 + [False] * 3})
    >>> [round(number, 3) for number in log_rank(spans, pd.Series(list("aaaabbbb")))]
    [7.344, 0.019]
    """
    entry, exit_ = spans["entry_d"].to_numpy(dtype=float), spans["exit_d"].to_numpy(dtype=float)
    lost = spans["lost"].to_numpy(dtype=bool)
    member = (names.to_numpy()[:, None] == np.array(sorted(set(names)), dtype=object)).astype(int)
    if lost.sum() < _FEWEST or member.shape[1] < 2:
        return np.nan, np.nan
    ages = np.unique(exit_[lost])
    at_risk = ((entry <= ages[:, None]) & (exit_ >= ages[:, None])).astype(int) @ member
    losses = (lost & (exit_ == ages[:, None])).astype(int) @ member
    n, d = at_risk.sum(axis=1), losses.sum(axis=1)
    share = at_risk / n[:, None]
    each = d * (n - d) / np.maximum(n - 1, 1)
    variance = np.diag(each @ share) - (share * each[:, None]).T @ share
    weight = np.linalg.pinv(variance, rcond=1e-9, hermitian=True)  # a group that no loss could meet says nothing
    dealt = np.concatenate([losses.sum(axis=0)[None], _dealt(at_risk, d)]) - d @ share
    statistic = np.einsum("sg,gh,sh->s", dealt, weight, dealt)
    as_much = int((statistic >= statistic[0] * (1 - 1e-9) - 1e-9).sum())
    return float(statistic[0]), as_much / (_DEALS + 1)


def _dealt(at_risk: NDArray[np.int64], lost: NDArray[np.int64]) -> NDArray[np.int64]:
    """Losses of each group in seasons where they fall at random on those at risk at each age."""
    rng = np.random.default_rng(_SEED)
    ages = zip(at_risk, lost, strict=True)
    draws = [rng.multivariate_hypergeometric(group, number, size=_DEALS) for group, number in ages]
    total: NDArray[np.int64] = np.sum(draws, axis=0)
    return total


def _column(spans: pd.DataFrame, name: str) -> pd.Series:
    if name not in spans.columns:
        raise ValueError(f"there is no column {name!r} in spans")
    return spans[name]


def _targets(spans: pd.DataFrame, age_d: float | Mapping[str, float] | str) -> pd.Series:
    """Age to which each chick is followed, NaN where it is not known."""
    if isinstance(age_d, str):
        return _column(spans, age_d).astype(float)
    if isinstance(age_d, Mapping):
        ages = [age_d.get(species, np.nan) for species in _column(spans, "species")]
        return pd.Series(ages, index=spans.index, dtype=float)
    return pd.Series(float(age_d), index=spans.index)


def _followed(spans: pd.DataFrame, target: pd.Series, *, own: bool) -> pd.DataFrame:
    """Spans up to the target, on days or on shares of it; without chicks that came later or have none."""
    entry, exit_ = spans["entry_d"].astype(float), spans["exit_d"].astype(float)
    if "fate" in spans:
        exit_ = exit_.where(spans["fate"] != "weaned", np.maximum(exit_, target))
    cut = pd.DataFrame({"entry_d": entry, "exit_d": np.minimum(exit_, target), "end": target})
    cut["lost"] = spans["lost"].astype(bool) & (exit_ <= target)
    cut = cut[target.notna() & (entry <= target)]
    scale = cut["end"] if own else 1.0
    return cut.assign(**{column: cut[column] / scale for column in ("entry_d", "exit_d", "end")})


def _row(name: str, spans: pd.DataFrame, followed: pd.DataFrame, target: pd.Series) -> dict[str, Any]:
    """What is said of one group."""
    group = followed.loc[followed.index.intersection(spans.index)]
    beside = _beside(spans, group, target.loc[spans.index])
    row: dict[str, Any] = {"name": name, "chicks": len(group), "lost": int(group["lost"].sum()), "beside": beside}
    if group.empty:
        return row | {"at_risk_at_end": 0, "survival": np.nan, "low": 0.0, "high": 1.0, "sound": False}
    curve = kaplan_meier(group)
    end = curve.iloc[-1]
    at_end = int((group["exit_d"] >= group["end"]).sum())
    from_hatch = bool((group["entry_d"] <= 0).any())
    sound = bool(curve["sound"].all()) and from_hatch and (at_end > 0 or bool(end["survival"] == 0))
    ends = {column: float(end[column]) for column in ("survival", "low", "high")}
    return row | ends | {"at_risk_at_end": at_end, "sound": sound}


def _beside(spans: pd.DataFrame, group: pd.DataFrame, target: pd.Series) -> Words:
    """Chicks still open, gone, or without an age to follow them to."""
    still, left = 0, 0
    if "fate" in spans:
        open_ = spans.loc[group.index[group["exit_d"] < group["end"]], "fate"]
        still, left = int((open_ == "being reared").sum()), int((open_ == "left").sum())
    unknown, late = int(target.isna().sum()), int((spans["entry_d"] > target).sum())
    numbers = {"rates.still-being-reared": still, "rates.left": left}
    return parts(numbers | {"rates.no-age-at-weaning": unknown, "rates.came-later": late})
