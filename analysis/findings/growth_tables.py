"""Growth laid out for reading: a row a chick, a kind, a pair, a rule."""

import pandas as pd

from analysis.findings.beside_kind import GUESSED, LIGHT, NO_CURVE, SMALL
from analysis.findings.growing import Growth
from analysis.findings.lost_said import lost_chicks
from analysis.growth.flags.find import ODD
from analysis.logs.names import same
from analysis.names import by_name
from analysis.say import in_words
from analysis.season import is_hand
from analysis.words import grams, listed

_RULES = {
    "any drop": "any drop",
    "no gain twice running": "no gain, two mornings running",
    "no gain over two days": "no gain over two days",
}


def states_table(growth: Growth) -> pd.DataFrame:
    """Return a row a chick: its kind, its weights so far, what the next should be while it is here, and its state."""
    last = growth.weights.sort_values("age_d", kind="stable").groupby("chick").last()
    fates = growth.season.chicks.set_index("chick")["fate"]
    chicks = by_name(last.index)
    last = last.loc[chicks]
    here = fates.reindex(chicks).eq("being reared").to_numpy()
    expected = growth.expected.reindex(index=chicks, columns=["low_g", "high_g", "on_course"])
    words = [
        f"{grams(row.low_g)}–{grams(row.high_g)}" if still and on_course and row.low_g > 0 else ""
        for row, still, on_course in zip(expected.itertuples(), here, expected["on_course"].eq(True), strict=True)
    ]
    return pd.DataFrame(
        {
            "chick": chicks,
            "kind": last["kind"].to_numpy(),
            "weighings": growth.weights.groupby("chick").size().loc[chicks].to_numpy(),
            "last weight (g)": last["mass_g"].to_numpy(),
            "at age (d)": last["age_d"].to_numpy(),
            "next, a day on (g)": words,
            "state": _states(growth, chicks),
        }
    )


def kinds_table(growth: Growth) -> pd.DataFrame:
    """Return a row a kind that was weighed this season: what its curve stands on, or why there is none."""
    here = set(growth.weights["kind"])
    rows = [
        (kind, *((None, None) if found.why else (found.chicks, found.weighings)), _curve(growth, kind))
        for kind, found in growth.references.items()
        if kind in here
    ]
    return pd.DataFrame(rows, columns=["kind", "chicks", "weighings", "curve"])


def pairs_table(growth: Growth) -> pd.DataFrame:
    """Return a row a pair: species, pair, chicks, and the columns of `PairGrowth.table`."""
    parts = [found.table.assign(species=species) for species, found in growth.pairs.items() if len(found.table)]
    table = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["pair", "species"])
    return table[table["pair"].isin(growth.season.pairs["pair"])].reset_index(drop=True)


def place_words(growth: Growth) -> str:
    """Say what a place later in the brood does to a chick's weight, by species; blank where no places differ."""
    said = [
        f"{species} {_away(found.place['mass_share'])} ({_away(found.place['low'])} to {_away(found.place['high'])})"
        for species, found in growth.pairs.items()
        if pd.notna(found.place["mass_share"])
    ]
    if not said:
        return ""
    return f"A chick one place later in its brood differs by (95 % interval): {'; '.join(said)}. That is allowed for."


def rule_table(growth: Growth) -> pd.DataFrame:
    """Return the trade's rule in its three readings beside the flags: calls, chicks, and lost chicks called in time."""
    lost = lost_chicks(growth).set_index("chick")["lost_d"]
    rows = []
    for reading, words in _RULES.items():
        calls = growth.rule[growth.rule["reading"] == reading].set_index("chick")
        called = calls[calls["alarms"] > 0]
        in_time = (called["age_d"].reindex(lost.index) <= lost - 1).sum()
        rows.append((f"trade's rule: {words}", int(called["alarms"].sum()), len(called), int(in_time)))
    stalls = growth.raised[growth.raised["flag"] == "stall"]
    first = stalls.groupby("chick")["age_d"].min()
    in_time = int((first.reindex(lost.index) <= lost - 1).sum())
    rows.append(("stalls flagged here", len(stalls), stalls["chick"].nunique(), in_time))
    return pd.DataFrame(rows, columns=["rule", "calls", "chicks called", f"of {len(lost)} lost, called in time"])


def usual(reference: pd.DataFrame) -> pd.DataFrame:
    """Return the usual weights of each kind to draw behind a chick: kind, age_d, mass_g, low_g, high_g.

    From the centiles of a reference: the middle, and the 5th to the 95th.
    """
    index = ["kind", "age_d"]
    wide = [reference[reference["share"] == share].set_index(index)["mass_g"] for share in (0.5, 0.05, 0.95)]
    return pd.concat(wide, axis=1, keys=["mass_g", "low_g", "high_g"]).reset_index()


def outside_tables(growth: Growth) -> pd.DataFrame:
    """Return the weight tables that the keeper brought, by kind: kind, age_d, median_g, low_g, high_g, source."""
    columns = {"median": "median_g", "low": "low_g", "high": "high_g"}
    tables = growth.season.logs["reference"].rename(columns=columns)
    about = growth.weights.drop_duplicates("kind")[["kind", "species", "chick"]]
    chicks = growth.season.chicks.set_index("chick")
    by_hand = about["chick"].map(chicks["by_hand"]).where(about["chick"].map(chicks["rearer_asked"]) == "")
    rows = about.assign(name=about["species"].map(same), by_hand=by_hand).merge(
        tables.assign(name=tables["species"].map(same)).drop(columns="species"), on="name"
    )
    written = (said if isinstance(said, str) else "" for said in rows["rearing"])
    fits = [not said or is_hand(said) == by for said, by in zip(written, rows["by_hand"], strict=True)]
    return rows.loc[fits, ["kind", "age_d", "median_g", "low_g", "high_g", "source"]].reset_index(drop=True)


def _states(growth: Growth, chicks: list[str]) -> list[str]:
    """One or two words on each chick."""
    flags = growth.flags[growth.flags["flag"].isin((*ODD, "fall"))]
    flagged = {
        str(chick): listed(f"{f.flag} (day {f.age_d:.0f})" for f in own.itertuples())
        for chick, own in flags.groupby("chick", sort=False)
    }
    said = []
    for one in growth.places.loc[chicks].itertuples():
        words = [flagged[one.chick]] if one.chick in flagged else []
        words += [_PLACES[one.code]] if one.code in _PLACES else []
        words += ["below the lower line"] if one.below and not words else []
        words += ["weighed once"] if not words and one.n == 1 else []
        said.append("; ".join(words) or "as the others")
    return said


_PLACES = {
    SMALL: "small, growing",
    LIGHT: "light",
    GUESSED: "age guessed: gain only",
    NO_CURVE: "no curve yet",
}


def _curve(growth: Growth, kind: str) -> str:
    """What the curve is of a kind that has one, or why it has none; one may be judged by and be too thin to draw."""
    found = growth.references[kind]
    known = growth.watch.kinds[kind]
    if not known.enough:
        return in_words(known.why or found.why)
    if found.why:
        return f"{known.curve.replace('_', ' ')}, to judge by; too few weighings up to the peak to draw it"
    weight = float(known.weights.max())
    sure = "more than 0.99" if weight > 0.99 else f"{weight:.2f}"
    return f"{known.curve.replace('_', ' ')} (Akaike weight {sure})"


def _away(share: float) -> str:
    away = 100 * (share - 1)
    return f"{away:+.0f} %".replace("-", "−")
