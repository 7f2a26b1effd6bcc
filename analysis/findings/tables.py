"""Frames laid out for reading: words for numbers, a row a thing, nothing new computed."""

import pandas as pd

from analysis.findings.growing import Growth
from analysis.logs.rules import LOOK, RULES
from analysis.rates import clutch_counts, stage_rates
from analysis.rates import losses_by_age as by_band
from analysis.rates.stages import EGG_STAGES
from analysis.say import in_words
from analysis.season import RATES, Season, ages_lost, chick_spans, hatching_known, numbers_hold
from analysis.words import day_words, interval_words, listed, percent, row_words

_ALIKE = 3


def rates_table(rates: pd.DataFrame, who: str) -> pd.DataFrame:
    """Return a row a name, a column a stage: `9 of 12, 75 % (47–91)`; `none yet` where nothing was tried.

    A column `beside` says what is in no rate, such as chicks still being reared.
    """
    cells = [
        f"{r.worked} of {r.tried}, {percent(r.rate)} ({interval_words(r.low, r.high)})" if r.tried else "none yet"
        for r in rates.itertuples()
    ]
    long = pd.DataFrame({who: rates["name"], "stage": rates["stage"], "cell": cells})
    wide = long.pivot_table(index=who, columns="stage", values="cell", aggfunc="first", sort=False)
    beside = rates.assign(beside=rates["beside"].fillna("")).groupby("name", sort=False)["beside"]
    wide["beside"] = beside.agg(lambda some: ", ".join(dict.fromkeys(in_words(one) for one in some if one)))
    return wide.reset_index().rename_axis(columns=None)


def curves_table(growth: Growth) -> pd.DataFrame:
    """Return a row a chick whose curve can be shown."""
    chicks = growth.chicks[growth.chicks["why"] == ""]
    return pd.DataFrame(
        {
            "chick": chicks["chick"],
            "kind": chicks["kind"],
            "weighings": chicks["n"],
            "last weight (g)": chicks["last_g"],
            "at age (d)": chicks["last_age_d"],
            "peak (g)": chicks["peak_g"],
            "fall from peak": [percent(fall) if fall else "" for fall in chicks["fall"]],
            "levels off at (g)": chicks["A_g"],
            "10 to 90 % (d)": chicks["t10_90_d"],
            "largest gain (g/d)": chicks["max_gain_g_per_d"],
        }
    )


def no_curve_table(growth: Growth) -> pd.DataFrame:
    """Return a row a chick whose weights cannot tell a curve, and why."""
    chicks = growth.chicks[growth.chicks["why"] != ""]
    return pd.DataFrame(
        {
            "chick": chicks["chick"],
            "kind": chicks["kind"],
            "weighings": chicks["n"],
            "last weight (g)": chicks["last_g"],
            "at age (d)": chicks["last_age_d"],
            "why no curve": chicks["why"],
        }
    )


def losses_by_age(season: Season) -> tuple[pd.DataFrame, int]:
    """Count the chicks lost before weaning by age when they were found, as the list of losses has it.

    Returns
    -------
    frame, number
        The bands of `rates.losses_by_age`; and how many chicks were lost at an age that nobody knows.
    """
    ages, spans = ages_lost(season).set_index("chick")["age_d"], chick_spans(season)
    found = spans["chick"].map(ages).fillna(spans["exit_d"])
    known = spans.assign(exit_d=found.where(found > spans["entry_d"], spans["entry_d"]))
    return by_band(known), int(ages.isna().sum())


def losses_table(season: Season) -> pd.DataFrame:
    """Return a row a loss, by day."""
    losses = season.losses
    return pd.DataFrame(
        {
            "who": losses["chick"].where(losses["chick"] != "", "egg " + losses["egg"]),
            "found": losses["found_on"].map(day_words),
            "age (d)": losses["age_d"],
            "cause, as written": losses["cause"],
            "examined": losses["examined"],
            "together": losses["event"].map(in_words),
        }
    )


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
            lines.append(
                {
                    "file": file,
                    "rows": row_words(group["row"]),
                    "column": first["column"],
                    "as written": listed(group["value"], most=_ALIKE) if many else first["value"],
                    "what": RULES[str(code)].title,
                    "what to do": season.to_do[group.index[0]],
                }
            )
    return pd.DataFrame(lines, columns=["file", "rows", "column", "as written", "what", "what to do"])


def settings_table(season: Season) -> pd.DataFrame:
    """Return every setting with the value that holds and where it comes from."""
    return pd.DataFrame(season.settings.table())


def earlier_table(season: Season) -> pd.DataFrame:
    """Return a row a season, the joined ones first, with the aviary's rates, as far as its logs can be trusted."""
    rows = []
    for one in sorted([*season.earlier, season], key=lambda s: s.name):
        rates = stage_rates(clutch_counts(one.eggs, one.clutches), one.reared)
        table = rates_table(rates.assign(name=one.name), "season")
        if not numbers_hold(one, logs=RATES):
            table.loc[:, table.columns != "season"] = "not known, see its logs"
        elif not hatching_known(one):
            table[list(EGG_STAGES)] = "not known"
        rows.append(table)
    return pd.concat(rows, ignore_index=True).drop(columns="beside")
