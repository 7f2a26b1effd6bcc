"""How many chicks live, by group: to weaning age (Kaplan–Meier), or through a day under watch (Mayfield; Johnson)."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.names import by_name
from analysis.rates.alive_at_age import Z, kaplan_meier
from analysis.rates.stages import group_names, parts

Floats = NDArray[np.float64]

_FEWEST = 5  # losses below which groups are not compared (practice)
_DEALS = 1_999
_SEED = 20_260_606
# What is thought of losses before any is seen: how many chicks' and losses' worth it is, and their mean age as a share
# of the way to weaning. Three of ten is a cumulative hazard of 0.3: 75 % weaned of hatched, about what is published
# (five studies pooled, 72 %; four of parrots 77 %). A mean of 7 days of 48 is practice: most are lost young.
_CHICKS, _LOSSES, _LOST_AT = 10.0, 3.0, 7 / 48
_STEPS = 100
SURVIVAL = ["group", "name", "chicks", "at_risk_at_end", "lost", "survival", "low", "high", "sound", "beside", "chance"]
DAILY = ["losses", "exposure_d", "daily", "se", "daily_low", "daily_high", "over_d", "survival", "low", "high"]


def survival_to(spans: pd.DataFrame, age_d: float | Mapping[str, float] | str, by: str | None = None) -> pd.DataFrame:
    """Share of chicks alive at an age (Kaplan–Meier), of all or by group; chicks that came late or left are heeded.

    `spans` has a row a chick: entry_d, exit_d, lost, as for `kaplan_meier`; the column `by` (None: all together); and
    fate, where it is known: a chick "weaned" stays among the living up to age_d, however early it was weaned.

    `age_d` is an age in days, one by species, or a column of spans. Where it differs from chick to chick, the curve is
    worked on age as a share of it: a finch at 20 of 35 days stands beside a conure at 40 of 70. Chicks for which it is
    not known are counted beside. Ages not above zero, and a column that is not there, are a ValueError.

    Returns a row a group, by name, never by merit: group (`by`, or "aviary"), name ("not written" where it is blank),
    chicks (followed at some age up to age_d), at_risk_at_end (under watch, or weaned, at age_d), lost (by then),
    survival, low, high (95 %), sound (False where nobody was under watch on part of the way), beside (what is not in
    the count, or still open: a finding, or blank), chance (that of `log_rank`, of all groups at once; it takes chicks
    to be lost one by one: where several went together, set them aside first).

    By "reared_by", a chick pulled for hand-rearing counts with the hand from hatch on, although it had to live until it
    was pulled: hand-rearing looks better than it is, and the pairs worse.

    Sources: Kaplan & Meier 1958; Peto & Peto 1972, *J. R. Stat. Soc. A* 135:185, log-rank (from memory).
    """
    of_age = age_d if isinstance(age_d, str) else "species" if isinstance(age_d, Mapping) else None
    for column in (of_age, by):
        if column is not None and column not in spans.columns:
            raise ValueError(f"there is no column {column!r} in spans")
    ages = age_d if of_age is None else spans[of_age].map(age_d) if isinstance(age_d, Mapping) else spans[of_age]
    target = pd.Series(ages, index=spans.index, dtype=float)
    if (target <= 0).any():
        raise ValueError("age_d must be above zero")
    names = group_names(spans, by)
    followed = _followed(spans, target, own=not isinstance(age_d, (int, float)))
    rows = [_row(name, spans[names == name], followed, target) for name in by_name(set(names))]
    table = pd.DataFrame(rows, columns=[c for c in SURVIVAL if c not in ("group", "chance")])
    chance = log_rank(followed, names[followed.index])[1]
    return table.assign(group=by or "aviary", chance=chance)[SURVIVAL]


def log_rank(spans: pd.DataFrame, names: pd.Series) -> tuple[float, float]:
    """Log-rank test of whether groups live equally well; chicks that came late are at risk from then on.

    At each age with losses, a group's expected losses are its share of all at risk; what is lost more or less is
    summed over ages and held against its variance (hypergeometric). A chick is at risk on the days it comes and goes.

    `names`, on the index of `spans`, has the group of each chick. Returns chi2, and the chance: how often losses dealt
    at random to those at risk at the same ages give as much, in 1,999 such seasons. The usual chi-square table is not
    asked: with one chick in a group it says 0.00 of a single loss. Both are NaN for one group, or fewer than five
    losses (practice).
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
    rng = np.random.default_rng(_SEED)
    deals = [
        rng.multivariate_hypergeometric(group, number, size=_DEALS) for group, number in zip(at_risk, d, strict=True)
    ]
    dealt = np.concatenate([losses.sum(axis=0)[None], np.sum(deals, axis=0)]) - d @ share
    statistic = np.einsum("sg,gh,sh->s", dealt, weight, dealt)
    as_much = int((statistic >= statistic[0] * (1 - 1e-9) - 1e-9).sum())
    return float(statistic[0]), as_much / (_DEALS + 1)


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
    """One group's row, without group and chance."""
    group = followed.loc[followed.index.intersection(spans.index)]
    open_ = spans.loc[group.index[group["exit_d"] < group["end"]], "fate"] if "fate" in spans else pd.Series(dtype=str)
    beside = {
        "rates.still-being-reared": (open_ == "being reared").sum(),
        "rates.left": (open_ == "left").sum(),
        "rates.no-age-at-weaning": target.loc[spans.index].isna().sum(),
        "rates.came-later": (spans["entry_d"] > target.loc[spans.index]).sum(),
    }
    row = {"name": name, "chicks": len(group), "lost": int(group["lost"].sum()), "beside": parts(beside)}
    if group.empty:
        return row | {"at_risk_at_end": 0, "survival": np.nan, "low": 0.0, "high": 1.0, "sound": False}
    curve = kaplan_meier(group)
    end = curve.iloc[-1]
    at_end = int((group["exit_d"] >= group["end"]).sum())
    from_hatch = bool((group["entry_d"] <= 0).any())
    sound = bool(curve["sound"].all()) and from_hatch and (at_end > 0 or bool(end["survival"] == 0))
    ends = {column: float(end[column]) for column in ("survival", "low", "high")}
    return row | ends | {"at_risk_at_end": at_end, "sound": sound}


def come_through(spans: pd.DataFrame, age_d: float | pd.Series) -> pd.Series:
    """Share of the danger between hatch and weaning that each chick has come through, from 0 (none) to 1 (all).

    Under proportional hazards a chick that is weaned with probability p has lived to age a with p ** G(a), where::

        G(a) = H(a) / H(weaning),    H(a) = Σ (lost + 3 e) / (at risk + 10)    over the ages up to a

    so a chick alive at a is worth G(a) of a trial that worked. H is Nelson and Aalen's, over all of `spans`, drawn
    towards early losses by the worth of three (e, which sums to 1, falls off as losses of mean age 1/7 of the way do).

    `spans` has a row a chick: entry_d, exit_d, lost, and fate where it is known, as for `survival_to`; `age_d` is the
    age at weaning in days, one for all or one a chick, and ages are taken as a share of it. What was come through
    before a chick came is not counted. Returns a number a chick, 0 where its age at weaning is not known.

    Sources: Nelson 1972, *Technometrics* 14:945; Aalen 1978, *Ann. Stat.* 6:701; drawn towards a hazard thought of
    beforehand: Hjort 1990, *Ann. Stat.* 18:1259 (from memory).

    Examples
    --------
    >>> spans = pd.DataFrame({"entry_d": [0, 0, 0], "exit_d": [48, 7, 0], "lost": False})
    >>> come_through(spans, 48).round(2).tolist()
    [1.0, 0.65, 0.06]
    """
    followed = _followed(spans, pd.Series(age_d, index=spans.index, dtype=float), own=True)
    first, last = (np.ceil(_STEPS * followed[end]).astype(int).to_numpy() for end in ("entry_d", "exit_d"))
    step = np.arange(_STEPS + 1)
    at_risk = ((first <= step[:, None]) & (last >= step[:, None])).sum(axis=1)
    lost = np.bincount(last[followed["lost"].to_numpy(dtype=bool)], minlength=len(step))
    early = np.exp(-step / (_STEPS * _LOST_AT))
    danger = (lost + _LOSSES * early / early.sum()) / (at_risk + _CHICKS)
    passed = np.concatenate([[0.0], np.cumsum(danger)]) / danger.sum()
    return pd.Series(passed[last + 1] - passed[first], index=followed.index).reindex(spans.index, fill_value=0.0)


def exposure(spans: pd.DataFrame, by: str | None = None) -> pd.DataFrame:
    """Days under watch and losses, of all chicks (`by` None) or by group: what `daily_survival` is reckoned from.

    `spans` has a row a chick: entry_d, exit_d (age in days; a loss has the middle of the days between the last good
    look and the finding), lost; and the column `by`. Returns a row a group, by name: group, name, chicks, losses,
    exposure_d (days).
    """
    days = (spans["exit_d"] - spans["entry_d"]).astype(float)
    if (days < 0).any() or days.isna().any():
        raise ValueError("entry_d and exit_d must be known, and no chick may go before it comes")
    counts = pd.DataFrame({"chicks": 1, "losses": spans["lost"].astype(int), "exposure_d": days})
    rows = counts.groupby(group_names(spans, by)).sum()
    rows = rows.loc[by_name(rows.index)].rename_axis("name").reset_index()
    rows.insert(0, "group", by or "aviary")
    return rows


def daily_survival(losses: ArrayLike, exposure_d: ArrayLike, over_d: ArrayLike = 1.0) -> pd.DataFrame:
    """Share that lives through a day, and through `over_d` days, from losses and days under watch (from `exposure`).

    With L losses in E days under watch, Mayfield's share a day and Johnson's standard error are::

        s = 1 − L/E,    se = √((E − L) L / E³),    over d days: s ** d

    The 95 % interval is worked on the scale of ln(s / (1 − s)), where it is ± 1.96 / √(L (1 − L/E)), as a logistic
    regression on the days gives it, and turned back; over d days, each end to the power d.

    **None lost** gives no standard error, and yet is not certain: the low end is then the share at which none lost in E
    days is seen once in forty, ``0.025 ** (1/E)`` (Clopper and Pearson's), the high end 1. All lost on their first day
    (L = E) is the same turned round. With no days, or more losses than days, nothing is known: NaN, and from 0 to 1.

    Returns a row each: losses, exposure_d, daily (s), se (NaN where none or all were lost), daily_low, daily_high,
    over_d, survival (s ** over_d), low, high. A ValueError for losses that are no counts, and for days below zero.

    The share is taken to be the same on every day. Chicks are lost young: over a whole rearing, prefer `survival_to`.
    Sources: Mayfield 1961, *Wilson Bulletin* 73:255; Johnson 1979, *Auk* 96:651; Shaffer 2004, *Auk* 121:526
    (logistic exposure) (from memory).
    """
    lost, days, over = (
        np.array(values, dtype=float).ravel() for values in np.broadcast_arrays(losses, exposure_d, over_d)
    )
    if not (np.isfinite(lost) & (lost >= 0) & (lost == np.floor(lost))).all():
        raise ValueError("losses must be whole numbers from 0 up")
    for name, values in (("exposure_d", days), ("over_d", over)):
        if not (np.isfinite(values) & (values >= 0)).all():
            raise ValueError(f"{name} must be numbers of days from 0 up")
    known = (days > 0) & (lost <= days)
    safe = np.where(known, days, 1.0)
    share = np.where(known, 1 - lost / safe, np.nan)
    inside = known & (lost > 0) & (lost < days)
    se = np.where(inside, np.sqrt((days - lost).clip(0) * lost / safe**3), np.nan)
    low, high = _ends(share, lost, safe, inside)
    low, high = np.where(known, low, 0.0), np.where(known, high, 1.0)
    powers = (share**over, low**over, high**over)
    return pd.DataFrame(dict(zip(DAILY, (lost.astype(int), days, share, se, low, high, over, *powers), strict=True)))


def _ends(share: Floats, lost: Floats, days: Floats, inside: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Ends of the interval of one day: on the logit scale, and exact where none or all were lost."""
    s, n = np.where(inside, share, 0.5), np.where(inside, lost, 1.0)
    spread = np.exp(Z / np.sqrt(n * s))
    odds = s / (1 - s)
    low, high = odds / spread / (1 + odds / spread), odds * spread / (1 + odds * spread)
    exact = 0.025 ** (1 / days)
    low = np.where(inside, low, np.where(lost == 0, exact, 0.0))
    high = np.where(inside, high, np.where(lost == 0, 1.0, 1 - exact))
    return low, high
