"""Egg weighings → one row an egg and weighing, with its day of incubation; what a shell or a scale did is said."""

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Row
from analysis.logs.cells import GRAMS
from analysis.needed import typed_frame
from analysis.season.days import Rows
from analysis.season.hatches import Hatch, HatchIndex
from analysis.season.weighings import TEN

EGG_WEIGHTS = {
    **{"egg": "str", "pair": "str", "clutch": "str", "egg_row": "int64", "weighed_on": "datetime64[us]"},
    **{"day": "float64", "mass_g": "float64", "doubt": "str", "file": "str", "row": "Int64"},
}
# An egg loses about half a percent a day, a small one one (13-17 % by pip: Duerr & Gage, Hand-Rearing Birds, 2020,
# p. 65). 3 % in a day, over what it may lose in the days around it, is the scale or a crack; it never gains. Two of
# the scale's own steps say neither (practice).
_FAST, _USUAL_A_DAY, _GAIN = 0.03, 0.015, 0.005
_TEN_WIDE = 0.25  # how far from ten times the egg's middle weight, in ln, a moved decimal point may be (practice)
GAINED, LOST = "gained", "lost too fast"
_SAME_G = 1e-6  # masses nearer than this are one; no scale is so fine
DOUBTS = {GAINED: found("season.doubt-gained"), LOST: found("season.doubt-lost-fast")}  # what each is called
_Step = tuple[int, int, str]  # two weighings, by their places, and the doubt between them
_CODES = {GAINED: "egg-gained", LOST: "egg-lost-fast"}


def egg_weights_frame(rows: Rows, eggs: pd.DataFrame, index: HatchIndex, ledger: Ledger) -> tuple[Rows, pd.DataFrame]:
    """Return the rows that are used, and one row an egg weighing, by egg and day.

    egg, pair, clutch and egg_row (the label of the egg in `eggs`); day: since it was set, since it was laid where that
    is not known; doubt: "", "gained" or "lost too fast", which no model takes.
    """
    known = zip(*(eggs[name] for name in ("pair", "clutch", "egg", "file", "row")), strict=True)
    labels = dict(zip(known, eggs.index, strict=True))  # by name too: two sheets of a book both have a row 2
    of_egg: dict[int, list[dict[str, Any]]] = {}
    for row in rows["egg_weights"]:
        h = index.egg(row["egg"])
        if h is None:
            index.drop_unknown(row, "egg", ledger, "unknown-egg")
            continue
        label = labels[h.pair, h.clutch, h.row["egg"], h.row.place.file, h.row.place.row]
        if _can_be(row, h, of_egg.get(label, []), ledger):
            on, begun = row["weighed_on"].normalize(), h.row["set_on"] or h.row["laid_on"]
            day = np.nan if begun is None else float((on - begun.normalize()).days)
            own = {"egg": h.row["egg"], "pair": h.pair, "clutch": h.clutch, "egg_row": label, "weighed_on": on}
            own |= {"day": day, "mass_g": row["weight"], "file": row.place.file, "row": row.place.row}
            of_egg.setdefault(label, []).append(own | {"place": row.place})
    step_g = scale_step_g([one["mass_g"] for weighings in of_egg.values() for one in weighings])
    used = [one for label in sorted(of_egg) for one in _looked_through(of_egg[label], step_g, ledger)]
    return rows.used(ledger, "egg_weights"), typed_frame(used, EGG_WEIGHTS)


def _can_be(row: Row, h: Hatch, before: list[dict[str, Any]], ledger: Ledger) -> bool:
    """Drop a weighing that is none, is out of its egg's life, or is written twice; two that differ are said."""
    on, mass_g = row["weighed_on"].normalize(), row["weight"]
    that_day = [one for one in before if one["weighed_on"] == on]
    again = next((one for one in that_day if one["mass_g"] == mass_g), None)
    code = _out_of_its_life(on, h)
    if not mass_g > 0:
        ledger.drop("weight-not-positive", row.place, "weight", f"{mass_g:g}")
    elif code:
        ledger.drop(code, row.place, "weighed_on", f"{on:%Y-%m-%d}")
    elif again is not None:
        ledger.drop("repeated-row", row.place, "weight", f"{mass_g:g}", first=again["row"])
    elif that_day:
        facts = {"first": that_day[-1]["mass_g"], "second": mass_g}
        ledger.say("weighed-twice", row.place, "weight", Finding("problems.two-weights", facts=facts))
    return ledger.is_used(row)


def _out_of_its_life(on: pd.Timestamp, h: Hatch) -> str:
    """The rule that a weighing breaks before its egg was laid or after it hatched; blank where it breaks none."""
    laid, hatched = h.row["laid_on"] or h.row["set_on"], h.row["hatched_at"]
    if laid is not None and on < laid.normalize():
        return "egg-weighed-before-laid"
    if hatched is not None and on > hatched.normalize() + pd.Timedelta(days=h.row["sure_to_days"] or 0):
        return "egg-weighed-after-hatch"
    return ""


def _looked_through(weighings: list[dict[str, Any]], step_g: float, ledger: Ledger) -> list[dict[str, Any]]:
    """One egg's weighings by day, the heavier of a day first, those that its others contradict marked."""
    weighings = sorted(weighings, key=lambda one: (one["weighed_on"], -one["mass_g"]))
    masses = np.array([one["mass_g"] for one in weighings])
    off = np.abs(np.log(masses / np.median(masses)))
    ten = np.abs(off - TEN) < _TEN_WIDE if len(masses) > 2 else np.zeros(len(masses), bool)
    for one in (weighings[at] for at in np.flatnonzero(ten)):
        ledger.drop("ten-fold", one["place"], "weight", f"{one['mass_g']:g}")
    kept = [one for one, moved in zip(weighings, ten, strict=True) if not moved]
    doubts = contradicted([one["weighed_on"] for one in kept], [one["mass_g"] for one in kept], step_g=step_g)
    for at, doubt in doubts.items():
        place, mass = kept[at]["place"], f"{kept[at]['mass_g']:g}"
        ledger.say(_CODES[doubt], place, "weight", mass, contradict=len(doubts) == len(kept))
    return [one | {"doubt": doubts.get(at, "")} for at, one in enumerate(kept)]


def contradicted(days: list[pd.Timestamp], masses_g: list[float], *, step_g: float | None = None) -> dict[int, str]:
    """Which weighings of an egg, in order of time, its others contradict: place in the list → `GAINED` or `LOST`.

    A step up, or down by 3 % a day, has two ends. The odd one is that without which the others agree; where none is,
    as after a crack, it is the side with fewer weighings; of two weighings alone, both. `step_g` is the scale's step,
    told from these masses where it is not given.
    """
    kept, found = list(range(len(days))), dict[int, str]()
    step_g = scale_step_g(masses_g) if step_g is None else step_g
    while steps := _bad_steps(kept, days, masses_g, step_g):
        before, after, doubt = steps[0]
        if len(kept) == 2:
            return found | dict.fromkeys(kept, doubt)
        one, other = ([at for at in kept if at != odd] for odd in (before, after))
        left = [len(_bad_steps(rest, days, masses_g, step_g)) for rest in (one, other)]
        if min(left) < len(steps):
            odd = [before if left[0] < left[1] else after]
        else:
            first, last = ([at for at in kept if at <= before], [at for at in kept if at >= after])
            odd = first if len(first) < len(last) else last
        found |= dict.fromkeys(odd, doubt)
        kept = [at for at in kept if at not in odd]
    return found


def _bad_steps(kept: list[int], days: list[pd.Timestamp], masses_g: list[float], step_g: float) -> list[_Step]:
    found = []
    for before, after in pairwise(kept):
        lost = 1 - masses_g[after] / masses_g[before]
        apart = max((days[after] - days[before]).days, 1)
        told = abs(masses_g[after] - masses_g[before]) > 2 * step_g + _SAME_G
        if told and lost < -_GAIN:
            found.append((before, after, GAINED))
        elif told and lost > _FAST + _USUAL_A_DAY * (apart - 1):
            found.append((before, after, LOST))
    return found


def scale_step_g(masses_g: list[float]) -> float:
    """The step in which masses are written, in grams: 1, 0.1, 0.01 or 0.001 g, else of an ounce."""
    for unit_g in (GRAMS["g"], GRAMS["oz"]):
        written = np.asarray(masses_g, dtype=float) / unit_g
        for digits in range(4):
            if np.allclose(np.round(written, digits), written, rtol=0, atol=_SAME_G):
                return float(unit_g * 10.0**-digits)
    return 0.001
