"""Pairs, cages and incubators: each stage with its counts, credited to who did it."""

from typing import Any

import pandas as pd

from analysis import show
from analysis.chapters.logs import NO_HATCHING, withheld
from analysis.finding import Finding, Rates, found
from analysis.names import NOT_WRITTEN, name_said, sorted_by_name
from analysis.pairs.credit import FEWEST, InBroods, in_broods, taken_away, taken_said
from analysis.pairs.of_season import Pairs
from analysis.rates import clutch_counts, stage_rates
from analysis.rates.stages import WEANED
from analysis.say import heads, in_words, say
from analysis.season import RATES, Season, hatching_known

NONE_ENDED = found("chapters.none-ended")
_REARED = {"reared_by": "weaned-last", "first_reared_by": "weaned-first"}
_LAST = {"place": 4, "size": 5}  # from which on places, and sizes, are put together


@withheld(*RATES)
def as_layers(season: Season) -> list[Any]:
    """Show each pair by the eggs it laid."""
    if season.pairs.empty:
        return []
    if not hatching_known(season):
        return [show.nothing(NO_HATCHING)]
    rates = _rates(season, "pair")
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    laid = _without_blanks(rates[rates["stage"] != WEANED])
    return [_shown(laid, "pair", found("chapters.layers-caption"), "pairs_as_layers")]


@withheld(*RATES)
def as_parents(season: Season) -> list[Any]:
    """Show each pair, place or hand by the chicks it reared."""
    texts = found("chapters.parents-caption"), found("chapters.nothing-of-rearing")
    taken = taken_away(season.reared)
    if not taken["taken"].any():
        return _by(season, "reared_by", "reared-by", *texts, name="reared_by")
    last, first = (_rates(season, by).assign(stage=stage) for by, stage in _REARED.items())
    rates = sorted_by_name(pd.concat([last, first], ignore_index=True), ["name"])
    said = {str(row["name"]): taken_said(row) for row in taken.to_dict("records")}
    return [_shown(rates, "reared-by", found("chapters.had-them-caption"), "reared_by", taken=said)]


@withheld(*RATES)
def by_brood(judged: Pairs) -> list[Any]:
    """Show weaning by place in the brood and by its size, and what each pair's chicks would give elsewhere here."""
    broods = in_broods(judged.record)
    if broods is None:
        return [show.nothing(found("chapters.nothing-of-broods", least=FEWEST))]
    caption, note = found("chapters.by-brood-caption"), [found("chapters.by-brood-note"), _what_tells(broods)]
    shown = [show.table(_by_place_and_size(broods), caption=caption, note=in_words(note), name="by_brood")]
    none = say("overview.none-yet")
    counts = broods.pairs[["weaned", "ended", "in_part"]].set_axis(["worked", "tried", "in_part"], axis=1)
    had = [say("advice.count-in-part", **row) if row["tried"] else none for row in counts.to_dict("records")]
    such = [say("chapters.such-chicks", n=n) for n in broods.pairs["expected"]]
    columns = heads("had-them-first", "stage-weaned", "such-chicks-give")
    table = pd.DataFrame(dict(zip(columns, (broods.pairs["name"], had, such), strict=True)))
    texts = found("chapters.such-chicks-caption"), found("chapters.such-chicks-note")
    return [*shown, show.table(table, caption=texts[0], note=texts[1], name="such_chicks")]


def _by_place_and_size(broods: InBroods) -> pd.DataFrame:
    """A row a place and a row a size: counts of chicks that ended, and how likely one is weaned, the other alike."""
    chicks, rows = broods.chicks, []
    for by, other in (("place", "size"), ("size", "place")):
        groups = chicks.groupby(chicks[by].clip(upper=_LAST[by]).astype(int))
        for number, mine in groups:
            at = {by: float(mine[by].mean()), other: float(chicks[other].mean())}
            mean, low, high = broods.told.at(**at)
            counts = mine.loc[mine["ended"], ["worked", "tried"]].sum().astype(int)
            if not counts["tried"]:
                continue
            who = say(f"chapters.{by}-{number}")
            likely = say("advice.rate-and-interval", rate=mean, sure=Rates(low, high))
            rows.append([who, say("advice.count", **counts.to_dict()), likely])
    return pd.DataFrame(rows, columns=heads("chicks", "stage-weaned", "likely-else-alike"))


def _what_tells(broods: InBroods) -> Finding:
    """Whether place or size tells anything of how many are weaned: where the whole interval lies below none."""
    lower = broods.told.coefficients["high"] < 0
    code = {(True, True): "both-tell", (True, False): "place-tells", (False, True): "size-tells"}
    return found(f"chapters.{code.get((bool(lower['place']), bool(lower['size'])), 'neither-tells')}")


@withheld(*RATES)
def cages(season: Season) -> list[Any]:
    """Show the stages by cage."""
    texts = found("chapters.cages-caption"), found("chapters.nothing-of-cages")
    return _by(season, "cage", "cage", *texts, name="cages")


@withheld(*RATES)
def incubated(season: Season) -> list[Any]:
    """Show hatching by who or what incubated."""
    texts = found("chapters.incubated-caption"), found("chapters.nothing-of-incubating")
    return _by(season, "incubated_by", "incubated-by", *texts, name="incubated_by")


def _by(season: Season, group: str, who: str, caption: Finding, nothing: Finding, *, name: str) -> list[Any]:
    rates = _rates(season, group)
    if not hatching_known(season) and not (rates["stage"] == WEANED).any():
        return [show.nothing(NO_HATCHING)]
    if rates.empty:
        return [show.nothing(nothing)]
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    return [_shown(rates, who, caption, name)]


def _rates(season: Season, group: str) -> pd.DataFrame:
    parts = group in ("cage", "incubated_by")  # a clutch that was divided is credited in its parts
    rates = stage_rates(clutch_counts(season.eggs, season.clutches, parts=parts), season.reared, by=group)
    return _without_blanks(rates if hatching_known(season) else rates[rates["stage"] == WEANED])


def _without_blanks(rates: pd.DataFrame) -> pd.DataFrame:
    """Leave out what is not written where that group has nothing to show."""
    tried = rates.groupby("name")["tried"].transform("sum")
    return rates[(rates["name"] != NOT_WRITTEN) | (tried > 0)]


def _shown(
    rates: pd.DataFrame, who: str, caption: Finding, name: str, *, taken: dict[str, Finding | None] | None = None
) -> Any:
    """The table of some rates; `taken` what was taken from each, in a column of its own."""
    (head,) = heads(who)
    table = rates_table(rates, head)
    beside = [
        found("chapters.beside-one", name=row[head], beside=row["beside"])
        for row in table.to_dict("records")
        if row["beside"]
    ]
    note, table = rates_note(rates, beside), table.drop(columns="beside")
    if taken is not None:
        told = [taken.get(one) for one in rates["name"].drop_duplicates()]
        table = table.fillna(say("overview.none")).assign(
            **{heads("taken-from-it")[0]: [in_words(t or "") for t in told]}
        )
        note = [*note, found("chapters.what-no-record-tells")]
    return show.table(table, caption=caption, note=in_words(note), name=name)


def rates_note(rates: pd.DataFrame, beside: list[Finding]) -> list[Finding]:
    """What the cells of `rates_table` say, and what stands beside them."""
    note = [found("chapters.rates-note")]
    note += [found("chapters.rates-in-part")] if rates["in_part"].any() else []
    return note + ([found("chapters.beside-rates", beside=beside)] if beside else [])


def rates_table(rates: pd.DataFrame, who: str) -> pd.DataFrame:
    """A row a name, a column a stage: `9 of 12, 75 % (38–94)`; `none yet` where nothing was tried.

    Chicks that count by how far they have come stand in it too: `3 of 5 and 12 in part, 88 % (63–97)`. A column
    `beside` says what is in neither count, such as chicks still being reared.
    """
    cells = [
        say("overview.rate-cell", **facts, sure=Rates(low, high)) if facts["tried"] else say("overview.none-yet")
        for facts, low, high in zip(
            rates[["worked", "tried", "in_part", "rate"]].to_dict("records"), rates["low"], rates["high"], strict=True
        )
    ]
    long = pd.DataFrame({who: rates["name"], "stage": rates["stage"], "cell": cells})
    wide = long.pivot_table(index=who, columns="stage", values="cell", aggfunc="first", sort=False)
    wide.columns = [say(f"heads.stage-{stage.replace(' ', '-')}") for stage in wide.columns]
    beside = rates.assign(beside=rates["beside"].fillna("")).groupby("name", sort=False)["beside"]
    wide["beside"] = beside.agg(lambda texts: say("overview.commas", parts=dict.fromkeys(t for t in texts if t)))
    wide.index = wide.index.map(lambda name: in_words(name_said(name)))
    return wide.rename_axis(index=who).reset_index()
