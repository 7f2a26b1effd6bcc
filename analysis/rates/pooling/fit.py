"""`pooled`: rates of pairs, cages and other groups worked out together, thin evidence borrowing from the rest."""

from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.names import NOT_WRITTEN, named
from analysis.needed import need_columns, numbers_of
from analysis.rates.pooling.levels import Levels, first_group, inv_logit, notes_of, other_group, weighted_quantiles
from analysis.rates.pooling.model import Array, Design, Model, lay_out, model_of, share_logits
from analysis.rates.pooling.posterior import ENOUGH, LARGE, Draws, draw, is_large
from analysis.rates.pooling.result import METHODS, Pooled, even_of, resampled


def pooled(
    frame: pd.DataFrame,
    tried: str = "eggs",
    worked: str = "hatched",
    groups: Sequence[str] = ("pair", "cage"),
    never: bool = False,
    failures: bool = False,
    seed: int = 0,
) -> Pooled:
    """Rates of pairs and cages together, each drawn towards the typical one the less is known of it.

    ::

        worked ~ Binomial(tried, p),  logit(p) = mu + an effect of each group
        mu ~ Normal(0, 1.5²),  effects ~ Normal(0, sd²),  sd ~ HalfNormal(1), one sd for each group

    All of it is integrated over, the standard deviations included: estimates that are plugged in (often exactly 0 on
    seasons of this size) make intervals too narrow. A pair's rate means inv_logit(mu + its effect): in a typical cage.

    Parameters
    ----------
    frame : frame
        A row a clutch: the two counts and the groups. Rows with a count that is missing are left out and said.
    tried, worked : str
        Names of the columns of counts: eggs and hatched, hatched and weaned.
    groups : one to three columns
        Such as pair, cage, species, season, incubated_by, reared_by. A blank name is a level of its own.
    never : bool
        Whether a share of the levels of the first group, Beta(1, 9), may all but never work: their rate is Beta(1, 24),
        whatever the other groups. For fertility, where some pairs lay nothing fertile and a normal spread has no room
        for them.
    failures : bool
        Whether each clutch may fail whole (a fright, a sick hen) with a probability that is learnt, Beta(1, 9): else
        one such clutch convicts a good pair.
    seed : int
        The same seed gives the same digits, whatever the order of the rows.

    Returns
    -------
    Pooled
        groups, sd, typical, share_failing, share_never, failed, found, notes, ess, exact, method; rates(...) for draws.

    Raises
    ------
    ValueError
        A column that is not there or named twice, none or more than three groups, counts that are no counts.

    Notes
    -----
    Given mu, the standard deviations and the other groups' effects, the levels of one group are independent, so they
    are integrated over nodes; what is left is drawn from Student-t distributions about the modes on a grid of the
    standard deviations, and weighed by the exact posterior. Beyond about sixty levels too few such draws would count:
    there the normals at the modes are taken as they are, which is nested Laplace approximation (Rue, Martino & Chopin
    2009, *J. R. Stat. Soc. B* 71:319; from memory). `method` says which.

    Examples
    --------
    >>> frame = pd.DataFrame({"pair": ["P1", "P1", "P2", "P2"], "cage": ["C1", "C2", "C1", "C2"],
    ...                       "eggs": [5, 4, 4, 5], "hatched": [5, 4, 1, 2]})
    >>> found = pooled(frame)
    >>> found.groups.loc[found.groups["group"] == "pair", ["name", "worked", "tried"]].values.tolist()
    [['P1', 9, 9], ['P2', 3, 9]]
    >>> low, high = found.groups.loc[1, ["low", "high"]]
    >>> bool(low < 3 / 9 < high)
    True
    """
    groups = _checked(frame, tried, worked, groups)
    known = frame[frame[[tried, worked]].notna().all(axis=1)]
    _counts(known, tried, worked)
    missing = len(frame) - len(known)
    left_out = [found("rates.left-out", clutches=missing)] if missing else []
    if known.empty:
        return _nothing(frame, groups, left_out, never=never, failures=failures, seed=seed)
    design = lay_out(known, tried, worked, groups, first=never, lost_apart=failures)
    m = model_of(design, never=never, failures=failures)
    large = is_large(m)
    draws = draw(m, seed, large=large)
    times = resampled(draws, seed)
    rng = np.random.default_rng([seed, 3])
    failing, share = share_logits(m, draws.x)
    first = first_group(m, draws, times, rng)
    levels = {design.groups[0]: first.levels} | _others(m, draws)
    tallies = {group: known.groupby(named(known[group]).map(str))[[tried, worked]].sum() for group in groups}
    return Pooled(
        groups=_table(groups, design, levels, tallies, (tried, worked), never=never),
        sd=_sds(groups, design, draws),
        typical=_told(inv_logit(draws.x[:, 0]), draws.weights),
        share_failing=_told(inv_logit(failing), draws.weights) if failures else None,
        share_never=_told(inv_logit(share), draws.weights) if never else None,
        failed=_failed(known, m, first.failed, groups, tried),
        found=(*left_out, *notes_of(design), *_of_method(draws)),
        ess=draws.ess,
        exact=draws.exact,
        seed=seed,
        even=even_of(m, draws.x.repeat(times, axis=0), draws.sds.repeat(times, axis=0), first.node, rng),
        _first=design.groups[0],
        _names=dict(zip(design.groups, design.names, strict=True)),
    )


def _checked(frame: pd.DataFrame, tried: str, worked: str, groups: Sequence[str]) -> tuple[str, ...]:
    for name, given in (("tried", tried), ("worked", worked)):
        if not isinstance(given, str):
            raise ValueError(f"{name} must be the name of a column, got {given!r}")
    groups = tuple(groups) if isinstance(groups, Iterable) and not isinstance(groups, str) else (groups,)
    names = {group for group in groups if isinstance(group, str)}
    if not 1 <= len(groups) <= 3 or len(names) < len(groups):
        raise ValueError(f"groups must be one to three different columns, got {', '.join(map(str, groups)) or 'none'}")
    need_columns("pooled", frame, (tried, worked, *groups))
    return groups


def _counts(known: pd.DataFrame, tried: str, worked: str) -> None:
    n, k = (numbers_of("pooled", known[column]) for column in (tried, worked))
    wrong = ~((n >= k) & (k >= 0) & np.isfinite(n) & (n == np.floor(n)) & (k == np.floor(k)))
    if wrong.any():
        at = int(np.argmax(wrong))
        raise ValueError(f"counts need 0 <= {worked} <= {tried} in whole numbers, got {k[at]:g} of {n[at]:g}")


def _of_method(draws: Draws) -> list[Finding]:
    if not draws.exact:
        return [found("rates.many-levels", levels=LARGE, method=METHODS[draws.exact])]
    return [found("rates.few-draws", draws=draws.ess)] if draws.ess < ENOUGH else []


def _others(m: Model, draws: Draws) -> dict[str, Levels]:
    """The groups that are not integrated over."""
    levels, begin = {}, 1
    for number, group in enumerate(m.design.groups[1:], start=1):
        end = begin + m.design.sizes[number]
        effects = draws.sds[:, number : number + 1] * draws.x[:, begin:end]
        levels[group], begin = other_group(draws.x[:, 0], effects, draws.weights), end
    return levels


def _table(
    groups: tuple[str, ...],
    design: Design,
    levels: dict[str, Levels],
    tallies: dict[str, pd.DataFrame],
    counts: tuple[str, str],
    *,
    never: bool,
) -> pd.DataFrame:
    parts = []
    for group in groups:
        names = design.names[design.groups.index(group)]
        tried, worked = (tallies[group].loc[names, column].astype(int).to_numpy() for column in counts)
        of_group = levels[group]
        raw = worked / np.where(tried > 0, tried, np.nan)
        columns = {"group": group, "name": names, "tried": tried, "worked": worked, "raw": raw}
        columns |= {"mean": of_group.mean, "low": of_group.low, "high": of_group.high}
        columns |= {"p_below_typical": of_group.below}
        parts.append(pd.DataFrame(columns | ({"p_never": of_group.never} if never else {})))
    table = pd.concat(parts, ignore_index=True)
    if never:
        table.loc[table["group"] != groups[0], "p_never"] = np.nan
    return table


def _told(values: Array, weights: Array) -> pd.Series:
    order = np.argsort(values)
    low, high = weighted_quantiles(values[order], weights[order])
    return pd.Series({"mean": float(weights @ values), "low": low, "high": high})


def _sds(groups: tuple[str, ...], design: Design, draws: Draws) -> pd.DataFrame:
    rows = [_told(draws.sds[:, design.groups.index(group)], draws.weights) for group in groups]
    return pd.DataFrame(rows, index=pd.Index(groups, name="group"))


def _failed(known: pd.DataFrame, m: Model, p_failed: Array, groups: tuple[str, ...], tried: str) -> pd.DataFrame:
    lost = known.iloc[m.design.place[m.lost] if m.failures else []]
    names = {group: named(lost[group]).map(str) for group in groups}
    table = lost[[tried]].set_axis(["tried"], axis=1).assign(**names, p_failed=p_failed if m.failures else [])
    return table[[*groups, "tried", "p_failed"]].iloc[np.argsort(m.design.place[m.lost]) if m.failures else []]


def _nothing(
    frame: pd.DataFrame, groups: tuple[str, ...], left_out: list[Finding], *, never: bool, failures: bool, seed: int
) -> Pooled:
    """The answer where nothing was counted: what the priors say of levels not seen yet, and no rows."""
    blank = pd.DataFrame({group: [NOT_WRITTEN] for group in groups} | {"tried": [0], "worked": [0]})
    prior = pooled(blank, "tried", "worked", groups, never, failures, seed)
    nothing = (*left_out, found("rates.nothing-counted"))
    empty = {"groups": prior.groups.iloc[:0], "failed": prior.failed.iloc[:0], "found": nothing}
    fields = {name: getattr(prior, name) for name in ("sd", "typical", "share_failing", "share_never", "ess", "exact")}
    none: dict[str, list[str]] = {group: [] for group in groups}
    return Pooled(**empty, **fields, seed=seed, even=prior.even, _first=prior._first, _names=none)
