"""The morning's round: whom to read of first, who is fed in which order, how much, what is due and needs attention."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from typing import Any

import pandas as pd

from analysis.chicks.brooders import in_the_heat
from analysis.chicks.concerns import expected_today, with_concerns
from analysis.chicks.crop_time import crop_times, with_slow_crops
from analysis.chicks.feeding import feeding_order, with_amounts
from analysis.chicks.in_the_nursery import in_the_nursery
from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import may_wean, near_fledging, scale_and_losses, warnings
from analysis.chicks.weaning import weaning
from analysis.day.due import due_on
from analysis.day.outside_nursery import SIGN_ASKED, burnt_chicks, incubators_read, last_read, outside_nursery
from analysis.eggs.findings import pips_over, pressing_findings
from analysis.eggs.of_season import Eggs
from analysis.finding import LOOK, Finding, found
from analysis.logs import ledger as rules
from analysis.logs.headings import same
from analysis.names import name_key
from analysis.pairs.of_season import Pairs, asked_of_pairs, worse_places
from analysis.season import RATES, SOON, Season, cause_words, numbers_hold
from analysis.season.days import now
from analysis.season.losses import NOT_KNOWN, lost_by_age
from analysis.season.signs import LOOK_AGAIN, rank, read_first

_NAMED = 6  # losses that are named here; all of them stand in their chapter


@dataclass(frozen=True)
class Round:
    """The round of one day, at midnight, of a season opened up to its end; each part is worked out when asked for.

    `worked_at` is said on a screen alone, so that paper is the same at every time.
    """

    season: Season
    on: pd.Timestamp
    worked_at: datetime = field(default_factory=now)

    @property
    def growth(self) -> Chicks:
        """The weighings of the season, watched."""
        return Chicks.of(self.season)

    @cached_property
    def eggs(self) -> Eggs:
        """The eggs of the season."""
        return Eggs.of(self.season, self.on)

    @cached_property
    def crop_times(self) -> pd.DataFrame:
        """After how many hours the crops of the chicks fed by hand were seen empty, a row a feed."""
        return crop_times(self.season, in_the_nursery(self.season, self.on)["chick"], self.on)

    @cached_property
    def chicks(self) -> pd.DataFrame:
        """The chicks fed by hand, in the order in which they are fed.

        The columns of `in_the_nursery`, `expected_today` and `with_concerns`; fledging, may_wean; place_in_order and
        own_tools; low_ml and high_ml: what may be given, missing where the page gives no amount; by_today: whether that
        rests on this morning's weight; why: why there is none; times: hours between feeds.
        """
        here = in_the_nursery(self.season, self.on)
        # Of a chick far from weaning a nibble says nothing: it is fed as before.
        weans = may_wean(self.season, here, self.on)
        fledging = near_fledging(self.season, here, self.on)
        here = here.assign(fledging=fledging, may_wean=weans, eats=here["eats"] & weans)
        here = here.assign(hot=here["chick"].isin(in_the_heat(here, last_read(self.season, self.on))))
        here = with_concerns(expected_today(here, self.growth, self.on), self.growth, self.on)
        here = with_slow_crops(here, self.crop_times, self.season, self.on)
        burnt = here["chick"].isin(burnt_chicks(self.season, self.on))
        unwell = [seen or (found("day.burning-food"),) * hot for seen, hot in zip(here["unwell"], burnt, strict=True)]
        here = here.assign(unwell=pd.Series(unwell, index=here.index, dtype=object))
        here = here.assign(needs_vet=here["vet"].astype(bool) | burnt, ailing=here["food_left"])
        return with_amounts(feeding_order(here), self.on, damaged=not numbers_hold(self.season, logs=("weights",)))

    @cached_property
    def reads(self) -> list[Finding]:
        """What is read before anybody is fed, the most pressing first.

        About whom or what, with the facts soon (a word of `SOON`) and of (age and kind, or where).
        """
        rows = self.chicks.sort_values("chick", kind="stable", key=lambda names: names.map(name_key))
        reads = [*incubators_read(self.season, self.on), *pips_over(self.eggs)]  # opened before anything else is done
        for chick in rows[rows["vet"].astype(bool) | rows["look"].astype(bool)].itertuples():
            of = found("day.chick", of=[chick.age, chick.species])
            soon = SOON[int(chick.rank)] if chick.vet else LOOK_AGAIN
            said = found("day.all-of", about=str(chick.chick), parts=[*chick.vet, *chick.look])
            reads.append(read_first(soon, said, of=of))
        return sorted([*reads, *outside_nursery(self.growth, self.chicks, self.on)], key=rank)

    def of(self, *names: str) -> list[Finding]:
        """What is read first of whoever goes by one of these names; of several, with who it is."""
        reads = self._reads_of(names)
        if len({same(name) for name in names if name}) > 1:
            reads = [found("day.named", level=one.level, who=one.about, said=one) for one in reads]
        return [replace(one, about=found("day.read-first")) for one in reads]

    def pressing(self, *names: str) -> list[Finding]:
        """Return what is read first of whoever goes by one of these names and is more pressing than a look."""
        return [one for one in self._reads_of(names) if rank(one) < SOON.index(LOOK_AGAIN)]

    def _reads_of(self, names: Iterable[str]) -> list[Finding]:
        keys = {same(name) for name in names if name}
        return [one for one in self.reads if isinstance(one.about, str) and same(one.about) in keys]

    @cached_property
    def weaning(self) -> pd.DataFrame:
        """How far each chick fed by hand has come in weaning, of those that are at it: see `weaning`."""
        return weaning(self.season, self.chicks, self.on)

    @cached_property
    def due(self) -> pd.DataFrame:
        """What is due: see `due_on`; the second look after a flag is that of the chicks flagged on the days before."""
        flags = warnings(self.growth, self.on)
        flags = flags[~flags["chick"].isin({one.about for one in self.reads if one.code != SIGN_ASKED})]
        return due_on(self.season, self.on, flags=flags.assign(sentence=flags["said"]))


def round_of(season: Season, on: str | date | None = None) -> Round:
    """The round of a day, as 2026-05-20; left out, that which the season was asked for, else the last of its logs."""
    return Round(season, pd.Timestamp(on).normalize() if on else season.day)


def attention(today: Round, judged: Pairs) -> list[Finding]:
    """Return all that needs attention, the most pressing first.

    What the round reads first of, so that page and round name the same birds; then what weights, pairs and places and
    the eggs ask for. Where the logs that they rest on are damaged, nothing is said of pairs, places and losses. Nobody
    is blamed; what a few eggs cannot tell is not said.
    """
    season = today.season
    joined = numbers_hold(season, joined=True, logs=RATES)
    pairs = [*asked_of_pairs(judged), *worse_places(judged)] if joined else []
    losses = _losses(season) if numbers_hold(season, logs=RATES) else []
    together, about = [], found("overview.lost-together")
    for event, own in season.losses[season.losses["event_found"] != ""].groupby("event_found", sort=False):
        who = {"chicks": list(own["chick"]), "causes": [cause for cause in own["cause"].unique() if cause]}
        together.append(found("overview.lost-in-event", about=about, level=LOOK, event=event, **who))
    findings = [*today.reads, *scale_and_losses(today.growth), *together, *pairs]
    findings += [*pressing_findings(today.eggs), *losses, *_not_used(season)]
    calm = "overview.calm" if numbers_hold(season) else "overview.calm-as-far-as-read"
    return findings or [found(calm, about=found("overview.nothing"))]


def _losses(season: Season) -> list[Finding]:
    lost = season.chicks[season.chicks["fate"] == "lost"]
    if lost.empty:
        return []
    by_age, unknown = lost_by_age(season)
    band, young = by_age["band"].iloc[0], int(by_age["lost"].iloc[0])
    causes = season.losses.loc[season.losses["chick"].isin(lost["chick"]), "cause_group"].value_counts()
    last = causes.sort_index(key=lambda cause: cause == NOT_KNOWN, kind="stable")
    known = len(causes.drop(NOT_KNOWN, errors="ignore")) > 0
    grouped = [found("overview.cause", cause=cause_words(str(one)), n=n) for one, n in last.items()] if known else []
    facts: dict[str, Any] = {"n": len(lost), "unknown": unknown, "causes": grouped}
    facts["young"] = found("overview.lost-young", n=young, band=band) if young else None
    facts["who"] = list(lost["chick"]) if len(lost) <= _NAMED else []
    return [found("overview.lost-before-weaning", about=found("overview.losses"), **facts)]


def _not_used(season: Season) -> list[Finding]:
    later = season.problems.index[season.problems["code"] == "later-than-asked"]
    rows = int(season.accounting["not_used"].sum()) - sum(season.to_do[at].facts["count"] for at in later)
    cells = int((season.problems["severity"] == rules.CELL_NOT_USED).sum())
    look = int(((season.problems["severity"] == rules.LOOK) & (season.problems["code"] != "no-rows")).sum())
    parts = [
        found("overview.could-not-be-read", files=list(season.unread)) if season.unread else None,
        found("overview.rows-not-used", n=rows) if rows else None,
        found("overview.cells-not-used", n=cells) if cells else None,
        found("overview.things-worth-a-look", n=look) if look else None,
    ]
    parts = [part for part in parts if part]
    return [found("overview.not-used", about=found("overview.your-logs"), level=LOOK, parts=parts)] if parts else []
