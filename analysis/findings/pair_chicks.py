"""The chicks of a pair this season, and what is not known of the pair, in sentences."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.names import by_name
from analysis.review.reasons import not_joined
from analysis.season import GROUPS
from analysis.season.causes import NOT_KNOWN

_FATES = {
    "weaned": found("advice.weaned"),
    "being reared": found("advice.being-reared"),
    "left": found("advice.left"),
    "lost": found("advice.lost"),
}
_BLANK = {
    ("cock",): found("advice.cock-not-known"),
    ("hen",): found("advice.hen-not-known"),
    ("cock", "hen"): found("advice.birds-not-known"),
}


def chicks_of(pages: PairPages, pair: str) -> pd.DataFrame:
    """Return this season's chicks that a pair laid or reared: the rows of `season.chicks`."""
    chicks = pages.season.chicks
    return chicks[(chicks[["pair", "reared_by"]] == pair).any(axis=1)]


def chick_notes(chicks: pd.DataFrame, pair: str) -> dict[str, Finding]:
    """Return a few words on each chick: who reared or laid it where it was not the pair, and what became of it."""
    notes = {}
    for chick in chicks.to_dict("records"):
        by, laid, fate = chick["reared_by"], chick["pair"], str(chick["fate"])
        parts = []
        if laid != pair:
            parts.append(found("advice.laid-by", pair=laid) if laid else found("advice.laid-elsewhere"))
        if by and by != pair:
            parts.append(found("advice.reared-by", who=by))
        if fate != "being reared":
            parts.append(_FATES[fate])
        notes[str(chick["chick"])] = found("overview.commas", about=str(chick["chick"]), parts=parts)
    return notes


def chicks_said(pages: PairPages, pair: str) -> list[Finding]:
    """Return what became of the chicks a pair laid or reared, and how heavy they are."""
    pair = pair_named(pages.season, pair)
    chicks = chicks_of(pages, pair)
    if chicks.empty:
        return []
    by_fate = {fate: by_name(chicks.loc[chicks["fate"] == fate, "chick"]) for fate in _FATES}
    fates = [
        found("advice.fate-of", n=len(names), fate=_FATES[fate], chicks=names)
        for fate, names in by_fate.items()
        if names
    ]
    others = bool((chicks["pair"] != pair).any())
    told = [found("advice.chicks", about=pair, n=len(chicks), others=others, fates=fates)]
    unweighed = by_name(set(chicks["chick"]) - set(pages.growth.weights["chick"]))
    if unweighed and len(unweighed) < len(chicks):
        told.append(found("advice.no-weights-of", about=pair, chicks=unweighed))
    if pair in pages.weights_said:
        told.append(found("advice.weights-of", about=pair, chicks=pages.weights_said[pair]))
    return told


def not_known(pages: PairPages, pair: str) -> list[Finding]:
    """Return what is not known of a pair; that nobody examined it stands last, always."""
    pair = pair_named(pages.season, pair)
    about = about_pair(pages, pair)
    blank = tuple(bird for bird in ("cock", "hen") if not about[bird])
    open_ = []
    if about["kind"] == "pair" and blank:
        open_.append(_BLANK[blank])
    if about["kind"] != "pair":
        open_.append(found("advice.group-not-known", group=GROUPS[about["kind"]]))
    if pd.isna(about["put_up_on"]):
        open_.append(found("advice.since-when"))
    return [
        *open_,
        *_eggs_open(pages, pair),
        *_chicks_open(pages, pair),
        *not_joined(pages.judged.record, pair),
        found("advice.health"),
    ]


def _eggs_open(pages: PairPages, pair: str) -> list[Finding]:
    eggs = pages.season.eggs[pages.season.eggs["pair"] == pair]
    unknown = int((eggs["fertile"] == "unknown").sum())
    open_ = int(eggs["outcome"].isin(["unknown", ""]).sum())
    clear = int((eggs["fertile"] == "no").sum())
    return [
        *([found("advice.fertile-not-known", n=unknown, eggs=len(eggs))] if unknown else []),
        *([found("advice.outcome-not-known", n=open_, eggs=len(eggs))] if open_ else []),
        *([found("advice.why-clear")] if clear else []),
    ]


def _chicks_open(pages: PairPages, pair: str) -> list[Finding]:
    chicks = chicks_of(pages, pair)
    weighed = chicks["chick"].isin(pages.growth.weights["chick"])
    open_ = []
    if len(chicks) and not weighed.any():
        open_.append(found("advice.how-they-grew"))
    unclear = pages.season.losses[pages.season.losses["chick"].isin(chicks["chick"])]
    unclear = by_name(unclear.loc[unclear["cause_group"].isin([NOT_KNOWN, ""]), "chick"])
    if unclear:
        open_.append(found("advice.why-lost", n=len(unclear), chicks=unclear))
    return open_
