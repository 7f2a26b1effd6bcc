"""`pooled`: rates of pairs, cages and other groups worked out together, thin evidence borrowing from the rest."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field, replace

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.names import NOT_WRITTEN, named
from analysis.needed import need_columns, numbers_of
from analysis.rates.pooling.answer import NESTED, Answer, answer
from analysis.rates.pooling.apart import notes_of
from analysis.rates.pooling.design import Array, Design, Options, lay_out
from analysis.rates.pooling.even import Even
from analysis.rates.pooling.levels import Levels
from analysis.rates.pooling.model import Model, model_of
from analysis.rates.pooling.posterior import ENOUGH, LARGE
from analysis.say import in_words


@dataclass(frozen=True, eq=False)
class Pooled:
    """Rates of all levels of all groups together.

    `groups`: a row a level, groups as given, levels by name: group, name, tried, worked, raw (worked / tried; NaN where
    nothing was tried), mean, low, high (95 %) of its rate with all other groups at an effect of 0, p_below_typical (the
    probability that its effect is below 0), and with ``never=True`` p_never (that it never works).
    `sd`: by group, mean, low, high of the standard deviation of its effects, on the logit; `typical`: of the rate where
    all effects are 0; `share_failing`, `share_never`: of clutches that fail whole, and of levels that never work.
    `failed`: a row a clutch of which nothing worked, by its label in the frame: the groups, tried, p_failed (the
    probability that it failed whole); those with trials under way left out. Empty where failures is off.
    `found`: what the data cannot tell apart, what was left out, and where the method is not the exact one.
    `ess`: how many independent draws the weighted ones are worth. `exact`: whether the exact posterior weighed them.
    """

    groups: pd.DataFrame
    sd: pd.DataFrame
    typical: pd.Series
    share_failing: pd.Series | None
    share_never: pd.Series | None
    failed: pd.DataFrame
    found: tuple[Finding, ...]
    ess: float
    exact: bool
    seed: int
    even: Even = field(repr=False)
    _first: str = field(repr=False)
    _names: dict[str, list[str]] = field(repr=False)
    _method: str = field(repr=False)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was found, a sentence each."""
        return tuple(in_words(note) for note in self.found)

    @property
    def method(self) -> str:
        """How the rates were worked out, in words."""
        return in_words(found(self._method))

    def rates(self, **names: object) -> Array:
        """Even draws of the rate of these levels together, (draws,), such as of ``pair="P01", cage="C1"``.

        The same draws stand behind every call. The effect of a level that was never seen is drawn from its group's
        spread; of a group that is not named it is 0. A ValueError for a group that was not asked for.
        """
        unknown = [group for group in names if group not in self._names]
        if unknown:
            raise ValueError(f"rates were worked out for {', '.join(self._names)}, not for {', '.join(unknown)}")
        numbered = {group: {level: at for at, level in enumerate(self._names[group])} for group in names}
        at = {group: numbered[group].get(str(name)) for group, name in names.items()}
        unseen = sorted(f"{group} {names[group]}" for group, number in at.items() if number is None)
        seed = [self.seed, 2, *(ord(letter) for letter in " ".join(unseen))]
        return self.even.rates(at, self._first, np.random.default_rng(seed))

    def under(self, scale: float) -> pd.Series:
        """Mean rate of every level of the first group, had levels been thought to differ `scale` times as much.

        The draws are weighed anew, by HalfNormal(scale) over HalfNormal(1), for all standard deviations.
        """
        weight = self.even.weights(scale)
        rates = {name: self.rates(**{self._first: name}) for name in self._names[self._first]}
        return pd.Series({name: float(draws @ weight / weight.sum()) for name, draws in rates.items()})

    @property
    def failing(self) -> Array | None:
        """Draws of the share of clutches that fail whole, (draws,), to go with `rates`; None where failures is off."""
        return self.even.failing

    @property
    def scatter(self) -> Array | None:
        """Draws of rho, how alike a clutch's eggs fare, (draws,), to go with `rates`; None where scatter is off."""
        return self.even.scatter


def pooled(
    frame: pd.DataFrame,
    tried: str = "eggs",
    worked: str = "hatched",
    groups: Sequence[str] = ("pair", "cage"),
    never: bool = False,
    failures: bool = False,
    seed: int = 0,
    *,
    centre: float = 0.0,
    spread: float = 1.5,
    failing: float = 9.0,
    scatter: bool = False,
    pending: str | None = None,
) -> Pooled:
    """Rates of pairs and cages together, each drawn towards the typical one the less is known of it.

    ::

        worked ~ Binomial(tried, p),  logit(p) = mu + an effect of each group
        mu ~ Normal(centre, spread²),  effects ~ Normal(0, sd²),  sd ~ HalfNormal(1), one sd for each group
        with scatter: worked ~ Binomial(tried, r),  r ~ Beta, with mean p and variance rho p (1 - p), of each clutch

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
    centre, spread : float
        Where mu is thought to lie beforehand, on the logit: 0 ± 1.5 says next to nothing; published rates say more
        (four in five: centre 1.4, with a spread of 1 between 36 % and 96 %).
    failing : float
        The share of clutches that fail whole is Beta(1, failing) beforehand, 1 / (1 + failing) on average.
    scatter : bool
        Whether the clutches of a level scatter more than chance about its rate, by an amount that is learnt: each has a
        rate of its own, Beta about the level's, so that two of its eggs fare alike with correlation rho, Beta(1.5, 8.5)
        beforehand. A level that never works is left out of this.
    pending : str
        Name of a column of numbers that are not negative: trials of the clutch that are still under way, together worth
        so much of a trial that worked, g: the likelihood has p**g as well. Under proportional hazards (Cox 1972, *J. R.
        Stat. Soc. B* 34:187; from memory) a chick that is alive at an age has come through with probability p**s, s =
        H(age) / H(weaning), H the cumulative hazard. Where nothing worked so far, the clutch has failed whole with what
        is under way against it, by the chance 1 - g; where nothing was tried yet it is g of a clutch, at most one, for
        the share that fails. worked, tried and raw are whole counts all the same.

    Returns
    -------
    Pooled
        groups, sd, typical, share_failing, share_never, failed, found, notes, ess, exact, method; rates(...) for draws.

    Raises
    ------
    ValueError
        A column that is not there or named twice, none or more than three groups, counts that are no counts, pending
        below 0, and a spread or failing that is not above 0.

    Notes
    -----
    Given mu, the standard deviations and the other groups' effects, the levels of one group are independent, so they
    are integrated over nodes. One group alone is integrated over a grid of everything else. With several, what is left
    is drawn from Student-t distributions about the modes on a grid of the standard deviations, and weighed by the exact
    posterior. Only beyond sixty effects of the groups but the largest are the normals at the modes taken as they are,
    which is nested Laplace approximation (Rue, Martino & Chopin 2009, *J. R. Stat. Soc. B* 71:319; from memory).
    `method` says which. Aim, held against long runs of a general sampler on clutches invented for it, every option
    among them: means within 0.005, ends of intervals and p_below_typical within 0.015.

    Nothing hatched in 41 of 222 clutches of 84 pairs of captive zebra finches, and their clear eggs are alike within
    a clutch by 0.29 to 0.35, differences of pairs included, which is an upper bound (counts of Ihle, Kempenaers &
    Forstmeier 2015, *PLoS Biol.* 13:e1002248): hence priors with means of one clutch in ten and rho 0.15. The
    beta-binomial is Skellam's (1948, *J. R. Stat. Soc. B* 10:257; from memory). A broken number under way is taken, in
    a clutch that scatters, by Gamma(y + f) / Gamma(y) near (y + (f - 1) / 2)^f, true to half a hundredth.

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

    Published rates beforehand, clutches that scatter, and young that are not reared yet:

    >>> frame["alive"] = [0.0, 0.0, 0.0, 1.5]
    >>> told = pooled(frame, groups=("pair",), failures=True, centre=1.4, spread=1.0, scatter=True, pending="alive")
    >>> told.groups["name"].tolist(), told.method[:10], bool(0.0 < told.scatter.mean() < 0.4)
    (['P1', 'P2'], 'quadrature', True)
    """
    groups, known = _checked(frame, tried, worked, groups, pending)
    options = _options(never=never, failures=failures, scatter=scatter, centre=centre, spread=spread, failing=failing)
    missing = len(frame) - len(known)
    left_out = [found("rates.left-out", clutches=missing)] if missing else []
    if known.empty:
        return _nothing(frame, groups, left_out, options, seed)
    design = lay_out(known, tried, worked, groups, pending, first=never, lost_apart=failures, scatter=scatter)
    m = model_of(design, options)
    told = answer(m, seed)
    counts = known[[tried, worked]].set_axis(["tried", "worked"], axis=1)
    tallies = {group: counts.groupby(named(known[group]).map(str)).sum() for group in groups}
    return Pooled(
        groups=_table(groups, design, told.levels, tallies, never=never),
        sd=pd.DataFrame([told.sd[group] for group in groups], index=pd.Index(groups, name="group")),
        typical=told.typical,
        share_failing=told.share_failing,
        share_never=told.share_never,
        failed=_failed(known, m, told.failed, groups, tried),
        found=(*left_out, *notes_of(design), *_roughly(told)),
        ess=told.ess,
        exact=told.method != NESTED,
        seed=seed,
        even=told.even,
        _first=design.groups[0],
        _names=dict(zip(design.groups, design.names, strict=True)),
        _method=told.method,
    )


def _roughly(told: Answer) -> list[Finding]:
    """What is to be said where the rates are not exact to the last digit shown."""
    if told.method == NESTED:
        return [found("rates.many-levels", levels=LARGE, method=found(told.method))]
    return [found("rates.few-draws", draws=told.ess)] if told.ess < ENOUGH else []


def _checked(
    frame: pd.DataFrame, tried: str, worked: str, groups: Sequence[str], pending: str | None
) -> tuple[tuple[str, ...], pd.DataFrame]:
    """The groups, and the rows whose counts are known."""
    for name, given in (("tried", tried), ("worked", worked), ("pending", "none" if pending is None else pending)):
        if not isinstance(given, str):
            raise ValueError(f"{name} must be the name of a column, got {given!r}")
    groups = tuple(groups) if isinstance(groups, Iterable) and not isinstance(groups, str) else (groups,)
    names = {group for group in groups if isinstance(group, str)}
    if not 1 <= len(groups) <= 3 or len(names) < len(groups):
        raise ValueError(f"groups must be one to three different columns, got {', '.join(map(str, groups)) or 'none'}")
    need_columns("pooled", frame, (tried, worked, *groups, *([] if pending is None else [pending])))
    known = frame[frame[[tried, worked]].notna().all(axis=1)]
    n, k = (numbers_of("pooled", known[column]) for column in (tried, worked))
    wrong = ~((n >= k) & (k >= 0) & np.isfinite(n) & (n == np.floor(n)) & (k == np.floor(k)))
    if wrong.any():
        at = int(np.argmax(wrong))
        raise ValueError(f"counts need 0 <= {worked} <= {tried} in whole numbers, got {k[at]:g} of {n[at]:g}")
    under_way = np.zeros(1) if pending is None else numbers_of("pooled", known[pending])
    if not (np.isfinite(under_way) & (under_way >= 0)).all():
        raise ValueError(f"{pending} must be 0 or more, got {under_way.min():g}")
    return groups, known


def _options(*, never: bool, failures: bool, scatter: bool, centre: float, spread: float, failing: float) -> Options:
    if not np.isfinite(centre):
        raise ValueError(f"centre must be a number, got {centre!r}")
    for name, given in (("spread", spread), ("failing", failing)):
        if not 0 < given < np.inf:
            raise ValueError(f"{name} must be above 0, got {given!r}")
    return Options(never, failures, scatter, float(centre), float(spread), float(failing))


def _nothing(
    frame: pd.DataFrame, groups: tuple[str, ...], left_out: list[Finding], options: Options, seed: int
) -> Pooled:
    """The answer where nothing was counted: what the priors say of levels not seen yet, and no rows."""
    blank = pd.DataFrame({group: [NOT_WRITTEN] for group in groups} | {"tried": [0], "worked": [0]})
    prior = pooled(blank, "tried", "worked", groups, seed=seed, **asdict(options))
    return replace(
        prior,
        groups=prior.groups.iloc[:0],
        failed=prior.failed.iloc[:0],
        found=(*left_out, found("rates.nothing-counted")),
        _names={group: [] for group in groups},
    )


def _table(
    groups: tuple[str, ...], design: Design, levels: dict[str, Levels], tallies: dict[str, pd.DataFrame], *, never: bool
) -> pd.DataFrame:
    parts = []
    for group in groups:
        names = design.names[design.groups.index(group)]
        tally, of_group = tallies[group].loc[names].astype(int).reset_index(drop=True), levels[group]
        raw = tally["worked"] / tally["tried"].where(tally["tried"] > 0)
        columns = {"mean": of_group.mean, "low": of_group.low, "high": of_group.high}
        columns |= {"p_below_typical": of_group.below} | ({"p_never": of_group.never} if never else {})
        parts.append(tally.assign(raw=raw, **columns))
        parts[-1].insert(0, "name", names)
        parts[-1].insert(0, "group", group)
    return pd.concat(parts, ignore_index=True)


def _failed(known: pd.DataFrame, m: Model, p_failed: Array, groups: tuple[str, ...], tried: str) -> pd.DataFrame:
    over = m.design.unlike == 0  # nothing is under way
    place = m.design.place[m.design.lost][over]
    lost = known.iloc[place]
    names = {group: named(lost[group]).map(str) for group in groups}
    table = lost[[tried]].set_axis(["tried"], axis=1).assign(**names, p_failed=p_failed[over])
    return table[[*groups, "tried", "p_failed"]].iloc[np.argsort(place)]
