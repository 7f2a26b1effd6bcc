"""Egg weighings → one row an egg and weighing, with its day of incubation; what a shell or a scale did is said."""

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from analysis.logs import Ledger, Row
from analysis.season.dates import Rows
from analysis.season.eggs import Hatch
from analysis.season.frames import typed_frame
from analysis.season.nest import Nest

EGG_WEIGHTS = {
    "egg": "str",
    "pair": "str",
    "clutch": "str",
    "egg_row": "int64",
    "weighed_on": "datetime64[us]",
    "day": "float64",
    "mass_g": "float64",
    "doubt": "str",
    "file": "str",
    "row": "Int64",
}
# An egg loses about half a percent a day, a small one one (13-17 % by pip: Duerr & Gage, Hand-Rearing Birds, 2020,
# p. 65). 3 % in a day, over what it may lose in the days around it, is the scale or a crack; it never gains but by the
# scale's own step (practice).
FAST, USUAL_A_DAY, GAIN = 0.03, 0.015, 0.005
TEN_FOLD = 4.0  # so far off the egg's middle weight, a decimal point has moved (practice)
GAINED, LOST = "gained", "lost too fast"
_CODES = {GAINED: "egg-gained", LOST: "egg-lost-fast"}


def egg_weights_frame(rows: Rows, eggs: pd.DataFrame, nest: Nest, ledger: Ledger) -> pd.DataFrame:
    """Return one row an egg weighing that is used, by egg and day.

    egg, pair, clutch and egg_row (the label of the egg in `eggs`); day: since it was set, since it was laid where that
    is not known; doubt: "", "gained" or "lost too fast", which no model takes.
    """
    labels = {(file, row): label for label, file, row in zip(eggs.index, eggs["file"], eggs["row"], strict=True)}
    of_egg: dict[int, list[dict[str, Any]]] = {}
    for row in rows["egg_weights"]:
        h = nest.egg(row["egg"])
        if h is None:
            nest.not_found(row, "egg", ledger, "unknown-egg")
            continue
        label = labels[h.row.place.file, h.row.place.row]
        found = _weighing(row, h, label, of_egg.get(label, []), ledger)
        if found is not None:
            of_egg.setdefault(label, []).append(found)
    rows["egg_weights"][:] = [row for row in rows["egg_weights"] if ledger.is_used(row)]
    known = [weighing for label in sorted(of_egg) for weighing in _looked_through(of_egg[label], ledger)]
    rows["egg_weights"][:] = [row for row in rows["egg_weights"] if ledger.is_used(row)]
    return typed_frame(known, EGG_WEIGHTS)


def _weighing(row: Row, h: Hatch, label: int, before: list[dict[str, Any]], ledger: Ledger) -> dict[str, Any] | None:
    on = row["weighed_on"].normalize()
    laid, hatched = h.row["laid_on"] or h.row["set_on"], h.row["hatched_at"]
    if laid is not None and on < laid.normalize():
        ledger.drop("egg-weighed-before-laid", row.place, "weighed_on", f"{on:%Y-%m-%d}")
        return None
    if hatched is not None and on > hatched.normalize() + pd.Timedelta(days=h.row["sure_to_days"] or 0):
        ledger.drop("egg-weighed-after-hatch", row.place, "weighed_on", f"{on:%Y-%m-%d}")
        return None
    again = next((one for one in before if one["weighed_on"] == on), None)
    if again is not None and again["mass_g"] == row["weight"]:
        ledger.drop("repeated-row", row.place, "weight", f"{row['weight']:g}", first=again["row"])
        return None
    if again is not None:
        ledger.say("weighed-twice", row.place, "weight", f"{again['mass_g']:g} and {row['weight']:g}")
    begun = h.row["set_on"] or h.row["laid_on"]
    return {
        "egg": h.row["egg"],
        "pair": h.pair,
        "clutch": h.clutch,
        "egg_row": label,
        "weighed_on": on,
        "day": np.nan if begun is None else float((on - begun.normalize()).days),
        "mass_g": row["weight"],
        "doubt": "",
        "file": row.place.file,
        "row": row.place.row,
        "place": row.place,
    }


def _looked_through(weighings: list[dict[str, Any]], ledger: Ledger) -> list[dict[str, Any]]:
    """One egg's weighings by day, those that its others contradict marked."""
    weighings = sorted(weighings, key=lambda one: (one["weighed_on"], one["row"]))
    masses = np.array([one["mass_g"] for one in weighings])
    middle = float(np.median(masses))
    far = np.abs(np.log(masses / middle)) > np.log(TEN_FOLD) if len(masses) > 2 else np.zeros(len(masses), bool)
    for one in (weighings[at] for at in np.flatnonzero(far)):
        ledger.drop("ten-fold", one["place"], "weight", f"{one['mass_g']:g}")
    kept = [one for one, off in zip(weighings, far, strict=True) if not off]
    for at, doubt in doubts([one["weighed_on"] for one in kept], [one["mass_g"] for one in kept]).items():
        kept[at]["doubt"] = doubt
        ledger.say(_CODES[doubt], kept[at]["place"], "weight", f"{kept[at]['mass_g']:g}")
    return kept


def doubts(days: list[pd.Timestamp], masses_g: list[float]) -> dict[int, str]:
    """Which weighings of an egg its others contradict: place in the list, and "gained" or "lost too fast".

    A step up, or down by 3 % a day, has two ends. The odd one is that without which the others agree; where none is,
    as after a crack, it is the side with fewer weighings; of two weighings alone, both.

    Examples
    --------
    >>> days = list(pd.date_range("2026-05-01", periods=4, freq="3D"))
    >>> doubts(days, [7.0, 6.9, 7.8, 6.7]), doubts(days, [7.0, 6.9, 6.8, 6.7])
    ({2: 'gained'}, {})
    """
    kept, found = list(range(len(days))), dict[int, str]()
    while steps := _bad_steps(kept, days, masses_g):
        before, after, doubt = steps[0]
        if len(kept) == 2:
            return found | dict.fromkeys(kept, doubt)
        one, other = ([at for at in kept if at != odd] for odd in (before, after))
        left = [len(_bad_steps(rest, days, masses_g)) for rest in (one, other)]
        if min(left) < len(steps):
            odd = [before if left[0] < left[1] else after]
        else:
            first, last = ([at for at in kept if at <= before], [at for at in kept if at >= after])
            odd = first if len(first) < len(last) else last
        found |= dict.fromkeys(odd, doubt)
        kept = [at for at in kept if at not in odd]
    return found


def _bad_steps(kept: list[int], days: list[pd.Timestamp], masses_g: list[float]) -> list[tuple[int, int, str]]:
    found = []
    for before, after in pairwise(kept):
        lost = 1 - masses_g[after] / masses_g[before]
        apart = max((days[after] - days[before]).days, 1)
        if lost < -GAIN and masses_g[after] - masses_g[before] > 2 * _step(masses_g):
            found.append((before, after, GAINED))
        elif lost > FAST + USUAL_A_DAY * (apart - 1):
            found.append((before, after, LOST))
    return found


def _step(masses_g: list[float]) -> float:
    """The scale's step: a tenth, a hundredth or a thousandth of a gram, as the masses are written."""
    return next((10.0**-n for n in range(3) if np.allclose(np.round(masses_g, n), masses_g, atol=1e-6)), 0.001)
