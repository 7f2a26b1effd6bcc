"""How fast `pooled` is beside statsmodels' variational fit of the same model, and what five hundred pairs cost.

    python tests/bench_pooled.py [RUNS]

The peer plugs its standard deviations into normal densities (`BinomialBayesMixedGLM.fit_vb`); on the data of the
reference each is also held against the long MCMC run: the largest error of a pair's mean rate. Both in one process,
taken in turn, medians compared; libraries are loaded before anything is timed.

How good the rates themselves are: `tests/test_pooled.py` holds them against long runs of a general sampler (means
within 0.002, ends within 0.01 when last printed); this prints error against time, and how far each fit is from each
run of `reference/pooled_by_nuts.py`, those of 200 × 40 included, which take too long for a test. statsmodels'
variational fit is several times faster and its means are off by 0.03; at the time it takes, 512 of our draws are off
by 0.006. Beyond sixty effects of the groups but the largest the nested approximation is used: with never-fertile pairs
and failing clutches it was seen to be off by 0.03 in a mean and 0.07 at an end.
"""

import resource
import statistics
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from reference.pooled_by_nuts import FITS

from analysis.rates import pooled

REFERENCE = Path(__file__).parent / "reference"


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    began = time.perf_counter()
    found = work()
    return time.perf_counter() - began, found


def variational(frame: pd.DataFrame) -> Any:
    """Statsmodels wants an egg a row."""
    from statsmodels.genmod.bayes_mixed_glm import BinomialBayesMixedGLM

    eggs = frame.loc[frame.index.repeat(frame["eggs"])].reset_index(drop=True)
    number = frame.loc[frame.index.repeat(frame["eggs"])].groupby(level=0).cumcount().to_numpy()
    eggs["hatched"] = (number < eggs["hatched"].to_numpy()).astype(int)
    parts = {"pair": "0 + C(pair)", "cage": "0 + C(cage)"}
    model = BinomialBayesMixedGLM.from_formula("hatched ~ 1", parts, eggs, vcp_p=1, fe_p=1.5)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return model.fit_vb()


def beside_statsmodels(runs: int) -> None:
    frame = pd.read_csv(REFERENCE / "crossed_clutches.csv")
    exact = pd.read_csv(REFERENCE / "crossed_clutches_posterior_mcmc.csv").set_index(["kind", "name"])
    expected = exact.loc["pair_rate", "mean"].to_numpy()
    variational(frame), pooled(frame)
    both = [(seconds(lambda: pooled(frame)), seconds(lambda: variational(frame))) for _ in range(runs)]
    ours, theirs = (statistics.median(pair[i][0] for pair in both) for i in (0, 1))
    (_, mine), (_, peer) = both[0]
    groups = mine.groups[mine.groups["group"] == "pair"]
    effects = peer.vc_mean[:22] + peer.fe_mean[0]
    print(f"22 pairs × 9 cages: pooled {ours:.3f} s, fit_vb {theirs:.3f} s, ratio {ours / theirs:.2f} (aim: 1 or less)")
    print(
        f"largest error of a pair's mean rate: pooled {np.abs(groups['mean'] - expected).max():.4f}, "
        f"fit_vb {np.abs(1 / (1 + np.exp(-effects)) - expected).max():.4f}; ESS {mine.ess:.0f}"
    )


def frontier() -> None:
    """Error against time: the largest error of any pair's or cage's mean, and of any end of an interval."""
    frame = pd.read_csv(REFERENCE / "crossed_clutches.csv")
    exact = pd.read_csv(REFERENCE / "crossed_clutches_posterior_mcmc.csv").set_index(["kind", "name"])
    expected = pd.concat([exact.loc["pair_rate"], exact.loc["cage_rate"]])[["mean", "q025", "q975"]].to_numpy()
    posterior, fit = (sys.modules[f"analysis.rates.pooling.{name}"] for name in ("posterior", "answer"))
    usual, is_large, enough = dict(posterior.DRAWS), fit.is_large, posterior.ENOUGH
    for draws in (0, 512, 1024, 2048, 4096, 8192, 16384):
        fit.is_large = lambda model, none=not draws: none
        posterior.DRAWS, posterior.ENOUGH = dict.fromkeys(usual, draws), 0.0
        took, found = min((seconds(lambda: pooled(frame)) for _ in range(3)), key=lambda pair: pair[0])
        error = np.abs(found.groups[["mean", "low", "high"]].to_numpy() - expected).max(axis=0)
        words = f"{draws} draws" if draws else "nested Laplace"
        print(f"{words}: {took:.3f} s, means within {error[0]:.4f}, ends within {error[1:].max():.4f}")
    posterior.DRAWS, fit.is_large, posterior.ENOUGH = usual, is_large, enough


def beside_references() -> None:
    """Time, and the largest error of any mean, end and p_below_typical, on every run there is."""
    for name, (data, groups, options, _) in FITS.items():
        frame = pd.read_csv(REFERENCE / f"{data}_clutches.csv")
        exact = pd.read_csv(REFERENCE / f"{name}_posterior_mcmc.csv").set_index(["kind", "name"])
        took, found = seconds(
            lambda frame=frame, groups=groups, options=options: pooled(frame, groups=groups, **options)
        )
        rates, below = (
            pd.concat([exact.loc[f"{group}_{what}"] for group in groups]) for what in ("rate", "below_typical")
        )
        error = np.abs(found.groups[["mean", "low", "high"]].to_numpy() - rates[["mean", "q025", "q975"]].to_numpy())
        worst = np.abs(found.groups["p_below_typical"].to_numpy() - below["mean"].to_numpy()).max()
        means, ends = error[:, 0].max(), error[:, 1:].max()
        print(
            f"{name}: {took:.2f} s, means within {means:.4f}, ends {ends:.4f}, below {worst:.4f}; ESS {found.ess:.0f}"
        )


def demo_size() -> None:
    """Processor time of 12 pairs × 8 cages × 3 kinds, 48 clutches, by groups and options."""
    rng = np.random.default_rng(3)
    pair, cage, eggs = np.arange(48) % 12, rng.integers(0, 8, 48), rng.integers(3, 7, 48)
    rate = rng.beta(4, 1.2, 48)
    hatched = np.where(rng.random(48) < 0.1, 0, rng.binomial(eggs, rate))
    frame = pd.DataFrame({"pair": pair, "cage": cage, "kind": pair % 3, "eggs": eggs, "hatched": hatched})
    plain, both = {"failures": True}, {"never": True, "failures": True}
    for groups in (("pair",), ("pair", "cage"), ("pair", "cage", "kind")):
        for options in ({}, plain, both, plain | {"scatter": True}, both | {"scatter": True}):
            times = []
            for _ in range(3):
                began = time.process_time()
                pooled(frame, groups=groups, **options)
                times.append(time.process_time() - began)
            print(f"{len(groups)} groups, {', '.join(options) or 'plain'}: {min(times):.3f} s")


def large(pairs: int, cages: int, clutches: int) -> None:
    rng = np.random.default_rng(0)
    pair, cage, eggs = np.arange(clutches) % pairs, rng.integers(0, cages, clutches), rng.integers(3, 6, clutches)
    effects = 1.5 + rng.normal(0, 1, pairs)[pair] + rng.normal(0, 0.5, cages)[cage]
    hatched = rng.binomial(eggs, 1 / (1 + np.exp(-effects)))
    frame = pd.DataFrame({"pair": pair, "cage": cage, "eggs": eggs, "hatched": hatched})
    for options in ({}, {"never": True}, {"failures": True}):
        took, found = seconds(lambda options=options: pooled(frame, **options))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        size = f"{pairs} × {cages}, {clutches} clutches, {options or 'plain'}"
        print(f"{size}: {took:.1f} s, peak {peak:.0f} MB; {found.method}")


if __name__ == "__main__":
    if "--help" in sys.argv:
        sys.exit(print(__doc__))
    beside_statsmodels(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
    frontier()
    demo_size()
    beside_references()
    large(60, 20, 180)
    large(500, 100, 1500)
