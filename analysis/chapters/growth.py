"""Growth: who needs help, every chick over its kind, and what can be said of each curve and pair."""

from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chicks import warnings as chicks_warnings
from analysis.chicks.loss_warnings import lost_chicks
from analysis.chicks.of_season import GUESSED, LIGHT, NO_CURVE, SMALL, Chicks
from analysis.finding import Finding, Words, found
from analysis.growth.flags.find import ODD
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.say import heads, in_words, say
from analysis.season.vocabulary import is_hand
from analysis.words import grams

_A_PICTURE = 4  # kinds in one picture
_NO_WEIGHTS = found("chapters.no-weights")
_MARKED = ("slip", "swapped", "fall", *ODD)
_RULES = {
    "any drop": "chicks.rule-any-drop",
    "no gain twice running": "chicks.rule-twice-running",
    "no gain over two days": "chicks.rule-two-days",
}
_WEIGHED = {"chick": "chick", "kind": "kind", "n": "weighings", "last_g": "last-weight-g", "last_age_d": "at-age-d"}
_CURVE = {
    "peak_g": "peak-g",
    "fall": "fall-from-peak",
    "A_g": "levels-off-at-g",
    "t10_90_d": "10-to-90-d",
    "max_gain_g_per_d": "largest-gain",
}
_SHORT_HEADS = ("chick", "kind", "n", "last-g", "at-age-d", "peak-g", "fall", "level-g", "10-90-d", "gain-g-d")
_FORMATS: dict[str, show.Format] = {
    "last-weight-g": grams,
    "at-age-d": "{:.0f}",
    "peak-g": grams,
    "levels-off-at-g": grams,
    "10-to-90-d": "{:.1f}",
    "largest-gain": "{:.2f}",
}


def _formats() -> dict[str, show.Format]:
    """The formats by the heads of their columns."""
    return dict(zip(heads(*_FORMATS), _FORMATS.values(), strict=True))


def watched(growth: Chicks) -> list[Any]:
    """Show what the weights ask for, in sentences."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    return show.if_any(*chicks_warnings.watched(growth)) or [show.prose(found("chapters.weights-calm"))]


def flagged(growth: Chicks) -> list[Any]:
    """Show the chicks with a flag in small panels, each flag on its day."""
    flags = _marked(growth)
    if flags.empty:
        none = found("chapters.none-flagged")
        return [show.nothing(none) if growth.weights.empty else show.prose(none)]
    return list(charts.flagged_chicks(growth.with_kinds(growth.weights), flags, usual(growth)))


def _marked(growth: Chicks) -> pd.DataFrame:
    """The flags to mark, with what was seen; what that calls for stands in the sentences, while it can be done."""
    marked = growth.flags[growth.flags["flag"].isin(_MARKED)]
    return marked.drop(columns="sentence").rename(columns={"told": "sentence"})


def usual(growth: Chicks) -> pd.DataFrame:
    """The usual weights of each kind (the middle, 5th and 95th centile): kind, age_d, mass_g, low_g, high_g."""
    centiles = growth.reference.set_index(["kind", "age_d"])
    wide = [centiles.loc[centiles["share"] == share, "mass_g"] for share in (0.5, 0.05, 0.95)]
    return growth.with_kinds(pd.concat(wide, axis=1, keys=["mass_g", "low_g", "high_g"]).reset_index())


def kinds(growth: Chicks) -> list[Any]:
    """Show all weighings, a panel a kind, over what is usual there."""
    frames = (growth.weights, growth.reference, outside_tables(growth))
    weights, reference, tables = map(growth.with_kinds, frames)
    names = sorted(weights["kind"].unique())
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    parts = [weights[weights["kind"].isin(page)] for page in pages]
    beside = {"usual": usual(growth), "flags": _marked(growth)}
    drawn = [charts.growth_by_kind(part, reference, tables, **beside) for part in parts]
    return [*drawn] or [show.nothing(_NO_WEIGHTS)]


def outside_tables(growth: Chicks) -> pd.DataFrame:
    """The weight tables that the keeper brought, by kind: kind, age_d, median_g, low_g, high_g, source."""
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


def curves(growth: Chicks) -> list[Any]:
    """Show what the curve of each kind stands on, or why it has none."""
    here, rows = set(growth.weights["kind"]), []
    for kind, known in growth.references.items():
        if kind in here:
            counts = (None, None) if known.why else (known.chicks, known.weighings)
            rows.append((in_words(growth.kinds[kind]), *counts, _curve(growth, kind)))
    table = pd.DataFrame(rows, columns=heads("kind", "chicks", "weighings", "curve"))
    return [show.table(table, caption=found("chapters.kinds-caption"), name="growth_kinds")] if rows else []


def _curve(growth: Chicks, kind: str) -> Words:
    """What the curve is of a kind that has one, or why it has none; one may be judged by and be too thin to draw."""
    drawn, known = growth.references[kind], growth.watch.kinds[kind]
    if not known.enough:
        return known.why or drawn.why
    curve = found(f"chicks.curve-{known.curve.replace('_', '-')}")
    return found("chicks.curve-not-drawn", curve=curve) if drawn.why else curve


def chicks(growth: Chicks) -> list[Any]:
    """Show a row a chick, with what its next weighing should be while it is here."""
    if growth.weights.empty:
        return []
    states = states_table(growth)
    (following,) = heads("next-a-day-on")
    if not states[following].any():
        states = states.drop(columns=following)
    caption, note = found("chapters.states-caption"), found("chapters.states-note")
    return [show.table(states, caption=caption, note=note, formats=_formats(), name="growth_chicks")]


def states_table(growth: Chicks) -> pd.DataFrame:
    """A row a chick: its kind, its weights so far, what the next should be while it is here, and its state."""
    weighed = growth.weights.sort_values("age_d", kind="stable").groupby("chick")
    chicks = by_name(weighed.groups)
    last = weighed.last().loc[chicks]
    here = growth.season.chicks.set_index("chick")["fate"].reindex(chicks).eq("being reared")
    expected = growth.expected.reindex(index=chicks, columns=["low_g", "high_g", "on_course"])
    between = [
        found("chicks.next-between", low=row.low_g, high=row.high_g) if still and on_course and row.low_g > 0 else ""
        for row, still, on_course in zip(expected.itertuples(), here, expected["on_course"].eq(True), strict=True)
    ]
    columns = {
        "chick": chicks,
        "kind": growth.with_kinds(last)["kind"].to_numpy(),
        "weighings": weighed.size().loc[chicks].to_numpy(),
        "last-weight-g": last["mass_g"].to_numpy(),
        "at-age-d": last["age_d"].to_numpy(),
        "next-a-day-on": between,
        "state": _states(growth, chicks),
    }
    return pd.DataFrame(columns).set_axis(heads(*columns), axis=1)


def _states(growth: Chicks, chicks: list[str]) -> list[Finding]:
    """One or two words on each chick."""
    flags = growth.flags[growth.flags["flag"].isin((*ODD, "fall"))]
    flagged = {
        chick: [found(f"chicks.state-{flag.flag.replace(' ', '-')}", age_d=flag.age_d) for flag in own.itertuples()]
        for chick, own in flags.groupby("chick", sort=False)
    }
    said = []
    for one in growth.places.loc[chicks].itertuples():
        states = [found("chicks.state-flags", flags=flagged[one.chick])] if one.chick in flagged else []
        states += [found(f"chicks.state-{one.code}")] if one.code in (SMALL, LIGHT, GUESSED, NO_CURVE) else []
        states += [found("chicks.state-below")] if one.below and not states else []
        states += [found("chicks.state-weighed-once")] if not states and one.n == 1 else []
        said.append(found("chicks.states", states=states or [found("chicks.state-as-others")]))
    return said


def pairs(growth: Chicks) -> list[Any]:
    """Show how heavy each pair's chicks are beside the typical pair's, and what a place later in the brood does."""
    table = pairs_table(growth)
    if table.empty:
        return [show.nothing(found("chapters.few-curves-of-pairs"))]
    chart = charts.pair_growth_chart(table.rename(columns={"mass_share": "share"}))
    places = {species: known.place for species, known in growth.pairs.items() if pd.notna(known.place["mass_share"])}
    change = {"change": "mass_share", "low": "low", "high": "high"}
    said = [
        found("chicks.place-of-species", species=species, **{fact: place[name] - 1 for fact, name in change.items()})
        for species, place in places.items()
    ]
    return [chart, *([show.prose(found("chicks.place-in-brood", species=said))] if said else [])]


def pairs_table(growth: Chicks) -> pd.DataFrame:
    """A row a pair: species, pair, chicks, and the columns of `PairGrowth.table`."""
    parts = [known.table.assign(species=species) for species, known in growth.pairs.items() if len(known.table)]
    table = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["pair", "species"])
    return table[table["pair"].isin(growth.season.pairs["pair"])].reset_index(drop=True)


def rule(growth: Chicks) -> list[Any]:
    """Show what the trade's rule in its three readings would have called, beside the flags: how often, and in time."""
    if growth.weights.empty:
        return []
    lost = lost_chicks(growth).set_index("chick")["lost_d"]
    called, stalls = growth.rule[growth.rule["alarms"] > 0], growth.raised[growth.raised["flag"] == "stall"]
    calls = {code: called[called["reading"] == reading].set_index("chick") for reading, code in _RULES.items()}
    calls["chicks.rule-stalls"] = stalls.groupby("chick").agg(alarms=("flag", "size"), age_d=("age_d", "min"))
    rows = []
    for code, own in calls.items():
        in_time = (own["age_d"].reindex(lost.index) <= lost - 1).sum()
        rows.append((found(code), int(own["alarms"].sum()), len(own), int(in_time)))
    columns = [*heads("rule", "calls", "chicks-called"), say("heads.of-lost-in-time", lost=len(lost))]
    caption, note = found("chapters.rule-caption"), found("chapters.rule-note")
    return [show.table(pd.DataFrame(rows, columns=columns), caption=caption, note=note, name="growth_rule")]


def panels(growth: Chicks) -> list[Any]:
    """Show each chick in a panel of its own."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    beside = {"usual": usual(growth), "flags": _marked(growth)}
    return list(charts.growth_by_chick(growth.with_kinds(growth.weights), growth.curves, **beside))


def table(growth: Chicks) -> list[Any]:
    """Show what is known of each weighed chick; those whose weights tell no curve stand apart, with the reason."""
    chicks, shown = growth.with_kinds(growth.chicks), []
    told, without = chicks[chicks["why"] == ""], chicks[chicks["why"] != ""]
    if len(told):
        columns = _WEIGHED | _CURVE
        told = told.assign(fall=[say("overview.rate", rate=fall) if fall else "" for fall in told["fall"]])
        told = told[list(columns)].set_axis(heads(*columns.values()), axis=1)
        caption, note, short = found("chapters.curves-caption"), found("chapters.curves-note"), heads(*_SHORT_HEADS)
        shown.append(show.table(told, caption=caption, note=note, heads=short, formats=_formats(), name="growth"))
    if len(without):
        columns, caption = _WEIGHED | {"why": "why-no-curve"}, found("chapters.no-curve-caption")
        without = without[list(columns)].set_axis(heads(*columns.values()), axis=1)
        shown.append(show.table(without, caption=caption, formats=_formats(), name="growth_not_told"))
    return shown
