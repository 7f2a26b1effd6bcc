"""How many chicks are still alive at each age, and at what age and of what the others were lost."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Words, found
from analysis.names import FATES, GONE, NOT_WRITTEN, named
from analysis.needed import need_columns, numbers_of, truths_of
from analysis.rates.intervals import interval
from analysis.rates.stages import counted, parts
from analysis.say import say

_FERTILE_GONE = tuple(f"fertile_{what}" for what in GONE)
_GONE = {"broken": "rates.broken", "missing": "rates.missing", "abandoned": "rates.abandoned"}


def egg_path(counts: pd.DataFrame, chicks: pd.DataFrame) -> pd.DataFrame:
    """All eggs laid, and how many came to each stage, were lost on the way there, or are open.

    Nothing is left over: at every stage the eggs of the stage before are those that came on, those
    that were lost and those that are open::

        laid           = showed fertile + (clear + broken, missing, abandoned) + (still incubating + not known)
        showed fertile = hatched + (died in the egg + broken, missing, abandoned) + (still incubating + not known)
        hatched        = weaned + lost + (being reared + left + not followed)

    Parameters
    ----------
    counts : frame
        From `clutch_counts`: pair, clutch, eggs, clear, died_in_egg, gone, hatched, fertile,
        fertile_ended, fertile_incubating, undecided_incubating. What is NA there is not known here;
        a clutch whose eggs nobody counted is not in it. With broken, missing and abandoned of those gone, and
        of those that showed fertile (fertile_broken, ...), where they are known; 0 where the columns are not there.
    chicks : frame
        A row a chick: pair, clutch, fate ("weaned", "lost", "left", "being reared"). Only chicks whose
        clutch is in `counts` can be followed from the egg: those bought in, and those whose eggs nobody
        wrote down, are not in it. Where a clutch has more chicks than eggs hatched, one of the logs is
        wrong: its hatched eggs stay "not followed".

    Returns
    -------
    frame, a row a stage ("Laid", "Showed fertile", "Hatched", "Weaned")
        stage, count (came so far), lost_here, lost_text ("17 clear, 2 broken"), open_here,
        open_text ("3 still incubating"), note (what is not in the picture). The stage and the three are findings,
        the three blank where there is nothing.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> counts = pd.DataFrame({
    ...     "pair": ["P01"], "clutch": ["1"], "eggs": [6], "clear": [1], "died_in_egg": [1], "gone": [0],
    ...     "hatched": [3], "fertile": [5], "fertile_ended": [4], "fertile_incubating": [1],
    ...     "undecided_incubating": [0],
    ... })
    >>> chicks = pd.DataFrame({"pair": "P01", "clutch": "1", "fate": ["weaned", "weaned", "lost"]})
    >>> for row in egg_path(counts, chicks).itertuples():
    ...     print([in_words(row.stage), row.count, in_words(row.lost_text), in_words(row.open_text)])
    ['Laid', 6, '', '']
    ['Showed fertile', 5, '1 clear', '']
    ['Hatched', 3, '1 died in the egg', '1 still incubating']
    ['Weaned', 2, '1 lost', '']
    """
    counts = counts[counts["eggs"].notna()]
    counts = counts.assign(**{name: 0 for name in (*GONE, *_FERTILE_GONE) if name not in counts})
    eggs = counts.select_dtypes("number").fillna(0).sum().astype(int)
    fates, outside = _followed(counts, chicks)
    unknown = int((counts["fertile"] - counts["fertile_ended"] - counts["fertile_incubating"]).fillna(0).sum())
    ended = eggs[["hatched", "died_in_egg", *_FERTILE_GONE]].sum()
    fertile = int(ended + eggs["fertile_incubating"] + unknown)
    of_no_kind = eggs["gone"] - eggs[list(GONE)].sum()  # of clutches that were counted: broken, or missing, or left
    undecided = int(eggs["eggs"] - fertile - eggs[["clear", "gone", "undecided_incubating"]].sum())
    rows = [
        _stage("rates.stage-laid", eggs["eggs"], {}, {}),
        _stage(
            "rates.stage-fertile",
            fertile,
            {
                "rates.clear": eggs["clear"],
                **_gone(eggs),
                "rates.broken-or-gone": of_no_kind,
            },
            {"rates.still-incubating": eggs["undecided_incubating"], "rates.not-known": undecided},
        ),
        _stage(
            "rates.stage-hatched",
            eggs["hatched"],
            {"rates.died-in-egg": eggs["died_in_egg"], **_gone(eggs, "fertile_")},
            {"rates.still-incubating": eggs["fertile_incubating"], "rates.not-known": unknown},
        ),
        _stage(
            "rates.stage-weaned",
            fates["weaned"],
            {"rates.lost": fates["lost"]},
            {
                "rates.being-reared": fates["being reared"],
                "rates.left": fates["left"],
                "rates.not-followed": eggs["hatched"] - fates.sum(),
            },
        ),
    ]
    return pd.DataFrame(rows).assign(note=["", "", "", outside])


def _stage(stage: str, count: Any, lost: dict[str, Any], waits: dict[str, Any]) -> dict[str, Any]:
    """One row of the path."""
    return {
        "stage": found(stage),
        "count": int(count),
        "lost_here": int(sum(lost.values())),
        "lost_text": parts(lost),
        "open_here": int(sum(waits.values())),
        "open_text": parts(waits),
    }


def _gone(eggs: pd.Series, before: str = "") -> dict[str, int]:
    """Eggs gone, by the code of how."""
    return {code: eggs[f"{before}{what}"] for what, code in _GONE.items()}


def _followed(counts: pd.DataFrame, chicks: pd.DataFrame) -> tuple[pd.Series, Words]:
    """Fates of the chicks that can be followed from their egg, and what is to be said of the others."""
    clutch = ["pair", "clutch"]
    counts, linked = (frame[_written(frame)].astype(dict.fromkeys(clutch, str)) for frame in (counts, chicks))
    hatched = counts.groupby(clutch, as_index=False)["hatched"].sum()
    named = linked[[*clutch, "fate"]].merge(hatched, on=clutch)
    agrees = (named.groupby(clutch)["fate"].transform("size") <= named["hatched"]).astype(bool)
    fates = named.loc[agrees, "fate"].value_counts().reindex(FATES, fill_value=0)
    outside, against = len(chicks) - len(named), int((~agrees).sum())
    told = counted({"rates.without-eggs": outside, "rates.too-many": against})
    return fates, found("rates.outside", parts=told) if told else ""


def _written(frame: pd.DataFrame) -> pd.Series:
    """Rows whose pair and clutch are both written."""
    return (frame["pair"].notna() & (frame["pair"] != "")) & (frame["clutch"].notna() & (frame["clutch"] != ""))


Z = 1.959963984540054  # 97.5th centile of the standard normal
SPANS = ("entry_d", "exit_d", "lost")
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

    Returns
    -------
    frame, a row for the first age, every age with losses, and the last age
        age_d, at_risk (under watch on that day), lost, survival (just after that age), se (Greenwood;
        NaN where none is alive), low, high, sound.

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
    Engine: statsmodels ``SurvfuncRight``. Kaplan & Meier 1958, *J. Am. Stat. Assoc.* 53:457 (from memory).

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
    survival = curve["survival"].ffill().fillna(1.0).to_numpy(dtype=float)
    se = np.where(survival > 0, curve["se"].ffill().fillna(0.0).to_numpy(dtype=float), np.nan)
    low, high = _log_log(survival, se, at_risk)
    return pd.DataFrame(
        {
            "age_d": ages,
            "at_risk": at_risk,
            "lost": curve["lost"].fillna(0).astype(int).to_numpy(),
            "survival": survival,
            "se": se,
            "low": low,
            "high": high,
            "sound": ages < _first_gap(entry, exit_),
        }
    )


def _checked(spans: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Ages as floats and losses as booleans, or a ValueError that says which row is wrong."""
    need_columns("Survival", spans, SPANS)
    entry, exit_ = (numbers_of("Survival", spans[column]) for column in ("entry_d", "exit_d"))
    if spans["lost"].isna().any() or not np.isfinite([entry, exit_]).all():
        raise ValueError("entry_d, exit_d and lost must be known for every chick; leave out those without")
    if (exit_ < entry).any():
        row = int(np.argmax(exit_ < entry))
        raise ValueError(f"row {row}: the chick goes at {exit_[row]:g} d, before it comes at {entry[row]:g} d")
    return entry, exit_, truths_of("Survival", spans["lost"])


def _steps(entry: NDArray[np.float64], exit_: NDArray[np.float64], lost: NDArray[np.bool_]) -> pd.DataFrame:
    """Index age; lost, survival, se at every age with losses."""
    from statsmodels.duration.survfunc import SurvfuncRight

    just_before = np.nextafter(entry, -np.inf)  # statsmodels has a chick at risk only after its entry
    with np.errstate(divide="ignore", invalid="ignore"):  # all lost: se is NaN, as documented
        curve = SurvfuncRight(exit_, lost.astype(int), entry=just_before)
    none_left = np.maximum.accumulate(curve.n_events == curve.n_risk)
    survival = np.where(none_left, 0.0, curve.surv_prob)  # statsmodels goes on with 1e-16 where chicks come later
    steps = {"lost": curve.n_events, "survival": survival, "se": curve.surv_prob_se}
    return pd.DataFrame(steps, index=curve.surv_times)


def _log_log(
    survival: NDArray[np.float64], se: NDArray[np.float64], at_risk: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Ends of the 95 % interval, pointwise, on the scale of ln(−ln S)."""
    low, high = interval(at_risk, at_risk)  # none lost yet
    inside = (survival > 0) & (survival < 1)
    s = survival[inside]
    spread = np.exp(Z * se[inside] / (s * np.log(s)))  # below 1, since ln S < 0
    low[inside], high[inside] = s ** (1 / spread), s**spread
    gone = survival == 0
    low[gone] = 0.0
    high[gone] = np.minimum.accumulate(np.where(gone, 1.0, high))[gone]  # survival cannot rise
    return low, high


def _first_gap(entry: NDArray[np.float64], exit_: NDArray[np.float64]) -> float:
    """First age on which the last chick under watch goes although others come in later."""
    for age in np.unique(exit_[exit_ < entry.max()]):
        if not ((entry <= age) & (exit_ > age)).any():
            return float(age)
    return np.inf


def losses_by_age(spans: pd.DataFrame, bands: Sequence[tuple[int, int | None]] = BANDS) -> pd.DataFrame:
    """Chicks lost in each band of age, beside those who came into it and the days they spent there.

    Parameters
    ----------
    spans : frame
        As for `kaplan_meier`: entry_d, exit_d, lost.
    bands : pairs of whole days
        First and last day of each band, both included, in order and without overlap; None: no end.
        Day 2 lasts until the chick is 3 days old.

    Returns
    -------
    frame, a row a band
        band ("0–2", "29 and over"), lost, entered (chicks under watch on any day of it), chick_days
        (the days they were).

    Raises
    ------
    ValueError
        Where bands overlap, or a loss falls in none of them.

    Examples
    --------
    >>> spans = pd.DataFrame({"entry_d": [0, 0, 9], "exit_d": [2, 20, 40], "lost": [True, False, True]})
    >>> losses_by_age(spans, bands=((0, 2), (3, 14), (15, None))).to_dict("split")["data"]
    [['0–2', 1, 2, 5.0], ['3–14', 0, 2, 18.0], ['15 and over', 1, 2, 30.0]]
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

    Parameters
    ----------
    losses : frame
        A row a loss: cause (the keeper's words), cause_group (the short list they were put under).

    Returns
    -------
    frame, a row a group
        cause_group ("not written" where it is blank, last), lost, as_written (the keeper's different
        words, joined by "; ").

    Examples
    --------
    >>> losses = pd.DataFrame({"cause": ["cold", "chilled", None], "cause_group": ["cold", "cold", None]})
    >>> losses_by_cause(losses).to_dict("split")["data"]
    [['cold', 2, 'cold; chilled'], ['not written', 1, '']]
    """
    group = named(losses["cause_group"])
    words = losses["cause"].groupby(group)
    causes = pd.DataFrame({"lost": words.size(), "as_written": words.agg(_distinct)})
    causes = causes.rename_axis("cause_group").reset_index()
    blank = causes["cause_group"] == NOT_WRITTEN
    order = pd.DataFrame({"blank": blank, "fewer": -causes["lost"], "name": causes["cause_group"]})
    return causes.loc[order.sort_values(["blank", "fewer", "name"]).index].reset_index(drop=True)


def _distinct(words: pd.Series) -> str:
    return "; ".join(word for word in dict.fromkeys(words.dropna().astype(str)) if word)
