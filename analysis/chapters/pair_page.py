"""What the pages of pairs are made from, worked out once for all of them, and who each pair is."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from analysis.chapters.growth import pairs_table, usual
from analysis.chicks.of_season import Chicks
from analysis.errors import SeasonError
from analysis.finding import Finding, Words, found
from analysis.logs.headings import NameBook, same
from analysis.names import by_name
from analysis.pairs.evidence import stage_evidence
from analysis.pairs.inbreeding import young
from analysis.pairs.of_season import Pairs
from analysis.pairs.verdict import not_joined
from analysis.say import say
from analysis.season import GROUPS, Season
from analysis.season.losses import NOT_KNOWN


@dataclass(frozen=True)
class PairPages:
    """What the pages of all pairs are made from, each part worked out once, when it is asked for.

    Attributes
    ----------
    season : whose pairs these are

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.say import in_words
    >>> pages = PairPages.of(open_season("data_demo/season_2026"))
    >>> in_words(pair_line(pages, "p01"))
    'cockatiel · Bramble and Hazel · cage C1 · put up 18 November 2023'
    """

    season: Season

    @classmethod
    def of(cls, season: Season) -> "PairPages":
        """The pages of a season's pairs, worked out once."""
        return season.once(cls, lambda: cls(season))

    @property
    def judged(self) -> Pairs:
        """The pairs, judged on all joined seasons."""
        return Pairs.of(self.season)

    @property
    def growth(self) -> Chicks:
        """The weighings of their chicks."""
        return Chicks.of(self.season)

    @cached_property
    def held(self) -> pd.DataFrame:
        """Every pair at every stage beside its kind: see `evidence`."""
        return stage_evidence(self.judged.record)

    @cached_property
    def related(self) -> pd.DataFrame:
        """How inbred the young of each pair are, by pair: see `young`."""
        return young(self.season).set_index("pair")

    @cached_property
    def usual(self) -> pd.DataFrame:
        """The usual weights of each kind, to draw behind a chick."""
        return usual(self.growth.reference)

    @cached_property
    def weights_said(self) -> dict[str, Words]:
        """How heavy each pair's chicks are beside the typical pair's, where enough were weighed to say."""
        table = pairs_table(self.growth)
        return dict(zip(table["pair"], table["told"], strict=True)) if len(table) else {}


def pair_named(season: Season, name: str) -> str:
    """Return a pair's name as it is written; raises SeasonError with all names where there is none.

    Examples
    --------
    >>> from analysis import open_season
    >>> pair_named(open_season("data_demo/season_2026"), " p03")
    'P03'
    """
    pairs = by_name(season.pairs["pair"])
    known = NameBook(pairs).find(name)
    if known is None and pairs:
        raise SeasonError(say("advice.no-such-pair", name=name, pairs=pairs))
    if known is None:
        raise SeasonError(say("advice.no-such-pair-nor-any", name=name))
    return known


def pair_line(pages: PairPages, pair: str) -> Finding:
    """Return who a pair is, in a line."""
    about = about_pair(pages, pair)
    birds = [bird for bird in (about["cock"], about["hen"]) if bird]
    parts = [
        about["species"] or found("advice.species-blank"),
        birds or (found("advice.birds-blank") if about["kind"] == "pair" else None),
        found("advice.in-cage", cage=about["cage"]) if about["cage"] else None,
        found("advice.put-up", day=about["put_up_on"]) if pd.notna(about["put_up_on"]) else None,
        found("advice.parted", day=about["parted_on"]) if pd.notna(about["parted_on"]) else None,
    ]
    return found("overview.line", about=pair, parts=[part for part in parts if part])


def about_pair(pages: PairPages, pair: str) -> dict[str, Any]:
    """One pair's row, blanks as empty text, the days as they are."""
    row = pages.season.pairs[pages.season.pairs["pair"].map(same) == same(pair)].iloc[0].to_dict()
    days = ("put_up_on", "parted_on")
    return {name: value if name in days else "" if pd.isna(value) else str(value) for name, value in row.items()}


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
