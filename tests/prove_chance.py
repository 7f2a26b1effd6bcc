"""That chance accuses nobody: simulated seasons of known truth, and what is raised in them and asked about.

python tests/prove_chance.py [SEASONS]    so many of each, 80 where none is given
python tests/prove_chance.py --short      20 seasons of weighed chicks, 10 of pairs that are all alike
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
from scipy.stats import binom

from analysis import open_season
from analysis.chicks.of_season import Chicks
from analysis.pairs.of_season import Pairs
from analysis.simulate import simulate_season

ASKED = ("check first", "re-pair", "stop breeding")
# Pairs that differ by chance alone, one clutch in ten failing whole, with no weighings.
ALIKE = dict.fromkeys(("fertile_sd", "hatch_sd", "wean_sd", "cage_sd", "never_fertile"), 0)
ALIKE |= dict.fromkeys(("incubator_effect", "hand_effect", "weighed_hand", "weighed_nest"), 0)


def raised_of_healthy(folder: Path, seed: int) -> Counter:
    """What is raised of the healthy chicks of a season, and how many chicks, weeks and weighings there were.

    Another curve than the fitted ones, heavy tails, days alike, slips, swaps and bad mornings: the aims of the
    calibration's last setting (see tests/calibrate_flags.py).
    """
    truth = simulate_season(folder, seed)
    growth = Chicks.of(open_season(folder))
    true = truth.chicks.set_index("chick")
    healthy = set(true.index[(true["stall_d"] < 0) & (true["fate"] == "weaned")])
    weights = growth.weights[growth.weights["chick"].isin(healthy)]
    days = weights.groupby("chick")["age_d"].agg(np.ptp)
    raised = growth.raised[growth.raised["chick"].isin(healthy)]
    back = growth.flags[growth.flags["chick"].isin(healthy)]
    mistakes = truth.weights[truth.weights["mistake"] != ""]
    mistaken = set(zip(mistakes["chick"], mistakes["age_d"], strict=True))
    slips = back[back["flag"].isin(["slip", "swapped"])]
    return Counter(
        weeks=days.sum() / 7,
        chicks=len(days),
        weighings=len(weights),
        stalls=int((raised["flag"] == "stall").sum()),
        off=int(back["flag"].isin(["light for age", "unusual shape"]).sum()),
        good=sum((slip.chick, slip.age_d) not in mistaken for slip in slips.itertuples()),
    )


def asked_of_alike(folder: Path, seed: int) -> Counter:
    """How many pairs are asked about where all are alike, of how many, and of how many there is enough to judge."""
    simulate_season(folder, seed, least_clutches=2, **ALIKE)
    advice = Pairs.of(open_season(folder)).review["advice"]
    enough, asked = int((advice != "not enough to judge").sum()), int(advice.isin(ASKED).sum())
    return Counter(pairs=len(advice), enough=enough, asked=asked)


def added_up(of_season, seasons: int) -> Counter:
    """What is counted in so many seasons, from seed 0."""
    with tempfile.TemporaryDirectory() as place:
        return sum((of_season(Path(place) / str(seed), seed) for seed in range(seasons)), Counter())


def held(growing: int, alike: int) -> dict[str, tuple[float, bool]]:
    """What was found, and whether it is within what chance does, with room for the chance of twenty seasons."""
    chicks, pairs = added_up(raised_of_healthy, growing), added_up(asked_of_alike, alike)
    # Five of 240 pairs are asked about (seeds 0-19), 2 %; more than this are in one run of eighty.
    most = int(binom.isf(1 / 80, pairs["pairs"], 0.02))
    weeks = chicks["weeks"] / max(chicks["stalls"], 1)
    off, good = chicks["off"] / chicks["chicks"], chicks["good"] / chicks["weighings"]
    return {
        "healthy chicks a season, > 15": (chicks["chicks"] / growing, chicks["chicks"] > 15 * growing),
        "chick-weeks a false alarm, > 40": (weeks, weeks > 40),
        "healthy chicks called off the curve, 0.002 to 0.02": (off, 0.002 < off < 0.02),
        "good weighings called slips, < 0.002": (good, good < 0.002),
        "pairs a season with enough to judge, > 7.5": (pairs["enough"] / alike, pairs["enough"] > 7.5 * alike),
        f"pairs alike that are asked about, <= {most}": (pairs["asked"], pairs["asked"] <= most),
    }


def main() -> None:
    """Print the table; the exit code is 1 where something did not hold."""
    number = int(sys.argv[1]) if sys.argv[1:] and sys.argv[1] != "--short" else 80
    found = held(20, 10) if "--short" in sys.argv else held(number, number)
    print("| what | found | held |\n|---|--:|---|")
    for what, (value, good) in found.items():
        print(f"| {what} | {value:.4g} | {'yes' if good else 'NO'} |")
    sys.exit(not all(good for _, good in found.values()))


if __name__ == "__main__":
    main()
