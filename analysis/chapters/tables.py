"""Frames laid out for reading: words for numbers, a row a thing, nothing new computed."""

import pandas as pd

from analysis.chicks.of_season import Chicks
from analysis.finding import Rates
from analysis.logs.ledger import LOOK, RULES
from analysis.names import name_said
from analysis.rates import clutch_counts, stage_rates
from analysis.rates.stages import EGG_STAGES, WEANED
from analysis.say import heads, in_words, say
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.words import day_words, listed, row_words

_ALIKE = 3
_STAGES = dict(
    zip(
        (*EGG_STAGES, WEANED),
        (
            "heads.stage-showed-fertile",
            "heads.stage-hatch-of-fertile",
            "heads.stage-hatch-of-set",
            "heads.stage-weaned",
        ),
        strict=True,
    )
)


def rates_table(rates: pd.DataFrame, who: str) -> pd.DataFrame:
    """Return a row a name, a column a stage: `9 of 12, 75 % (47–91)`; `none yet` where nothing was tried.

    A column `beside` says what is in no rate, such as chicks still being reared.
    """
    return _by_stage(rates, who).rename(columns=_stage_head)


def _by_stage(rates: pd.DataFrame, who: str) -> pd.DataFrame:
    """The same, its columns named by the codes of the stages."""
    cells = [
        say("overview.rate-cell", worked=r.worked, tried=r.tried, rate=r.rate, sure=Rates(float(r.low), float(r.high)))
        if r.tried
        else say("overview.none-yet")
        for r in rates.itertuples()
    ]
    long = pd.DataFrame({who: rates["name"], "stage": rates["stage"], "cell": cells})
    wide = long.pivot_table(index=who, columns="stage", values="cell", aggfunc="first", sort=False)
    beside = rates.assign(beside=rates["beside"].fillna("")).groupby("name", sort=False)["beside"]
    wide["beside"] = beside.agg(lambda texts: say("overview.commas", parts=dict.fromkeys(t for t in texts if t)))
    wide.index = wide.index.map(lambda name: in_words(name_said(name)))
    return wide.rename_axis(index=who, columns=None).reset_index()


def _stage_head(column: str) -> str:
    return say(_STAGES[column]) if column in _STAGES else column


def curves_table(growth: Chicks) -> pd.DataFrame:
    """Return a row a chick whose curve can be shown."""
    chicks = growth.with_kinds(growth.chicks[growth.chicks["why"] == ""])
    told = chicks.assign(fall=[say("overview.rate", rate=fall) if fall else "" for fall in chicks["fall"]])
    columns = [*_WEIGHED, "peak_g", "fall", "A_g", "t10_90_d", "max_gain_g_per_d"]
    curve = heads("peak-g", "fall-from-peak", "levels-off-at-g", "10-to-90-d", "largest-gain")
    return told[columns].set_axis([*_weighed_heads(), *curve], axis=1)


def no_curve_table(growth: Chicks) -> pd.DataFrame:
    """Return a row a chick whose weights cannot tell a curve, and why."""
    chicks = growth.with_kinds(growth.chicks[growth.chicks["why"] != ""])
    return chicks[[*_WEIGHED, "why"]].set_axis([*_weighed_heads(), *heads("why-no-curve")], axis=1)


_WEIGHED = ("chick", "kind", "n", "last_g", "last_age_d")


def _weighed_heads() -> list[str]:
    return heads("chick", "kind", "weighings", "last-weight-g", "at-age-d")


def losses_table(season: Season) -> pd.DataFrame:
    """Return a row a loss, by day."""
    losses = season.losses
    who = [
        chick or say("overview.egg-named", egg=egg) for chick, egg in zip(losses["chick"], losses["egg"], strict=True)
    ]
    told = losses.assign(who=who, found=losses["found_on"].map(day_words))
    columns = ["who", "found", "age_d", "cause", "examined", "event"]
    return told[columns].set_axis(heads("who", "found", "age-d", "cause-as-written", "examined", "together"), axis=1)


def problems_table(season: Season, *, look: bool) -> pd.DataFrame:
    """Return the problems to look at, or those that cost a row or a cell: where, as written, what to do.

    Where one advice holds for more than three rows of a file, they stand in one line.
    """
    chosen = season.problems[(season.problems["severity"] == LOOK) == look]
    same = pd.Series([id(season.to_do[at]) for at in chosen.index], chosen.index, dtype="int64")  # one object says it
    lines = []
    for (file, code, _), alike in chosen.groupby(["file", "code", same], sort=False):
        many = len(alike) > _ALIKE
        groups = [alike] if many else [alike.iloc[[at]] for at in range(len(alike))]
        for group in groups:
            first = group.iloc[0]
            written = listed(filter(None, group["value"]), most=_ALIKE) if many else first["value"]
            lines.append(
                (
                    file,
                    row_words(group["row"]),
                    first["column"],
                    written,
                    RULES[str(code)].title,
                    in_words(season.to_do[group.index[0]]),
                )
            )
    return pd.DataFrame(lines, columns=heads("file", "rows", "column", "as-written", "what", "what-to-do"))


def settings_table(season: Season) -> pd.DataFrame:
    """Return every setting with the value that holds and where it comes from."""
    return pd.DataFrame(season.settings.table())


def earlier_table(season: Season) -> pd.DataFrame:
    """Return a row a season, the joined ones first, with the aviary's rates, as far as its logs can be trusted."""
    rows = []
    for one in sorted([*season.earlier, season], key=lambda s: s.name):
        rates = stage_rates(clutch_counts(one.eggs, one.clutches), one.reared)
        table = _by_stage(rates.assign(name=one.name), "season").drop(columns="beside")
        if not numbers_hold(one, logs=RATES):
            table.loc[:, table.columns != "season"] = say("overview.not-known-see-logs")
        elif not hatching_known(one):
            table[list(EGG_STAGES)] = say("overview.not-known")
        rows.append(table)
    return (
        pd.concat(rows, ignore_index=True).rename(columns={"season": say("heads.season")}).rename(columns=_stage_head)
    )
