"""What the pages of pairs are made from, worked out once for all of them: who each is, its chicks, what is open."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from analysis.chapters.growth import pairs_table, usual
from analysis.chicks.of_season import Chicks
from analysis.errors import SeasonError
from analysis.finding import Finding, Words, found
from analysis.logs.headings import NameBook
from analysis.names import by_name
from analysis.pairs.credit import chicks_counted, taken_away
from analysis.pairs.evidence import stage_evidence
from analysis.pairs.inbreeding import young
from analysis.pairs.of_season import Pairs
from analysis.pairs.verdict import not_joined
from analysis.say import in_words, say
from analysis.season import GROUPS, Season
from analysis.season.losses import NOT_KNOWN

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


@dataclass(frozen=True)
class PairPages:
    """What the pages of all pairs of a season are made from, each part worked out once, when it is asked for."""

    season: Season
    judged: Pairs
    growth: Chicks

    @classmethod
    def of(cls, season: Season) -> "PairPages":
        """The pages of a season's pairs, worked out once."""
        return season.once(cls, lambda: cls(season, Pairs.of(season), Chicks.of(season)))

    @cached_property
    def evidence(self) -> pd.DataFrame:
        """Every pair at every stage beside its kind: see `evidence`."""
        return stage_evidence(self.judged.record)

    @cached_property
    def taken(self) -> list[dict[Any, Any]]:
        """What each had first, and what was taken from it, over all joined seasons: the rows of `taken_away`."""
        rows: list[dict[Any, Any]] = taken_away(chicks_counted(self.judged.record)).to_dict("records")
        return rows

    @cached_property
    def related(self) -> pd.DataFrame:
        """How inbred the young of each pair are, by pair: see `young`."""
        return young(self.season).set_index("pair")

    @cached_property
    def usual(self) -> pd.DataFrame:
        """The usual weights of each kind, to draw behind a chick."""
        return usual(self.growth)

    @cached_property
    def weights_beside_typical(self) -> dict[str, Words]:
        """How heavy each pair's chicks are beside the typical pair's, where enough were weighed to say."""
        table = pairs_table(self.growth)
        return dict(zip(table["pair"], table["told"], strict=True)) if len(table) else {}


def pair_named(season: Season, name: str) -> str:
    """A pair's name as it is written; raises SeasonError with all names where there is none."""
    pairs = by_name(season.pairs["pair"])
    if (known := NameBook(pairs).find(name)) is not None:
        return known
    raise SeasonError(say("advice.no-such-pair" if pairs else "advice.no-such-pair-nor-any", name=name, pairs=pairs))


def pair_line(pages: PairPages, pair: str) -> Finding:
    """Who a pair is, in a line."""
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
    row = pages.season.pairs[pages.season.pairs["pair"] == pair].iloc[0].to_dict()
    days = ("put_up_on", "parted_on")
    return {name: value if name in days else "" if pd.isna(value) else str(value) for name, value in row.items()}


def chicks_of(pages: PairPages, pair: str) -> pd.DataFrame:
    """This season's chicks that a pair laid or reared: the rows of `season.chicks`."""
    chicks = pages.season.chicks
    return chicks[(chicks[["pair", "reared_by"]] == pair).any(axis=1)]


def fate_words(fate: str) -> Finding:
    """What is said of a chick's fate."""
    return _FATES[fate]


def chick_notes(chicks: pd.DataFrame, pair: str, *, brief: bool = False) -> dict[str, Finding]:
    """A few words on each chick: who reared or laid it where it was not the pair, and what became of it.

    `brief` for panels too narrow for more: nothing of one that was weaned, as most are, and stand in the text.
    """
    notes = {}
    for chick in chicks.to_dict("records"):
        by, laid, fate = chick["reared_by"], chick["pair"], str(chick["fate"])
        parts = []
        if laid != pair:
            parts.append(found("advice.laid-by", pair=laid) if laid else found("advice.laid-elsewhere"))
        if by and by != pair:
            parts.append(found("advice.reared-by", who=by))
        if fate != "being reared" and not (brief and fate == "weaned"):
            parts.append(_FATES[fate])
        notes[str(chick["chick"])] = found("overview.commas", about=str(chick["chick"]), parts=parts)
    return notes


def fates_and_weights(pages: PairPages, pair: str) -> list[Finding]:
    """What became of the chicks a pair laid or reared, and how heavy they are."""
    chicks = chicks_of(pages, pair)
    if chicks.empty:
        return []
    by_fate = {fate: by_name(chicks.loc[chicks["fate"] == fate, "chick"]) for fate in _FATES}
    named = [(fate, names) for fate, names in by_fate.items() if names]
    fates = [found("advice.fate-of", n=len(names), fate=_FATES[fate], chicks=names) for fate, names in named]
    others = bool((chicks["pair"] != pair).any())
    told = [found("advice.chicks", about=pair, n=len(chicks), others=others, fates=fates)]
    unweighed = by_name(set(chicks["chick"]) - set(pages.growth.weights["chick"]))
    if unweighed and len(unweighed) < len(chicks):
        told.append(found("advice.no-weights-of", about=pair, chicks=unweighed))
    if pair in pages.weights_beside_typical:
        told.append(found("advice.weights-of", about=pair, chicks=pages.weights_beside_typical[pair]))
    return told


def not_known(pages: PairPages, pair: str) -> tuple[Words, str]:
    """What is not known of a pair, under its head; that nobody examined it stands last, always."""
    about = about_pair(pages, pair)
    blank = tuple(bird for bird in ("cock", "hen") if not about[bird])
    of_birds = []
    if about["kind"] == "pair" and blank:
        of_birds.append(_BLANK[blank])
    if about["kind"] != "pair":
        of_birds.append(found("advice.group-not-known", group=GROUPS[about["kind"]]))
    if pd.isna(about["put_up_on"]):
        of_birds.append(found("advice.since-when"))
    joined = not_joined(pages.judged.record, pair)
    parts = [*of_birds, *_not_known_of_young(pages, pair), *joined, found("advice.health")]
    return found("chapters.not-known"), in_words(parts)


def _not_known_of_young(pages: PairPages, pair: str) -> list[Finding]:
    """What is not known of a pair's eggs and chicks."""
    eggs = pages.season.eggs[pages.season.eggs["pair"] == pair]
    unknown = int((eggs["fertile"] == "unknown").sum())
    no_outcome = int(eggs["outcome"].isin(["unknown", ""]).sum())
    chicks, losses = chicks_of(pages, pair)["chick"], pages.season.losses
    unclear = losses["chick"].isin(chicks) & losses["cause_group"].isin([NOT_KNOWN, ""])
    lost = by_name(losses.loc[unclear, "chick"])
    unweighed = len(chicks) and not chicks.isin(pages.growth.weights["chick"]).any()
    return [
        *([found("advice.fertile-not-known", n=unknown, eggs=len(eggs))] if unknown else []),
        *([found("advice.outcome-not-known", n=no_outcome, eggs=len(eggs))] if no_outcome else []),
        *([found("advice.why-clear")] if (eggs["fertile"] == "no").any() else []),
        *([found("advice.how-they-grew")] if unweighed else []),
        *([found("advice.why-lost", n=len(lost), chicks=lost)] if lost else []),
    ]
