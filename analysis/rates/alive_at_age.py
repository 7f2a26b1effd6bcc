"""How many chicks are still alive at each age, and at what age and of what the others were lost."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.names import NOT_WRITTEN, named
from analysis.needed import need_columns, numbers_of, truths_of
from analysis.rates.intervals import ALIKE, WORTH, part_interval
from analysis.say import say

Floats = NDArray[np.float64]
Z = 1.959963984540054  # 97.5th centile of the standard normal
CURVE = ["age_d", "at_risk", "lost", "survival", "se", "low", "high", "sound"]
BANDS = ((0, 2), (3, 7), (8, 14), (15, 28), (29, None))


def kaplan_meier(spans: pd.DataFrame) -> pd.DataFrame:
    """Share of chicks alive after each age (Kaplan–Meier), with chicks that came or left on the way.

    At each age on which chicks were lost::

        S(t) = Π (1 − lost / at risk),    se(t) = S √ Σ lost / (at risk · (at risk − lost))

    the second being Greenwood's. The 95 % interval is pointwise, on the scale of ln(−ln S), so that it
    stays within 0 and 1: ``S ** exp(± 1.96 se / (S ln S))``.

    A chick is at risk **on the day it enters and on the day it goes**, both included: ages are mostly
    whole days, a chick may be lost on the day it hatched or arrived, and without that day its loss
    would be counted among chicks to which it does not belong.

    Parameters
    ----------
    spans : frame
        A row a chick: entry_d, the age in days at which it was first under watch (0 for a chick
        hatched here, the age on arrival for one bought in); exit_d, the age at which it was lost or
        last seen; lost, True or False. Chicks still being reared, sold or weaned and gone are not lost.
        And brood, where it is known, a label (blank: a chick of its own): chicks of one brood share
        a fate, see below.

    Returns
    -------
    frame, a row for the first age, every age with losses, and the last age
        age_d, at_risk (under watch on that day), lost, survival (just after that age), se (Greenwood,
        or by brood; NaN where none is alive), low, high, sound.

        sound is False from the age on at which the last chick under watch goes although others come in
        later: nobody saw what is lost in between, and a curve that falls to nothing there stays at
        nothing whatever the later chicks do. Draw and quote the part that is sound.

    Raises
    ------
    ValueError
        Where a column or an age is missing, `lost` is not true or false, or a chick goes before it comes.

    Notes
    -----
    Two ends are set here. Where none has been lost the formula gives no width: the low end is that of
    Wilson's interval for n of n, n being the chicks still under watch. Where all were lost it gives
    none either: from 0 to the high end of the age before, since survival cannot rise.

    Greenwood takes chicks to be lost one by one. Where broods are known, the variance is the jackknife's, each brood
    left out in turn, joined with Greenwood's times the effect that broods are thought to have (that of
    `clutch_intervals`, with chicks 0.3 alike) by the worth of eight broods; never less than Greenwood's. Where none
    has been lost, n is divided by that effect.

    Engine: statsmodels ``SurvfuncRight``. Kaplan & Meier 1958, *J. Am. Stat. Assoc.* 53:457; broods left out in turn:
    Efron 1982, *The Jackknife, the Bootstrap and Other Resampling Plans*, ch. 3 (from memory).

    Examples
    --------
    Four hatched here, one of them lost on day 0 and one on day 5; a fifth came in on day 3:

    >>> spans = pd.DataFrame({"entry_d": [0, 0, 0, 0, 3], "exit_d": [0, 5, 9, 9, 9],
    ...                       "lost": [True, True, False, False, False]})
    >>> kaplan_meier(spans)[["age_d", "at_risk", "lost", "survival"]].to_numpy().tolist()
    [[0.0, 4.0, 1.0, 0.75], [5.0, 4.0, 1.0, 0.5625], [9.0, 3.0, 0.0, 0.5625]]
    """
    entry, exit_, lost = _checked(spans)
    if spans.empty:
        return pd.DataFrame(columns=CURVE)
    curve = _steps(entry, exit_, lost)
    ages = np.unique([entry.min(), *curve.index, exit_.max()])
    curve = curve.reindex(ages)
    at_risk = ((entry <= ages[:, None]) & (exit_ >= ages[:, None])).sum(axis=1)
    gaps = [age for age in np.unique(exit_[exit_ < entry.max()]) if not ((entry <= age) & (exit_ > age)).any()]
    survival = curve["survival"].ffill().fillna(1.0).to_numpy(dtype=float)
    se = np.where(survival > 0, curve["se"].ffill().fillna(0.0).to_numpy(dtype=float), np.nan)
    effect = 1.0
    if "brood" in spans:
        effect, se = _by_brood(entry, exit_, lost, spans["brood"], ages, se)
    low, high = _log_log(survival, se, at_risk / effect)
    return pd.DataFrame(
        {
            "age_d": ages,
            "at_risk": at_risk,
            "lost": curve["lost"].fillna(0).astype(int).to_numpy(),
            "survival": survival,
            "se": se,
            "low": low,
            "high": high,
            "sound": ages < min(gaps, default=np.inf),
        }
    )


def _checked(spans: pd.DataFrame) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Ages as floats and losses as booleans."""
    need_columns("Survival", spans, ("entry_d", "exit_d", "lost"))
    entry, exit_ = (numbers_of("Survival", spans[column]) for column in ("entry_d", "exit_d"))
    if spans["lost"].isna().any() or not np.isfinite([entry, exit_]).all():
        raise ValueError("entry_d, exit_d and lost must be known for every chick; leave out those without")
    if (exit_ < entry).any():
        row = int(np.argmax(exit_ < entry))
        raise ValueError(f"row {row}: the chick goes at {exit_[row]:g} d, before it comes at {entry[row]:g} d")
    return entry, exit_, truths_of("Survival", spans["lost"])


def _steps(entry: Floats, exit_: Floats, lost: NDArray[np.bool_]) -> pd.DataFrame:
    """Index age; lost, survival, se at every age with losses."""
    from statsmodels.duration.survfunc import SurvfuncRight

    just_before = np.nextafter(entry, -np.inf)  # statsmodels has a chick at risk only after its entry
    with np.errstate(divide="ignore", invalid="ignore"):  # all lost: se is NaN, as documented
        curve = SurvfuncRight(exit_, lost.astype(int), entry=just_before)
    none_left = np.maximum.accumulate(curve.n_events == curve.n_risk)
    survival = np.where(none_left, 0.0, curve.surv_prob)  # statsmodels goes on with 1e-16 where chicks come later
    steps = {"lost": curve.n_events, "survival": survival, "se": curve.surv_prob_se}
    return pd.DataFrame(steps, index=curve.surv_times)


def _by_brood(
    entry: Floats, exit_: Floats, lost: NDArray[np.bool_], brood: pd.Series, ages: Floats, se: Floats
) -> tuple[float, Floats]:
    """The effect that broods are thought to have, and the standard error at each age with broods taken as wholes."""
    labels = named(brood).map(str) + [f" {at}" if one == NOT_WRITTEN else "" for at, one in enumerate(named(brood))]
    brood_of = np.unique(labels.to_numpy(str), return_inverse=True)[1]
    size = np.bincount(brood_of)
    effect, broods = 1 + (np.sum(size**2) / size.sum() - 1) * ALIKE, len(size)
    of = brood_of[:, None] == np.arange(broods)
    there = ((entry <= ages[:, None]) & (exit_ >= ages[:, None])).astype(float)
    gone = (lost & (exit_ == ages[:, None])).astype(float)
    at_risk, losses = (all_.sum(axis=1)[:, None] - all_ @ of for all_ in (there, gone))  # without each brood
    survival = np.cumprod(1 - losses / np.where(at_risk > 0, at_risk, 1.0), axis=0)
    left_out = (broods - 1) / broods * np.sum((survival - survival.mean(axis=1)[:, None]) ** 2, axis=1)
    variance = ((broods - 1) * left_out + WORTH * effect * se**2) / (broods - 1 + WORTH)
    return effect, np.sqrt(np.maximum(variance, se**2))


def _log_log(survival: Floats, se: Floats, at_risk: Floats) -> tuple[Floats, Floats]:
    """Ends of the 95 % interval, pointwise, on the scale of ln(−ln S)."""
    low, high = part_interval(at_risk, at_risk)  # none lost yet
    inside = (survival > 0) & (survival < 1)
    s = survival[inside]
    spread = np.exp(Z * se[inside] / (s * np.log(s)))  # below 1, since ln S < 0
    low[inside], high[inside] = s ** (1 / spread), s**spread
    gone = survival == 0
    low[gone] = 0.0
    high[gone] = np.minimum.accumulate(np.where(gone, 1.0, high))[gone]  # survival cannot rise
    return low, high


def losses_by_age(spans: pd.DataFrame, bands: Sequence[tuple[int, int | None]] = BANDS) -> pd.DataFrame:
    """Chicks lost in each band of age, beside those who came into it and the days they spent there.

    `spans` as for `kaplan_meier`. `bands` are the first and last whole day of each, both included (day 2 lasts until
    the chick is 3 days old), in order; None: no end. A ValueError where they overlap, or a loss falls in none of them.

    Returns a row a band: band ("0–2", "29 and over"), lost, entered (chicks under watch on any day of it), chick_days.
    """
    first = np.array([low for low, _ in bands], dtype=float)
    end = np.array([np.inf if high is None else high + 1 for _, high in bands], dtype=float)
    if (end <= first).any() or (first[1:] < end[:-1]).any():
        raise ValueError(f"bands must be in order and not overlap, got {tuple(bands)}")
    entry, exit_, lost = _checked(spans)
    inside = (exit_[:, None] >= first) & (exit_[:, None] < end)
    if (lost & ~inside.any(axis=1)).any():
        raise ValueError(f"a loss at {exit_[lost & ~inside.any(axis=1)][0]:g} d falls in no band")
    days = np.minimum(exit_[:, None], end) - np.maximum(entry[:, None], first)
    return pd.DataFrame(
        {
            "band": [
                say("rates.band-open", low=low) if high is None else say("rates.band", low=low, high=high)
                for low, high in bands
            ],
            "lost": (inside & lost[:, None]).sum(axis=0),
            "entered": ((entry[:, None] < end) & (exit_[:, None] >= first)).sum(axis=0),
            "chick_days": days.clip(min=0).sum(axis=0),
        }
    )


def losses_by_cause(losses: pd.DataFrame) -> pd.DataFrame:
    """Losses by what the keeper thought was the cause, most frequent first.

    `losses` has a row a loss: cause (the keeper's words), cause_group. Returns a row a group: cause_group ("not
    written" where it is blank, last), lost, as_written (the keeper's different words, joined by "; ").
    """
    group = named(losses["cause_group"])
    words = losses["cause"].groupby(group)
    written = words.agg(lambda of: "; ".join(word for word in of.dropna().astype(str).unique() if word))
    causes = pd.DataFrame({"lost": words.size(), "as_written": written}).rename_axis("cause_group").reset_index()
    order = causes.assign(blank=causes["cause_group"] == NOT_WRITTEN, fewer=-causes["lost"])
    return causes.loc[order.sort_values(["blank", "fewer", "cause_group"]).index].reset_index(drop=True)
