"""What each chick should weigh today, and between which weights nothing more need be asked."""

import numpy as np
import pandas as pd

from analysis.findings import Growth
from analysis.growth import expected_next

# Without a curve: from this age on a weight must be above the last one (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617;
# no gain in the first days is normal: Hagen Avicultural Research Institute), and gain neither twice what it last gained
# nor twice the fifth of its weight a day that is usual in the first weeks (Wragg; twice: practice).
FROM_D, GAINS, MOST_A_DAY = 3, 2.0, 0.4
PAST_PEAK = "past peak"
SOME_GAIN = 1.1  # a tenth above the last weight is never asked about: no chick is harmed by having gained (practice)
_LAST_D = 3  # a gain is carried on over so many days, no more (practice)


def expected_today(nursery: pd.DataFrame, growth: Growth, on: pd.Timestamp) -> pd.DataFrame:
    """Add what each chick is expected to weigh on a day, from its weighings before that day.

    Parameters
    ----------
    nursery : from `in_the_nursery`
    growth : of the same season
    on : the day

    Returns
    -------
    The same rows with expected_g, low_g and high_g: weigh again below and above; gram, missing where nothing can be
    expected. And by: "curve", "last gain", "past peak" (of a chick that falls before weaning nobody knows
    how far it will, and a tenth is usual), or "" where nothing is.
    """
    parts = [expected_next(kind, on=on) for kind in growth.watch.kinds.values()]
    known = pd.concat([part for part in parts if len(part)] or [pd.DataFrame(columns=["chick", "median_g"])])
    known = known[known["chick"].isin(nursery["chick"])].drop_duplicates("chick").set_index("chick")
    curve = known.reindex(columns=["median_g", "low_g", "high_g"]).reindex(nursery["chick"]).to_numpy(dtype=float)
    own = _by_last_gain(nursery, on)
    past = (nursery["age_d"] > nursery["chick"].map(growth.watch.peaks.to_dict()).astype(float)).to_numpy()
    curve, own = (np.where(past[:, None], np.nan, one) for one in (curve, own))
    told = np.isfinite(curve[:, 0])
    table = np.where(told[:, None], curve, own)
    by = np.where(told, "curve", np.where(np.isfinite(own[:, 0]), "last gain", ""))
    by = np.where(past, PAST_PEAK, by)
    table[:, 2] = np.maximum(table[:, 2], SOME_GAIN * nursery["last_g"].to_numpy(dtype=float))  # missing stays missing
    columns = dict(zip(("expected_g", "low_g", "high_g"), table.T, strict=True))
    return nursery.assign(**columns, by=by)


def _by_last_gain(nursery: pd.DataFrame, on: pd.Timestamp) -> np.ndarray:
    """Expected, low and high by the gain between a chick's last two weighings, (chicks, 3)."""
    apart_d = (nursery["last_on"] - nursery["before_on"]).dt.days.to_numpy(dtype=float)
    ahead_d = (on - nursery["last_on"]).dt.days.to_numpy(dtype=float)
    last = nursery["last_g"].to_numpy(dtype=float)
    gain = (last - nursery["before_g"].to_numpy(dtype=float)) / apart_d * ahead_d
    usable = (ahead_d <= _LAST_D) & (apart_d <= _LAST_D) & (gain > 0)
    low = np.where(nursery["age_d"].to_numpy() >= FROM_D, last, np.nan)
    high = last + np.maximum(GAINS * gain, MOST_A_DAY * last * ahead_d)
    table = np.column_stack([last + gain, low, high])
    return np.where(usable[:, None], table, np.nan)
