"""Every chick with its ring, sex, colour and what was written of it; a pair's clutches with their eggs and young."""

from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from analysis import show
from analysis.chapters.pair_page import PairPages, about_pair, chicks_of, fate_words, pair_named
from analysis.finding import Finding, Words, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.say import heads, in_words, say
from analysis.season import Season
from analysis.season.hatches import outcome_words
from analysis.season.remarks import remarks_of, shortened
from analysis.season.vocabulary import sex_of

_HATCHED = "hatched"
_SHORT, _LONGEST = 110, 330  # characters of a remark in a table, and of all remarks in one of its cells


def every_chick(season: Season) -> list[Any]:
    """Show a row a chick: ring, sex and colour as written, hatch, pair, what became of it, and the remarks."""
    chicks = season.chicks
    if chicks.empty:
        return []
    columns: dict[str, Sequence[Any]] = {
        "chick": list(chicks["chick"]),
        **{name: list(chicks[name]) for name in ("ring", "sex", "colour") if chicks[name].any()},
        "hatched": [day if pd.notna(day) else None for day in chicks["hatched_at"].dt.normalize()],
        "pair": list(chicks["pair"]),
        "became": [_became(row) for row in chicks.to_dict("records")],
        "remarks": [_joined(_remarks(season, chick)) for chick in chicks["chick"]],
    }
    caption = found("chapters.register-caption", remarks=any(columns["remarks"]))
    if not any(columns["remarks"]):
        del columns["remarks"]
    shown = pd.DataFrame(columns).set_axis(heads(*columns), axis=1)
    return [show.table(shown, caption=caption, name="chicks")]


def _became(row: dict[str, Any]) -> Finding:
    fate = str(row["fate"])
    day = None if fate == "being reared" else row[f"{fate}_on"]
    return found("chapters.became", fate=fate_words(fate), day=day if pd.notna(day) else None)


def remarks_table(season: Season, *names: str) -> list[Any]:
    """Show what was written of whoever goes by one of these names, a row a remark; nothing where nothing was."""
    rows = [(row.on, row.log, in_words(shortened(row.text, row))) for row in remarks_of(season, *names).itertuples()]
    shown = pd.DataFrame(rows, columns=heads("day", "log", "remark"))
    return [show.table(shown, caption=found("chapters.remarks-caption"))] if rows else []


def _remarks(season: Season, name: str) -> list[Words]:
    """What was written of one, each once and in short."""
    return [shortened(row.text, row, _SHORT) for row in remarks_of(season, name).drop_duplicates("text").itertuples()]


def _joined(remarks: Sequence[Words], room: int = _LONGEST) -> str:
    """Remarks one after the other, as many as there is room for, and how many more there are."""
    kept: list[str] = []
    for remark in map(in_words, remarks):
        room -= len(remark)
        if room < 0 and kept:
            break
        kept.append(remark)
    return say("chapters.remarks", remarks=kept, more=len(remarks) - len(kept)) if kept else ""


def clutches(pages: PairPages, pair: str) -> list[Any]:
    """Show this season's clutches of a pair: laid and hatched when, what the eggs became, the young and their rings."""
    pair, season = pair_named(pages.season, pair), pages.season
    young = chicks_of(pages, pair)
    own, others = young[young["pair"] == pair], young[young["pair"] != pair]
    eggs, counted = (one[one["pair"] == pair] for one in (season.eggs, season.clutches))
    names = by_name(dict.fromkeys([*eggs["clutch"], *counted["clutch"], *own["clutch"]]))
    rows = [
        _clutch(season, name, *(one[one["clutch"].map(same) == same(name)] for one in (eggs, counted, own)))
        for name in names
    ]
    if len(others):
        hatched = say("chapters.hatched-on", on=_span(others["hatched_at"]))
        rows.append((say("chapters.others-young"), hatched, _young(season, others)))
    shown = pd.DataFrame(rows, columns=heads("clutch", "eggs", "young-and-remarks"))
    caption = found("chapters.clutches-caption", sexes=_sexes(young))
    return [show.table(shown, caption=caption, align=["left"] * len(shown.columns))] if rows else []


def _clutch(
    season: Season, name: str, eggs: pd.DataFrame, counted: pd.DataFrame, young: pd.DataFrame
) -> tuple[str, str, str]:
    became, hatched = eggs["outcome"].value_counts().items(), _span(young["hatched_at"])
    told = [
        found("chapters.eggs-that", n=int(n), outcome=outcome_words(o), on=hatched * (o == _HATCHED)) for o, n in became
    ]
    if eggs.empty:
        told = [found("chapters.eggs-counted", n=int(n)) for n in counted["eggs"]]
        told += [found("chapters.hatched-on", on=hatched)] if hatched else []
    laid = _span(eggs["laid_on"] if len(eggs) else counted["first_egg_on"])
    lines = [found("chapters.laid", on=laid), *told] if laid else told
    return name, "\n".join(map(in_words, lines)), _young(season, young, eggs)


def _span(days: pd.Series) -> str:
    """The first day and the last, where they are two; blank where none is known."""
    days = days.dropna().dt.normalize()
    if days.empty:
        return ""
    first, last = days.min(), days.max()
    return say("chapters.span", first=first, last=last if last > first else None)


def _young(season: Season, young: pd.DataFrame, eggs: pd.DataFrame | None = None) -> str:
    """The young by name, each with ring, colour and sex, and then what was written of them and of the other eggs."""
    names = [_named(row) for row in young.to_dict("records")]
    said = [
        found("chapters.remark-of", who=chick, remarks=own)
        for chick in young["chick"]
        if (own := _remarks(season, chick))
    ]
    if eggs is not None:
        said += [*_of_eggs(season, eggs[eggs["chick"] == ""])]
    return in_words(found("chapters.young-of", young=names, between=bool(names and said), remarks=_joined(said)))


def _named(row: dict[str, Any]) -> Finding:
    about = [row[one] for one in ("ring", "colour", "sex") if row[one] and same(row[one]) != same(row["chick"])]
    beside = found("overview.commas", parts=about) if about else ""
    return found("chapters.one-young", chick=row["chick"], beside=beside)


def _of_eggs(season: Season, eggs: pd.DataFrame) -> Iterator[Finding]:
    for row in eggs.itertuples():
        if own := _remarks(season, f"{row.pair}/{row.clutch}/{row.egg}"):
            yield found("chapters.remark-of-egg", egg=row.egg, remarks=own)


def _sexes(young: pd.DataFrame) -> Finding | None:
    """How many of the young are cocks and hens, as written, and of how many nobody knows; None where of all."""
    sexes = young["sex"].map(sex_of).value_counts()
    if not sexes.drop("", errors="ignore").sum():
        return None
    cocks, hens, unknown = (int(sexes.get(one, 0)) for one in ("cock", "hen", ""))
    parts = [("cocks", cocks), ("hens", hens), ("sex-not-known", unknown)]
    return found("overview.commas", parts=[found(f"chapters.{code}", n=n) for code, n in parts if n])


def of_pair(pages: PairPages, pair: str) -> list[Finding]:
    """Return what was written of a pair and its two birds, under its head; nothing where nothing was."""
    about = about_pair(pages, pair)
    said: list[Words] = [*_remarks(pages.season, pair)]
    birds = [bird for bird in (about["cock"], about["hen"]) if bird]
    said += [
        found("chapters.remark-of", who=bird, remarks=own) for bird in birds if (own := _remarks(pages.season, bird))
    ]
    return [found("chapters.remarks-of-pair", about=found("chapters.remarks-head"), said=_joined(said))] if said else []
