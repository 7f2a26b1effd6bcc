"""Reference posteriors of `pooled` by a general sampler, and the invented clutches they are of.

    pip install numpyro==0.22.0  (into an environment of its own)
    python tests/reference/pooled_by_nuts.py clutches
    python tests/reference/pooled_by_nuts.py NAME ...   (names: FITS below)

Writes beside itself NAME_posterior_mcmc.csv: kind, name, mean, sd, q025, q500, q975. `hyper`: mu, sd of each group, q
(share of clutches that fail whole), share (of pairs that never work), rho (scatter); rates of pairs and cages with all
other groups at 0; below and never: probabilities; clutch_failed: pair/clutch. `run`: worst R-hat, least effective draws
of all quantities the sampler moved, and the draws kept. NumPyro's NUTS, float64; never is a mixture summed out, the
rate of such a pair integrated over 64 Gauss-Legendre nodes of its prior's quantiles.
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd

HERE = Path(__file__).parent
CHAINS, WARM = 2, 1000
ALL = {"centre": 1.5, "spread": 1.0, "failures": True, "failing": 19.0, "scatter": True, "pending": "alive"}
BOTH, PAIR = ("pair", "cage"), ("pair",)
# By name: the clutches, the groups, what `pooled` is asked, and draws of each chain.
FITS = {
    "scattered_centred": ("scattered", BOTH, {"centre": 1.5, "spread": 0.5, "failures": True, "failing": 19.0}, 15_000),
    "scattered_scatter": ("scattered", BOTH, {"scatter": True}, 60_000),
    "scattered_pending": ("scattered", BOTH, {"failures": True, "pending": "alive"}, 15_000),
    "scattered_all": ("scattered", BOTH, {"never": True, **ALL}, 15_000),
    "scattered_pairs": ("scattered", PAIR, {"never": True, **ALL}, 15_000),
    "scattered_pairs_never": ("scattered", PAIR, {"never": True, "failures": True}, 15_000),
    "many_pairs": ("many", PAIR, {}, 15_000),
    "many_plain": ("many", BOTH, {}, 40_000),
    "many_never": ("many", BOTH, {"never": True}, 15_000),
    "many_failures": ("many", BOTH, {"failures": True}, 15_000),
    "more_plain": ("more", BOTH, {}, 12_000),
    "more_never": ("more", BOTH, {"never": True}, 12_000),
    "more_failures": ("more", BOTH, {"failures": True}, 12_000),
}


def invented(pairs, cages, clutches, seed, *, scatter):
    """Clutches of pairs that move between cages; one in ten fails whole, one pair in twelve never works."""
    rng = np.random.default_rng(seed)
    pair, cage, eggs = np.arange(clutches) % pairs, rng.integers(0, cages, clutches), rng.integers(3, 7, clutches)
    logit = 1.4 + rng.normal(0, 0.9, pairs)[pair] + rng.normal(0, 0.5, cages)[cage]
    p = np.where(rng.random(pairs)[pair] < 1 / 12, 0.04, 1 / (1 + np.exp(-logit)))
    if scatter:
        p = rng.beta(p * (1 - scatter) / scatter, (1 - p) * (1 - scatter) / scatter)
    worked = np.where(rng.random(clutches) < 0.1, 0, rng.binomial(eggs, p))
    wide = len(str(pairs))
    names = {"pair": [f"P{n + 1:0{wide}}" for n in pair], "cage": [f"G{n + 1:02}" for n in cage]}
    rows = pd.DataFrame(names | {"clutch": np.arange(clutches) // pairs + 1, "eggs": eggs, "hatched": worked})
    return rows.sort_values(["pair", "clutch"], ignore_index=True)


def write_clutches():
    few = invented(12, 4, 40, 5, scatter=0.2)
    rng = np.random.default_rng(6)
    few["alive"] = np.where(rng.random(len(few)) < 0.3, (2 * rng.random(len(few))).round(2), 0.0)
    under_way = rng.random(len(few)) < 0.08  # nothing is known of these yet but what is alive
    few.loc[under_way, ["eggs", "hatched"]] = 0
    few.loc[under_way, "alive"] = (0.2 + 1.2 * rng.random(under_way.sum())).round(2)
    few.to_csv(HERE / "scattered_clutches.csv", index=False)
    invented(80, 20, 240, 7, scatter=0).to_csv(HERE / "many_clutches.csv", index=False)
    invented(200, 40, 600, 8, scatter=0).to_csv(HERE / "more_clutches.csv", index=False)


class Data:
    """Clutches as arrays: k, n, g (under way), which level of each group, and which of them are lost."""

    def __init__(self, rows, groups, pending=None):
        self.k, self.n = (rows[column].to_numpy(float) for column in ("hatched", "eggs"))
        self.g = rows[pending].to_numpy(float) if pending else np.zeros(len(rows))
        self.level = {group: pd.Categorical(rows[group]).codes.astype(int) for group in groups}
        self.names = {group: list(pd.Categorical(rows[group]).categories) for group in groups}
        self.lost = np.flatnonzero((self.k == 0) & (self.n > 0) & (self.g < 1))
        self.clutches = np.minimum(1, self.n + self.g)
        self.label = (rows["pair"] + "/" + rows["clutch"].astype(str)).to_numpy()


def row_logs(d, eta, rho, xp, betaln):
    """Log likelihood of clutches that did not fail whole."""
    if rho is None:
        return -(d.n + d.g) * xp.logaddexp(0.0, -eta) - (d.n - d.k) * eta
    p, q = 1 / (1 + xp.exp(-eta)), 1 / (1 + xp.exp(eta))
    a, b = p * (1 - rho) / rho, q * (1 - rho) / rho
    return betaln(d.k + d.g + a, d.n - d.k + b) - betaln(a, b)


def never_nodes(d):
    v, w = np.polynomial.legendre.leggauss(64)
    p = -np.expm1(np.log1p(-(v + 1) / 2) / 24)
    return p, w / 2, (d.k + d.g)[:, None] * np.log(p) + (d.n - d.k)[:, None] * np.log1p(-p)


def may_fail(d, log, q, xp):
    """Each clutch may fail whole; rows along the first axis of `log`."""
    if q is None:
        return log
    wide = (slice(None),) + (None,) * (log.ndim - 1)
    mixed = log + (d.clutches * xp.log1p(-q))[wide]
    both = xp.logaddexp(mixed[d.lost], xp.log(q) + np.log1p(-d.g[d.lost])[wide])
    if xp is np:
        mixed[d.lost] = both
        return mixed
    return mixed.at[d.lost].set(both)  # noqa: PD008


def never_logs(d, q, xp):
    """Log likelihood of each level of the first group if it never works, (levels,), and at each node."""
    _, w, rows = never_nodes(d)
    pair, levels = d.level["pair"], len(d.names["pair"])
    member = (pair == np.arange(levels)[:, None]).astype(float)
    nodes = member @ may_fail(d, xp.asarray(rows), q, xp) + np.log(w)
    top = nodes.max(axis=1, keepdims=True)
    return (xp.log(xp.exp(nodes - top).sum(axis=1)) + top[:, 0]), nodes


def sample(d, options, draws, seed):
    import jax
    import jax.numpy as jnp
    import numpyro
    import numpyro.distributions as dist
    from jax.scipy.special import betaln
    from numpyro.infer import MCMC, NUTS

    jax.config.update("jax_enable_x64", True)
    levels = len(d.names["pair"])

    def model():
        mu = numpyro.sample("mu", dist.Normal(options.get("centre", 0.0), options.get("spread", 1.5)))
        eta = mu
        for group, names in d.names.items():
            sd = numpyro.sample(f"sd_{group}", dist.HalfNormal(1.0))
            z = numpyro.sample(f"z_{group}", dist.Normal(0, 1).expand([len(names)]))
            eta = eta + sd * z[d.level[group]]
        q = numpyro.sample("q", dist.Beta(1, options.get("failing", 9.0))) if options.get("failures") else None
        rho = numpyro.sample("rho", dist.Beta(1.5, 8.5)) if options.get("scatter") else None
        rows = may_fail(d, row_logs(d, eta, rho, jnp, betaln), q, jnp)
        if not options.get("never"):
            numpyro.factor("clutches", rows.sum())
            return
        share = numpyro.sample("share", dist.Beta(1, 9))
        works = jax.ops.segment_sum(rows, d.level["pair"], levels)
        both = jnp.logaddexp(jnp.log1p(-share) + works, jnp.log(share) + never_logs(d, q, jnp)[0])
        numpyro.factor("clutches", both.sum())

    kernel = NUTS(model, target_accept_prob=0.85)
    run = MCMC(kernel, num_warmup=WARM, num_samples=draws, num_chains=CHAINS, chain_method="sequential")
    run.progress_bar = False
    run.run(jax.random.PRNGKey(seed))
    told = numpyro.diagnostics.summary(run.get_samples(group_by_chain=True))
    told = {name: (np.min(row["n_eff"]), np.max(row["r_hat"])) for name, row in told.items()}
    return {name: np.asarray(value) for name, value in run.get_samples().items()}, told


def summarise(d, options, found, rng):
    """Rows of the table: all that `pooled` tells."""
    from scipy.special import betaln

    draws, levels = len(found["mu"]), len(d.names["pair"])
    effect = {group: found[f"sd_{group}"][:, None] * found[f"z_{group}"] for group in d.names}
    rate = {group: 1 / (1 + np.exp(-(found["mu"][:, None] + of))) for group, of in effect.items()}
    below = {group: (of < 0).astype(float) for group, of in effect.items()}
    gone, failed = np.zeros((draws, levels)), np.zeros((draws, len(d.lost)))
    p, always = never_nodes(d)[0], never_logs(d, None, np)
    for at in range(draws):
        q, rho = (found[name][at] if name in found else None for name in ("q", "rho"))
        if q is None and not options.get("never"):
            break
        eta = found["mu"][at] + sum(effect[group][at, d.level[group]] for group in d.names)
        plain = row_logs(d, eta, rho, np, betaln)
        rows = may_fail(d, plain, q, np)
        lost, log_q = d.lost, None if q is None else np.log(q) + np.log1p(-d.g[d.lost])
        out = np.zeros(levels)
        if options.get("never"):
            works = np.bincount(d.level["pair"], rows, levels)
            never, nodes = always if q is None else never_logs(d, q, np)
            share = found["share"][at]
            out = 1 / (1 + np.exp(np.log1p(-share) + works - np.log(share) - never))
            gone[at] = out
            weights = np.exp(nodes - never[:, None])
            turn = (weights.cumsum(axis=1) < rng.random((levels, 1)) * weights.sum(axis=1, keepdims=True)).sum(axis=1)
            is_out = rng.random(levels) < out
            rate["pair"][at] = np.where(is_out, p[turn], rate["pair"][at])
        if q is not None:
            failed[at] = np.exp(log_q - rows[lost])
            if options.get("never"):
                mixed = may_fail(d, never_nodes(d)[2], q, np)[lost]
                mine = d.level["pair"][lost]
                as_never = (
                    weights[mine] / weights[mine].sum(axis=1, keepdims=True) * np.exp(log_q[:, None] - mixed)
                ).sum(1)
                failed[at] = (1 - out[mine]) * failed[at] + out[mine] * as_never
    below["pair"] = gone + (1 - gone) * below["pair"]
    yield from (("hyper", name, value) for name, value in found.items() if not name.startswith("z_"))
    for group, names in d.names.items():
        yield from ((f"{group}_rate", name, rate[group][:, at]) for at, name in enumerate(names))
        yield from ((f"{group}_below_typical", name, below[group][:, at]) for at, name in enumerate(names))
    if options.get("never"):
        yield from (("pair_never", name, gone[:, at]) for at, name in enumerate(d.names["pair"]))
    if options.get("failures"):
        yield from (("clutch_failed", d.label[row], failed[:, at]) for at, row in enumerate(d.lost))


def fit(name):
    data, groups, options, draws = FITS[name]
    d = Data(pd.read_csv(HERE / f"{data}_clutches.csv"), groups, options.get("pending"))
    found, told = sample(d, options, draws, seed=sum(map(ord, name)))
    rows = []
    for kind, what, values in summarise(d, options, found, np.random.default_rng(1)):
        ends = np.quantile(values, [0.025, 0.5, 0.975]) if "rate" in kind or kind == "hyper" else [np.nan] * 3
        rows.append((kind, what, values.mean(), values.std(), *ends))
    rows.append(("run", "r_hat", max(worst for _, worst in told.values()), *[np.nan] * 4))
    rows.append(("run", "n_eff", min(least for least, _ in told.values()), *[np.nan] * 4))
    rows.append(("run", "draws", CHAINS * draws, *[np.nan] * 4))
    table = pd.DataFrame(rows, columns=["kind", "name", "mean", "sd", "q025", "q500", "q975"])
    table.to_csv(HERE / f"{name}_posterior_mcmc.csv", index=False, float_format="%.5g")
    print(name, table[table["kind"] == "run"]["mean"].tolist(), flush=True)


if __name__ == "__main__":
    if not set(sys.argv[1:]) <= {"clutches", *FITS} or len(sys.argv) < 2:
        sys.exit(__doc__)
    for wanted in sys.argv[1:]:
        write_clutches() if wanted == "clutches" else fit(wanted)
