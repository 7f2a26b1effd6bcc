"""How honest what the pages print is, on whole seasons of known truth, at the end and on days within the season.

    python tests/calibrate_pages.py [SEASONS [SEED]] [--only WORD] [--save FILE] [--processes N]
    python tests/calibrate_pages.py --beside BEFORE AFTER [--short]

Read are the frames that feed the pages, opened from logs: stage rates and survival of the first page and the losses,
the pairs' rates and advice, what a clutch gives, the next season, and what is said of places, hens and incubators. Two
truths: `analysis.simulate` with one clutch in ten failing whole, and `World` of `other_aviary` (clutches beta-binomial
at rho 0.15, seasons and pairs' own seasons 0.3 on the logit, 8 % of pairs never fertile, 10 % laying nothing). Every
pair is written as checked, so that nothing but the record holds the advice back. "Within" is one of three days of the
season, in turn; "off by" there is beside the end of the same season. Then pairs all alike, where nothing is to be said:
clutches scattered as above, one in ten failing whole, three in ten in an incubator that is twice out of range and does
no harm, and of three seasons' pairs (20 at first) the 12 kept whose eggs hatched best in the first. And the same with
one bad cage, one hen whose eggs hatch less each season and an incubator that harms (−1.5, −1 and −1.5 on the logit).

All in %, with Monte Carlo errors worked from season to season; ! is a MISS. The aims are ours, misses are shown, not
tuned away. Of 30 pairs there is a quarter of the seasons, of nothing true twice as many; 40 SEASONS take about 20
minutes of two quiet cores with what stood before. What was seen is kept in FILE, and is not made anew.

`python tests/calibrate_pages.py 200 1` makes 200; the table is of fewer, so many a ! is within its error, and ±0 says
that it was not seen. Cells are of 3, 12 and 30 pairs, or of one and three seasons:

`analysis.simulate`, one season; 3, 12 and 30 pairs (20, 20, 5 seasons before; 12, 12, 3 after)

| what, % | aim | before | after |
|---|---|---|---|
| 95 %: the aviary's stage rates | 93–97 | 97.5±1.7! 86.2±4.5! 75±10! | 100±0! 93.8±4.3 100±0! |
| 95 %: alive at weaning | 93–97 | 100±0! 80±8.9! 60±22! | 100±0! 91.7±8! 100±0! |
| 95 %: a pair's rates | 93–97 | 98.9±0.75! 98.1±0.59! 95.1±0.87 | 99.1±0.89! 98.8±0.51! 97±0.3! |
| 95 %: hatched a clutch | 93–97 | 95±3.6 97.5±1! 96.7±3 | 100±0! 97.2±1.5! 96.7±1.6 |
| 95 %: weaned a clutch | 93–97 | 95±2.7 98.3±0.95! 98±1.2! | 100±0! 97.9±1.4! 100±0! |
| hatched a clutch off the truth by | printed | -16.9±4 -2.86±2.5 9.94±3 | 0.555±3.9 0.298±3.2 9.92±3.3 |
| weaned a clutch off the truth by | printed | -27.7±3.8 -9.74±2.7 8.14±2.8 | 3.37±4.5 -2.09±3.3 7.84±2.9 |
| 4 in 5: a pair's next season | 75–87 | 78.3±4.9 80.4±2.2 81.3±2.4 | 80.6±6.2 82.6±2.9 91.1±0.91! |
| 4 in 5: next season's total | 75–87 | 65±11! 80±8.9 40±22! | 83.3±11 91.7±8! 100±0! |
| next season's total off, median | ± 10 | -20.8±14! -15.3±4.3! 11.9±12! | 6.1±17 -8.75±6 16.3±9.5! |
| above the median: part or stop | ≤ 1 | 0±0 0±0 0±0 | 0±0 0±0 0±0 |
| above the median: check first, too | printed | 0±0 0±0 2.67±1.5 | 0±0 0±0 0±0 |
| aviary's weaning, 04-20, off its end by | ± 10 | -72.5±16! -49.4±13! – | -19.3±7.5! -2.74±1.7 – |
| aviary's weaning, 05-10, off its end by | ± 10 | -0.383±0.36 -10.8±4.1! -7.06±0.34 | 0±0 2.65±2.2 – |
| aviary's weaning, 05-30, off its end by | ± 10 | -5.85±2.5 -2.19±0.62 -6.49±0.15 | -1.5±1.2 -0.102±0.058 – |
| weaned a clutch, 04-20, off by | ± 10 | -52.4±4.6! -47±6.8! – | -18.8±7.1! -2.84±1.2 – |
| weaned a clutch, 05-10, off by | ± 10 | -10±4.1! -14.7±2.6! -12.3±2! | -1.3±0.9 4.18±1.9 – |
| weaned a clutch, 05-30, off by | ± 10 | -6.71±2.2 -2.36±0.99 -6.96±0.0099 | -0.434±0.47 0.799±0.84 – |

`analysis.simulate`, three seasons; 3, 12 and 30 pairs (12, 12, 3 seasons before; 12, 12, 3 after)

| what, % | aim | before | after |
|---|---|---|---|
| 95 %: the aviary's stage rates | 93–97 | 87.5±5.5! 95.8±2.7 100±0! | 91.7±3.4! 97.9±2! 100±0! |
| 95 %: alive at weaning | 93–97 | 83.3±11! 100±0! 100±0! | 83.3±11! 100±0! 100±0! |
| 95 %: a pair's rates | 93–97 | 97.2±1.9! 97.5±0.76! 90.7±0.3! | 100±0! 98.4±0.76! 90.4±0.3! |
| 95 %: hatched a clutch | 93–97 | 97.2±2.7! 96.5±1.5 97.8±1.8! | 100±0! 95.8±1.6 97.8±1.8! |
| 95 %: weaned a clutch | 93–97 | 94.4±3.6 97.9±1! 97.8±1.8! | 100±0! 98.6±0.9! 97.8±1.8! |
| hatched a clutch off the truth by | printed | -9.38±4.1 -2.8±2.4 2.02±2.2 | 2.58±4.1 -0.181±2.4 1.74±2 |
| weaned a clutch off the truth by | printed | -16.8±5.3 -5.96±2.7 -3.17±0.69 | 2.91±5.5 -1.25±2.6 -3.04±1.1 |
| 4 in 5: a pair's next season | 75–87 | 86.1±6.2 86.8±2.5 83.3±5.4 | 80.6±6.2 84.7±2.7 84.4±1.8 |
| 4 in 5: next season's total | 75–87 | 83.3±11 91.7±8! 100±0! | 83.3±11 83.3±11 100±0! |
| next season's total off, median | ± 10 | 11.6±20! -4.87±9.5 -2.46±7 | 29.7±26! 5.14±10 -4.06±8.6 |
| above the median: part or stop | ≤ 1 | 0±0 0±0 0±0 | 0±0 0±0 0±0 |
| above the median: check first, too | printed | 0±0 1.39±1.3 2.22±1.8 | 0±0 1.39±1.3 0±0 |
| aviary's weaning, 04-20, off its end by | ± 10 | -100±0! -65.5±17! – | -3.64±0.66 -2.88±1.9 – |
| aviary's weaning, 05-10, off its end by | ± 10 | -6.14±3.8 -17.9±1.8! – | -0.506±0.42 -1.08±0.83 – |
| aviary's weaning, 05-30, off its end by | ± 10 | -10.5±7! -3.08±2 – | -0.176±0.14 0.0866±1.5 – |
| weaned a clutch, 04-20, off by | ± 10 | -24.7±2.5! -38.1±13! – | -2.87±1.7 2.08±1.4 – |
| weaned a clutch, 05-10, off by | ± 10 | -3.9±1.3 -10.5±2.4! – | -0.906±0.54 2.21±1.5 – |
| weaned a clutch, 05-30, off by | ± 10 | -2.65±1.6 -4.37±1.8 – | -0.172±0.13 -0.651±0.89 – |

another make, one season; 3, 12 and 30 pairs (20, 20, 5 seasons before; 12, 12, 3 after)

| what, % | aim | before | after |
|---|---|---|---|
| 95 %: the aviary's stage rates | 93–97 | 90±3.3! 95±2.2 95±4.5 | 100±0! 97.9±2! 100±0! |
| 95 %: alive at weaning | 93–97 | 85±8! 100±0! 100±0! | 100±0! 100±0! 100±0! |
| 95 %: a pair's rates | 93–97 | 97.8±0.99! 96±0.77 95.1±1.8 | 100±0! 95.8±1 97.4±1.2! |
| 95 %: hatched a clutch | 93–97 | 96.7±2.2 97.5±1! 94±2.6 | 100±0! 95.8±1.6 96.7±1.6 |
| 95 %: weaned a clutch | 93–97 | 90±4.1! 99.2±0.56! 96.7±0.94 | 94.4±3.6 95.8±1.2 96.7±1.6 |
| hatched a clutch off the truth by | printed | -10.6±4.4 4.62±2.7 10.1±2.6 | 0.257±6.4 2.78±3.1 8.68±2.1 |
| weaned a clutch off the truth by | printed | -27.9±4.4 1.88±2.7 8.12±3.8 | -5.3±6.6 3.89±3.7 10.2±2.8 |
| 4 in 5: a pair's next season | 75–87 | 68.3±6.4! 67.5±1.9! 67.3±4.6! | 77.8±7.2 81.9±3.9 85.6±4 |
| 4 in 5: next season's total | 75–87 | 65±11! 60±11! 20±18! | 83.3±11 83.3±11 66.7±27! |
| next season's total off, median | ± 10 | -21.6±12! 3.24±7.2 27.3±24! | -17.8±17! 5.61±11 20.9±31! |
| above the median: part or stop | ≤ 1 | 0±0 0±0 1.33±1.2! | 0±0 0±0 2.22±1.8! |
| above the median: check first, too | printed | 0±0 0.833±0.81 1.33±1.2 | 0±0 0±0 2.22±1.8 |
| aviary's weaning, 04-20, off its end by | ± 10 | -63.2±28! -31.5±11! – | – -2.94±2.7 – |
| aviary's weaning, 05-10, off its end by | ± 10 | -0.687±16 -6.36±2.5 -13.5±6! | 21±12! 1.77±1.5 – |
| aviary's weaning, 05-30, off its end by | ± 10 | -3.94±3.7 -3.43±1.2 -0.348±0.8 | -2±1.1 -1.2±0.46 – |
| weaned a clutch, 04-20, off by | ± 10 | -38.5±4.9! -39±6! – | -5.55±3.4 2.9±5.9 – |
| weaned a clutch, 05-10, off by | ± 10 | -13.6±11! -11±2.2! -22.8±4.7! | 20.2±12! 0.762±2.4 – |
| weaned a clutch, 05-30, off by | ± 10 | -5.83±1.5 -5.8±1.8 -2.6±1.4 | 1.04±1.8 -1.1±1.8 – |

another make, three seasons; 3, 12 and 30 pairs (12, 12, 3 seasons before; 12, 12, 3 after)

| what, % | aim | before | after |
|---|---|---|---|
| 95 %: the aviary's stage rates | 93–97 | 91.7±3.4! 89.6±3.6! 100±0! | 97.9±2! 95.8±2.7 100±0! |
| 95 %: alive at weaning | 93–97 | 83.3±11! 100±0! 100±0! | 100±0! 100±0! 100±0! |
| 95 %: a pair's rates | 93–97 | 97.2±1.9! 94.2±1.4 94.1±2.4 | 98.1±1.2! 94.9±1.4 96.3±1.6 |
| 95 %: hatched a clutch | 93–97 | 100±0! 95.1±1.8 94.4±3.3 | 97.2±2.7! 93.1±2.2 97.8±0.91! |
| 95 %: weaned a clutch | 93–97 | 97.2±2.7! 99.3±0.66! 96.7±1.6 | 97.2±2.7! 95.8±1.2 96.7±1.6 |
| hatched a clutch off the truth by | printed | -7.17±5.4 10.9±3.3 12.4±1.4 | -2.09±4.8 3.34±3.7 1.26±0.78 |
| weaned a clutch off the truth by | printed | -18.4±5.9 8.72±3.3 12.2±1.1 | -6.89±5.9 2.96±3.8 1.2±1.1 |
| 4 in 5: a pair's next season | 75–87 | 75±9.7 77.8±3.7 60±4.2! | 75±8.9 82.6±3 86.7±2.7 |
| 4 in 5: next season's total | 75–87 | 66.7±14! 58.3±14! 0±0! | 75±12 100±0! 33.3±27! |
| next season's total off, median | ± 10 | -18.1±12! 28.3±7.6! 75.8±24! | 0.0135±13 18.9±7.4! 48.1±21! |
| above the median: part or stop | ≤ 1 | 0±0 1.39±1.3! 2.22±1.8! | 0±0 1.39±1.3! 0±0 |
| above the median: check first, too | printed | 0±0 1.39±1.3 4.44±1.8 | 0±0 1.39±1.3 0±0 |
| aviary's weaning, 04-20, off its end by | ± 10 | -53.7±25! -32.6±12! – | 0.553±11 2.54±5.7 – |
| aviary's weaning, 05-10, off its end by | ± 10 | -12.8±5.2! -13.1±6.4! – | -4.19±2.6 -0.506±1.5 – |
| aviary's weaning, 05-30, off its end by | ± 10 | 1.23±3.8 -5.53±1.2 – | 1.62±3.7 -1.29±0.55 – |
| weaned a clutch, 04-20, off by | ± 10 | -10.1±7.7! -21.3±7! – | 5.47±4.7 3.29±2.6 – |
| weaned a clutch, 05-10, off by | ± 10 | -8.89±2.6 -11.4±5.5! – | 0.934±1.4 -0.81±3.3 – |
| weaned a clutch, 05-30, off by | ± 10 | 5.63±5.5 -1.17±2.3 – | 7.52±7.1 4.51±3.1 – |

nothing true, 12 pairs; one season, and three (20, 20 seasons before; 30, 30 after)

| what, % | aim | before | after |
|---|---|---|---|
| said: a place did worse | ≤ 5 | 25±9.7! 45±11! | 3.33±3.3 3.33±3.3 |
| said: a hen's eggs hatch less | ≤ 5 | 0±0 45±11! | 0±0 0±0 |
| said: heat or cold set aside | ≤ 5 | 5±4.9 25±9.7! | 0±0 0±0 |
| said: losses set aside as one event | ≤ 5 | 0±0 5±4.9 | 0±0 3.33±3.3 |
| said: a pair is below its kind | ≤ 5 | 65±11! 70±10! | 3.33±3.3 3.33±3.3 |
| said: a pair is to check, part or stop | ≤ 5 | 35±11! 20±8.9! | 3.33±3.3 0±0 |
| said: a pair is to part or stop | ≤ 5 | 5±4.9 0±0 | 0±0 0±0 |
| said: a cock or hen is in question | ≤ 5 | 0±0 0±0 | 0±0 0±0 |
| 95 %: the aviary's stage rates | 93–97 | 87.5±3.8! 85±5.7! | 96.7±1.9 93.3±2.6 |
| 95 %: alive at weaning | 93–97 | 95±4.9 90±6.7! | 100±0! 96.7±3.3 |
| 95 %: a pair's rates | 93–97 | 99.3±0.27! 98.1±0.88! | 100±0! 99.2±0.47! |

something true, 12 pairs; one season, and three (12, 12 seasons before; 15, 15 after)

| what, % | aim | before | after |
|---|---|---|---|
| found: the bad cage | printed | 0±0 33.3±14 | 0±0 6.67±6.4 |
| found: the hen whose eggs hatch less | printed | 0±0 25±12 | 0±0 0±0 |
| found: the incubator out of range | printed | 16.7±11 58.3±14 | 6.67±6.4 13.3±8.8 |
"""

import argparse
import json
import os
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pandas as pd
from known_seasons import SET, STAGES, YEAR, Known, logit, other, simulated
from other_aviary import INCUBATOR, inv_logit

from analysis import open_season
from analysis.pairs.evidence import stage_evidence
from analysis.pairs.of_season import Pairs
from analysis.pairs.record import FERTILE, HATCH, WEAN
from analysis.rates import clutch_counts, stage_rates, survival_to
from analysis.season import Season, chick_spans

Seen = dict[str, list[float]]
DAYS = ("04-20", "05-10", "05-30")
SIZES = (3, 12, 30)
BEYOND = ("re-pair", "stop breeding")
CALLED = ("check first", *BEYOND)
FEWER, MORE = 0.25, 2.0  # of the largest aviary, which takes as much longer; of words, which are few
NOTHING = {"spread": 0.0, "season_sd": 0.0, "pair_season_sd": 0.0, "never": 0.0, "fails": 0.10, "incubator": 0.3}
KINDS = (
    *("a place did worse", "a hen's eggs hatch less", "heat or cold set aside", "losses set aside as one event"),
    *("a pair is below its kind", "a pair is to check, part or stop", "a pair is to part or stop"),
    "a cock or hen is in question",
)
TO_BE_FOUND = ("found: the bad cage", "found: the hen whose eggs hatch less", "found: the incubator out of range")
ALIVE = "alive at weaning"
SOMETHING = {"bad_cage": -1.5, "falling": -1.0, "heat": -1.5}


# -- what is printed of one season on one day


def held(low: Any, high: Any, truth: Any) -> list[float]:
    """Whether each interval held its truth, where there is one of each."""
    low, high, truth = (np.atleast_1d(np.asarray(part, float)) for part in (low, high, truth))
    known = np.isfinite(low) & np.isfinite(high) & np.isfinite(truth)
    return ((low <= truth) & (truth <= high))[known].astype(float).tolist()


def of_the_aviary(season: Season, known: Known) -> Seen:
    """The stage rates of the first page, and the share alive at weaning of the losses' chapter."""
    rates = stage_rates(clutch_counts(season.eggs, season.clutches), season.reared).set_index("stage")
    seen = {f"aviary {stage}": held(*rates.loc[stage, ["low", "high"]], known.aviary[stage]) for stage in known.aviary}
    seen["weaned"] = [float(rates.loc[WEAN, "rate"])]
    spans = chick_spans(season)
    spans = spans[spans["wean_d"] > 0]
    if len(spans):
        alive = survival_to(spans, "wean_d").iloc[0]
        seen["alive"] = held(alive["low"], alive["high"], known.aviary[WEAN])
        seen[ALIVE] = [float(alive["survival"])]
    return seen


def of_the_pairs(judged: Pairs, known: Known) -> Seen:
    """Each pair's rates, what a clutch of it gives, and the advice."""
    seen, alone = Seen(), pd.Series(0.0, index=known.pairs.index)
    for stage, rows in stage_evidence(judged.record).set_index("pair").groupby("stage"):
        if stage not in STAGES:
            continue
        shift = 0.0 if stage == FERTILE else rows["alone_in"].map(known.cages).fillna(0.0)
        alone = rows["alone_in"].map(known.cages).fillna(0.0) if stage == HATCH else alone
        truth = inv_logit(logit(known.pairs.loc[rows.index, stage]) + shift)
        some = rows[["worked", "tried"]].notna().all(axis=1)
        if stage == WEAN:
            seen["typical"] = [float(rows["typical"].mean())]
        seen[f"pair {stage}"] = held(rows["low"][some], rows["high"][some], truth[some.to_numpy()])
    review, own = judged.review.set_index("pair"), known.pairs
    for name, stages in (("hatched", (HATCH,)), ("weaned", (HATCH, WEAN))):
        moved = [inv_logit(logit(own[stage]) + alone) / own[stage] for stage in stages]
        truth, printed = (
            own[f"{name}_per_clutch"] * np.prod(moved, axis=0),
            review[f"{name}_per_clutch"].reindex(own.index),
        )
        ends = (review[f"{name}_per_clutch_{end}"].reindex(own.index) for end in ("low", "high"))
        seen[f"{name} a clutch"] = held(*ends, truth)
        seen[f"{name} off"] = [float((printed - truth).sum())]
        seen[f"{name} true"] = [float(truth[printed.notna()].sum())]
        seen[f"{name} mean"] = [float(printed.mean())]
    above = own.index[own["value"] > own["value"].median()]
    for word, some in (("beyond", BEYOND), ("called", CALLED)):
        seen[word] = review.loc[above, "advice"].isin(some).astype(float).tolist()
    return seen


def of_next_season(judged: Pairs, known: Known) -> Seen:
    """Ranges for four seasons in five against the season that came."""
    ahead = judged.outlook
    if ahead is None or not ahead.keep:
        return {}
    pairs, total = ahead.pairs.set_index("pair"), ahead.total
    came = known.pairs["next"].reindex(pairs.index)
    all_of_them = float(came[list(ahead.keep)].sum())
    return {
        "ahead pairs": held(pairs["low"], pairs["high"], came),
        "ahead total": held(total["low"], total["high"], all_of_them),
        "ahead off": [float(total["mean"]) - all_of_them],
        "ahead came": [all_of_them],
    }


def said(judged: Pairs) -> Seen:
    """Which kinds of sentence a report says that put a bird, a pair or a place in a bad light; 1 where it does."""
    record, review = judged.record, judged.review.set_index("pair")
    codes = {code for codes in review["reason_codes"] for code in codes}
    places, hens, excluded = judged.places, judged.hens, record.excluded.values()
    worse = places[places["said"] != ""] if "said" in places else places.iloc[:0]
    falling = hens[hens["falling"].astype(bool)] if "falling" in hens else hens.iloc[:0]
    counts = (
        len(worse),
        len(falling),
        sum(len(one.spoilt) for one in excluded),
        sum(len(one.together) for one in excluded),
        sum(code.startswith("pairs.low-") for code in codes),
        review["advice"].isin(CALLED).sum(),
        review["advice"].isin(BEYOND).sum(),
        len(codes & {"pairs.cock-in-question", "pairs.hen-in-question"}),
        (worse["place"] == "C1").sum(),
        (falling["pair"] == "P01").sum() if len(falling) else 0,
        sum((one.spoilt["place"] == INCUBATOR).sum() for one in excluded),
    )
    return {kind: [float(many > 0)] for kind, many in zip((*KINDS, *TO_BE_FOUND), counts, strict=True)}


def printed(known: Known, day: str | None = None) -> Seen:
    """All of it; `day` is of the season, None its end."""
    season = open_season(known.folder, known.earlier, up_to=f"{YEAR}-{day}" if day else None)
    judged = Pairs.of(season)
    return of_the_aviary(season, known) | of_the_pairs(judged, known) | of_next_season(judged, known) | said(judged)


def one_season(seed: int, make: Callable[..., Known], *, within: bool) -> Seen:
    """What is printed at the end; and on one of three days, in turn, beside it (named with "mid" and the day)."""
    with tempfile.TemporaryDirectory() as scratch:
        known = make(Path(scratch), seed)
        seen = printed(known)
        day = DAYS[seed % len(DAYS)]
        earlier = printed(known, day) if within else {}
    for what in ("weaned", ALIVE, "typical", "weaned mean"):
        both = (*earlier.get(what, [np.nan]), *seen.get(what, [np.nan]))
        if np.isfinite(both).all():
            seen |= {f"{what} {day}": [both[0] - both[1]], f"{what} {day} end": [both[1]]}
    return seen | {f"mid {name}": values for name, values in earlier.items()}


# -- the table

Cell = tuple[float, float]
Row = tuple[str, str, Callable[[Sequence[Seen]], Cell], Callable[[float], bool] | None]


def ratio(seasons: Sequence[Seen], over: Sequence[str], under: Sequence[str] = ()) -> Cell:
    """A share, or one sum by another, in %, with its Monte Carlo error, seasons being the independent ones."""
    sums = []
    for one in seasons:
        values = [value for name in over for value in one.get(name, [])]
        of = [value for name in under for value in one.get(name, [])]
        sums.append((sum(values), sum(of) if under else len(values)))
    a, b = np.array(sums, float).T
    if (b != 0).sum() < 2:  # one season has no error to be told
        return np.nan, np.nan
    return 100 * a.sum() / b.sum(), 100 * float(np.sqrt(((a - a.sum() / b.sum() * b) ** 2).sum()) / b.sum())


def median_off(seasons: Sequence[Seen], off: str, came: str) -> Cell:
    """The median of what a total is off by, in % of the median of what came; its error by drawing seasons again."""
    pairs = np.array([(one[off][0], one[came][0]) for one in seasons if off in one])
    if len(pairs) < 2:
        return np.nan, np.nan
    rng = np.random.default_rng(0)
    again = [np.median(pairs[rng.integers(0, len(pairs), len(pairs))], axis=0) for _ in range(400)]
    value, of = np.median(pairs, axis=0)
    return 100 * value / max(of, 1), float(np.std([100 * a / max(b, 1) for a, b in again]))


def between(low: float, high: float) -> Callable[[float], bool]:
    return lambda found: bool(low <= found <= high)


TEN = between(-10, 10)


def shares(what: str, *names: str, aim: tuple[float, float] | None = (93, 97)) -> Row:
    said_aim = "printed" if aim is None else f"≤ {aim[1]:g}" if aim[0] == 0 else f"{aim[0]:g}–{aim[1]:g}"
    return what, said_aim, partial(ratio, over=names), None if aim is None else between(*aim)


def bias(what: str, over: str, under: str, *, aim: bool = True) -> Row:
    of = partial(ratio, over=[over], under=[under])
    return what, "± 10" if aim else "printed", of, TEN if aim else None


PAIR_RATES = [f"pair {stage}" for stage in STAGES]
AVIARY = {stage: f"aviary {stage}" for stage in (FERTILE, HATCH, SET, WEAN)}
FOUR_IN_FIVE = (75, 87)
HELD: list[Row] = [
    shares("95 %: the aviary's stage rates", *AVIARY.values()),
    *(shares(f"– {stage}", name, aim=None) for stage, name in AVIARY.items()),
    shares("95 %: alive at weaning", "alive"),
    shares("95 %: a pair's rates", *PAIR_RATES),
    *(shares(f"– its {stage}", f"pair {stage}", aim=None) for stage in STAGES),
]
AT_THE_END: list[Row] = [
    *HELD,
    shares("95 %: hatched a clutch", "hatched a clutch"),
    shares("95 %: weaned a clutch", "weaned a clutch"),
    bias("hatched a clutch off the truth by", "hatched off", "hatched true", aim=False),
    bias("weaned a clutch off the truth by", "weaned off", "weaned true", aim=False),
    shares("4 in 5: a pair's next season", "ahead pairs", aim=FOUR_IN_FIVE),
    shares("4 in 5: next season's total", "ahead total", aim=FOUR_IN_FIVE),
    ("next season's total off, median", "± 10", partial(median_off, off="ahead off", came="ahead came"), TEN),
    shares("above the median: part or stop", "beyond", aim=(0, 1)),
    shares("above the median: check first, too", "called", aim=None),
]
WITHIN: list[Row] = [
    *(bias(f"aviary's weaning, {day}, off its end by", f"weaned {day}", f"weaned {day} end") for day in DAYS),
    *(bias(f"alive at weaning, {day}, off by", f"{ALIVE} {day}", f"{ALIVE} {day} end") for day in DAYS),
    *(bias(f"a typical pair's weaning, {day}, off by", f"typical {day}", f"typical {day} end") for day in DAYS),
    *(bias(f"weaned a clutch, {day}, off by", f"weaned mean {day}", f"weaned mean {day} end") for day in DAYS),
    shares("within, 95 %: aviary's weaning", f"mid aviary {WEAN}"),
    shares("within, 95 %: alive at weaning", "mid alive"),
    shares("within, 95 %: a pair's weaning", f"mid pair {WEAN}"),
    shares("within, 95 %: weaned a clutch", "mid weaned a clutch"),
    shares("within, 4 in 5: a pair's next season", "mid ahead pairs", aim=FOUR_IN_FIVE),
    shares("within, 4 in 5: next season's total", "mid ahead total", aim=FOUR_IN_FIVE),
    shares("within, above the median: part or stop", "mid beyond", aim=(0, 1)),
]
SENTENCES: list[Row] = [shares(f"said: {kind}", kind, aim=(0, 5)) for kind in KINDS]
FOUND: list[Row] = [shares(kind, kind, aim=None) for kind in TO_BE_FOUND]
# heading: what the cells are of, the seasons, and the rows
PARTS: dict[str, tuple[list[tuple[Callable[..., Known], float]], list[Row]]] = {
    f"{name}, {many}; 3, 12 and 30 pairs": (
        [(partial(make, pairs=size, years=years), FEWER if size == max(SIZES) else 1.0) for size in SIZES],
        [*AT_THE_END, *WITHIN],
    )
    for name, make in (("`analysis.simulate`", simulated), ("another make", other))
    for many, years in (("one season", 1), ("three seasons", 3))
}
PARTS |= {
    f"{name}, 12 pairs; one season, and three": (
        [(partial(other, pairs=12, years=years, first=20 if years > 1 else 0, **ways), more) for years in (1, 3)],
        rows,
    )
    for name, ways, rows, more in (
        ("nothing true", NOTHING, [*SENTENCES, *HELD], MORE),
        ("something true", NOTHING | SOMETHING, FOUND, 1.0),
    )
}


IN_FULL = ("–", "within", ALIVE, "a typical")  # rows that the short table is without
Saved = dict[str, list[dict[str, Seen]]]  # by part, for each cell what was seen, by the seed


def run(pool: ProcessPoolExecutor, part: str, seasons: int, first: int, cells: list[dict[str, Seen]]) -> None:
    """Work out the seasons of one part that are not there yet."""
    made_of, rows = PARTS[part]
    for (make, times), seen in zip(made_of, cells, strict=True):
        seeds = range(first, first + max(int(times * seasons), 1))
        missing = [seed for seed in seeds if str(seed) not in seen]
        made = pool.map(partial(one_season, make=make, within=WITHIN[0] in rows), missing)
        seen |= {str(seed): one for seed, one in zip(missing, made, strict=True)}


def in_a_row(cells: list[dict[str, Seen]], of: Callable[[Sequence[Seen]], Cell], met: Any) -> str:
    """One row's cells: value, Monte Carlo error, and ! where it misses its aim."""
    found = [of(list(seen.values())) for seen in cells if seen]
    return " ".join(
        f"{value:.3g}±{error:.2g}{'!' * bool(met and not met(value))}" if np.isfinite(value) else "–"
        for value, error in found
    )


def table(part: str, *runs: Saved, short: bool = False) -> None:
    """Print the rows of a part, the runs beside one another."""
    heads = ("found",) if len(runs) == 1 else ("before", "after")
    cells = [run.get(part, []) for run in runs]
    many = "; ".join(", ".join(str(len(seen)) for seen in one) or "none" for one in cells)
    print(f"\n{part} ({many} seasons)\n\n| what, % | aim | {' | '.join(heads)} |\n|---|---|{'---|' * len(heads)}")
    rows = [row for row in PARTS[part][1] if not (short and row[0].startswith(IN_FULL))]
    for what, aim, of, met in rows:
        print(f"| {what} | {aim} | {' | '.join(in_a_row(one, of, met) for one in cells)} |", flush=True)


def read(file: Path | None) -> Saved:
    return json.loads(file.read_text(encoding="utf-8")) if file and file.exists() else {}


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("seasons", nargs="?", type=int, default=40)
    asked.add_argument("seed", nargs="?", type=int, default=1)
    asked.add_argument("--only", default="", metavar="WORD", help="the parts in whose heading this stands")
    asked.add_argument(
        "--save", type=Path, metavar="FILE", help="keep what was seen here; what is kept is not made anew"
    )
    asked.add_argument("--beside", nargs=2, type=Path, metavar=("BEFORE", "AFTER"), help="two such files side by side")
    asked.add_argument("--short", action="store_true", help="the rows that stand above, of --beside")
    asked.add_argument("--processes", type=int, default=os.cpu_count())
    how = asked.parse_args()
    parts = [part for part in PARTS if how.only in part]
    if how.beside:
        for part in parts:
            table(part, *map(read, how.beside), short=how.short)
        return
    saved = read(how.save)
    with ProcessPoolExecutor(how.processes) as pool:
        for part in parts:
            run(pool, part, how.seasons, 1000 * how.seed, saved.setdefault(part, [{} for _ in PARTS[part][0]]))
            table(part, saved)
            if how.save:
                how.save.write_text(json.dumps(saved), encoding="utf-8")


if __name__ == "__main__":
    main()
