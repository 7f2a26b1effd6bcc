"""What the pages of pairs are made from, worked out once for all of them, and who each pair is."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, Words, found
from analysis.findings.growing import Growth, growing
from analysis.findings.growth_tables import pairs_table, usual
from analysis.findings.judging import Judging, judging
from analysis.logs.names import NameBook, same
from analysis.names import by_name
from analysis.pedigree import young
from analysis.review.evidence import evidence
from analysis.say import say
from analysis.season import Season


@dataclass(frozen=True)
class PairPages:
    """What the pages of all pairs are made from, each part worked out once, when it is asked for.

    Attributes
    ----------
    judged : the pairs, judged on all joined seasons
    growth : the weighings of their chicks
    """

    judged: Judging
    growth: Growth

    @property
    def season(self) -> Season:
        """The season whose pairs these are."""
        return self.judged.season

    @cached_property
    def held(self) -> pd.DataFrame:
        """Every pair at every stage beside its kind: see `evidence`."""
        return evidence(self.judged.record)

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


def pair_pages(season: Season) -> PairPages:
    """Gather what the pages of a season's pairs are made from.

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.say import in_words
    >>> pages = pair_pages(open_season("data_demo/season_2026"))
    >>> in_words(pair_line(pages, "p01"))
    'cockatiel · Bramble and Hazel · cage C1 · put up 18 November 2023'
    """
    return PairPages(judging(season), growing(season))


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
