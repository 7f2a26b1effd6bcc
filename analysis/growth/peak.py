"""The top of a chick's weight: parrot chicks rise above adult weight and lose some of it before they are weaned.

A curve that levels off is wrong when it is fitted through that fall, so it is fitted up to the peak, and the
fall is told apart.
"""

import numpy as np
import pandas as pd

FALLEN = 0.03  # a smaller fall is within what a kitchen scale and a morning's crop do (practice)
_WINDOW = 3  # weighings in the running median, so that a single slip is no peak


def up_to_peak(frame: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Keep each chick's weighings up to its peak, and say where the peak was.

    The peak is the highest running median of three weighings. Where the last weights are not at least 3 %
    below it, the chick has not fallen, and all its weighings are kept.

    Parameters
    ----------
    frame
        One row a weighing: chick, age_d (days), mass_g (grams); more columns are kept.

    Returns
    -------
    kept
        The rows of `frame` up to the peaks, in its order.
    peaks
        One row a chick, by name: chick, peak_age_d, peak_g (the running median there), last_g (the same at the
        end), fall (share of the peak lost by then; 0 where there is none), after (weighings after the peak).

    Examples
    --------
    >>> weights = pd.DataFrame({"chick": "K1", "age_d": range(8), "mass_g": [10, 30, 60, 90, 100, 100, 90, 80]})
    >>> kept, peaks = up_to_peak(weights)
    >>> len(kept), peaks["fall"].round(2).tolist()
    (5, [0.1])
    """
    keep = pd.Series(True, index=frame.index)
    rows = []
    for chick, weights in frame.groupby("chick", sort=True):
        weights = weights.sort_values("age_d", kind="stable")
        smooth = weights["mass_g"].rolling(min(_WINDOW, len(weights)), center=True).median().bfill().ffill().to_numpy()
        top = int(np.argmax(smooth))
        fell = smooth[-1] < (1 - FALLEN) * smooth[top]
        if fell:
            keep[weights.index[top + 1 :]] = False
        rows.append(
            {
                "chick": chick,
                "peak_age_d": weights["age_d"].iloc[top],
                "peak_g": smooth[top],
                "last_g": smooth[-1],
                "fall": 1 - smooth[-1] / smooth[top] if fell else 0.0,
                "after": len(weights) - 1 - top if fell else 0,
            }
        )
    columns = ["chick", "peak_age_d", "peak_g", "last_g", "fall", "after"]
    return frame[keep], pd.DataFrame(rows, columns=columns)
