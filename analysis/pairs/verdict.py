"""What the record of one pair allows to be said, one word, and the reasons. No rule names a bird guilty."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Finding, Rates, found
from analysis.logs.headings import same
from analysis.names import FATES
from analysis.pairs.by_place import blamed_places
from analysis.pairs.limits import Limits
from analysis.pairs.partners import other_partners
from analysis.pairs.record import FERTILE, HATCH, INTACT, WEAN, Record, tells
from analysis.pairs.with_others import in_question

KEEP, WATCH, REST, CHECK = "keep", "watch", "rest", "check first"
RE_PAIR, STOP, NOT_ENOUGH = "re-pair", "stop breeding", "not enough to judge"
NOTHING_AGAINST = "nothing against it so far"
ADVICE = {  # where rules and record give several, the first of these stands
    STOP: found("pairs.stop-breeding"),
    RE_PAIR: found("pairs.re-pair"),
    CHECK: found("pairs.check-first"),
    REST: found("pairs.rest"),
    NOT_ENOUGH: found("pairs.not-enough-to-judge"),
    NOTHING_AGAINST: found("pairs.nothing-against"),
    WATCH: found("pairs.watch"),
    KEEP: found("pairs.keep"),
}
_LEAST_TRIED = 6  # eggs or chicks that a stage must have tried before it is judged (practice)
# Eggs broken or gone before it is said: so many times what is typical, and this share of all (practice).
_FAR_ABOVE, _MANY = 2.0, 0.25
_STAGE = {FERTILE: "pairs.fertile-as-layers", HATCH: "pairs.hatch-as-layers", WEAN: "pairs.weaned-as-parents"}
_STAGE |= {INTACT: "pairs.whole-as-layers"}
_LOW = {INTACT: "pairs.low-whole", FERTILE: "pairs.low-fertile", HATCH: "pairs.low-hatch", WEAN: "pairs.low-weaned"}
_CHECK_FIRST = {FERTILE: "pairs.check-fertile", HATCH: "pairs.check-hatch", WEAN: "pairs.check-weaned"}
_CHECK_FIRST |= {INTACT: "pairs.check-whole"}
_NO_REASON_TO_PART = [INTACT, WEAN]
_WHOLE = {HATCH: "pairs.whole-clutch-of-eggs", WEAN: "pairs.whole-clutch-of-chicks"}
_LIKELY_WHOLE = 0.5
_HARDLY_WORSE = 0.2  # nothing is against a pair that is four in five sure to give as much as a new one (practice)
_NEARLY_SURE = 0.99


@dataclass(frozen=True)
class Verdict:
    """The word, and the stages at which the pair is below its kind, eggs broken or gone last."""

    advice: str
    low: tuple[str, ...]


def verdict(
    rows: pd.DataFrame, clutches: int, eggs: int, limits: Limits, *, checked: bool, with_others: str
) -> Verdict:
    """Say what one pair's record allows to be said.

    Nothing is said of a first clutch, of one clutch at any stage, of fewer eggs than `limits` asks. A pair is asked
    about where both hold at a stage: its counts, with what chicks still being reared have come through, are under
    `share` of what is typical of its kind where it was, and it is more than `sure_to_check` sure that its rate is below
    what is typical, everything known of the aviary used. Only a pair that was checked, and of whose eggs the same is
    more than `sure_to_part` sure apart from its place, may be advised to part. How a pair rears is no reason to part
    it: its eggs can be given to others. Nor are eggs broken or gone, which are spoken of only where that came again, in
    as many clutches as a verdict takes, far more often than is typical, and as sure as it takes to part a pair.

    `rows` are the pair's of `stage_evidence`; `clutches` that ended, and `eggs` whose outcome is known, over all joined
    seasons; `with_others` is from `how_with_others`.
    """
    if clutches < limits.clutches or eggs < limits.eggs:
        return Verdict(NOT_ENOUGH, ())
    enough = rows[(rows["clutches"] >= limits.clutches) & (rows["tried"] >= _LEAST_TRIED)]
    lean = enough[(enough["p_low"] >= limits.sure_to_check) & ((enough["stage"] != INTACT) | _again(enough, limits))]
    lean = lean.sort_values("stage", key=lambda stages: stages == INTACT, kind="stable")
    worked, tried = (lean[name] + lean.get("pending", 0.0) for name in ("worked", "tried"))
    low = lean[worked < limits.share * lean.get("usual_there", lean["typical"]) * tried]
    if low.empty:
        return Verdict(WATCH if len(lean) else KEEP, tuple(lean["stage"]))
    stages = tuple(low["stage"])
    of_eggs = low[
        ~low["stage"].isin(_NO_REASON_TO_PART) & (low["p_low"] >= limits.sure_to_part) & (low["alone_in"] == "")
    ]
    if not checked or of_eggs.empty:
        return Verdict(CHECK, stages)
    return Verdict(STOP if with_others == "badly" else RE_PAIR, stages)


def word_of(by_record: Verdict, clutches: int, p_worse: float) -> str:
    """The word of a record; where it is too little for a verdict, that nothing is against the pair, if so it seems.

    `clutches` that ended; `p_worse`: from `p_worse_than_new`, NaN where it is not known.
    """
    calm = by_record.advice == NOT_ENOUGH and clutches > 0 and p_worse <= _HARDLY_WORSE
    return NOTHING_AGAINST if calm else by_record.advice


def _again(rows: pd.DataFrame, limits: Limits) -> pd.Series:
    """Where losses came in several clutches, and in all to far more than is typical.

    As sure as it takes to part a pair: merely as sure as to check one, two reports in five of thirty pairs all alike
    would speak of one (40 simulated, clutches scattered by 0.15), and now one in forty or fewer.
    """
    lost = rows["tried"] - rows["worked"]
    far = (lost > _FAR_ABOVE * (1 - rows["typical"]) * rows["tried"]) & (lost >= _MANY * rows["tried"])
    return (rows.get("lost_in", 0) >= limits.clutches) & far & (rows["p_low"] >= limits.sure_to_part)


def stands(*advice: str) -> str:
    """The advice that stands among several, where rules and record give several."""
    return next(word for word in ADVICE if word in advice)


def evidence_found(rows: pd.DataFrame) -> Finding:
    """What is known of each stage: counts, the pair's own rate with its interval, and what is typical."""
    stages = []
    for row in rows.to_dict("records"):
        facts = {"stage": found(_STAGE[row["stage"]]), "aside": row["excluded"]}
        if not tells(row["stage"], rows[rows["stage"] == row["stage"]]):
            continue
        in_part = row.get("in_part", 0)
        if row["tried"]:
            counts = {name: row[name] for name in ("worked", "tried", "typical")}
            stages.append(
                found("pairs.stage-known", **facts, **counts, in_part=in_part, likely=Rates(row["low"], row["high"]))
            )
        elif row["excluded"]:
            stages.append(found("pairs.stage-none-left", **facts))
    return found("pairs.evidence", stages=stages) if stages else found("pairs.no-evidence")


def not_enough(clutches: int, eggs: int, limits: Limits) -> Finding:
    """What there is, and what it would take."""
    facts: dict[str, Any] = {"least_clutches": limits.clutches, "least_eggs": limits.eggs}
    if not clutches:
        return found("pairs.no-clutch-ended", **facts)
    code = "pairs.first-clutch" if clutches == 1 else "pairs.not-enough"
    return found(code, clutches=clutches, eggs=eggs, **facts)


def only_chicks(record: Record, pair: str) -> Finding | None:
    """What became of the chicks of a pair of which no egg has an outcome; None where one has, or no chick is known."""
    laid = record.clutches[record.clutches["pair"] == pair]
    chicks = record.birds.chicks
    fates = chicks.loc[chicks["pair"] == pair, "fate"].value_counts()
    if fates.empty or (laid["ended"].fillna(0) > 0).any():
        return None
    weaned, lost, reared, left = (int(fates.get(fate, 0)) for fate in FATES)
    parts = [found("pairs.chicks-weaned-of", weaned=weaned, chicks=weaned + lost)] if weaned + lost else []
    still, went = ("pairs.still-reared", "pairs.left") if parts else ("pairs.chicks-still-reared", "pairs.chicks-left")
    parts += [found(code, chicks=chicks) for code, chicks in ((still, reared), (went, left)) if chicks]
    return found("pairs.only-chicks-and-eggs" if len(laid) else "pairs.only-chicks", chicks=parts)


def below_kind(rows: pd.DataFrame, by_record: Verdict) -> list[dict[Any, Any]]:
    """The rows of `stage_evidence` at which a pair is below its kind, the one that weighs most first."""
    by_stage = {row["stage"]: row for row in rows.to_dict("records")}
    return [by_stage[stage] for stage in by_record.low]


def below_kind_in_short(row: dict[Any, Any]) -> Finding:
    """At which stage a pair is below its kind, and what to look at first; `row` of `stage_evidence`."""
    return found("pairs.low-in-short", low=_below(row), check=found(_CHECK_FIRST[row["stage"]]))


def _below(row: dict[Any, Any]) -> Finding:
    stage, p = row["stage"], float(row["p_low"])
    none = row["worked"] == 0 and stage == FERTILE
    return found(
        "pairs.low-all-clear" if none else _LOW[stage],
        **{name: row[name] for name in ("worked", "tried", "clutches", "lost_in", "typical")},
        lost=row["tried"] - row["worked"],
        in_part=row.get("in_part", 0),
        usual=1 - row["typical"],
        sure=found("pairs.nearly-sure", p=_NEARLY_SURE) if p > _NEARLY_SURE else found("pairs.sure", p=p),
    )


def _failed_whole(record: Record, pair: str) -> Iterator[Finding]:
    """Which lost clutches probably failed whole: a fright, a power cut, a sick hen."""
    for stage, code in _WHOLE.items():
        failed, rows = record.rates[stage].failed, record.rows[stage]
        for at, row in failed.iterrows():
            mine = rows.loc[at]  # one of which a chick lives has not failed whole, however few lived
            if row["pair"] == pair and row["p_failed"] >= _LIKELY_WHOLE and not mine["in_part"]:
                facts: dict[str, Any] = {name: str(mine[name]) for name in ("clutch", "season", "place")}
                yield found(code, **facts, tried=int(row["tried"]), p_failed=float(row["p_failed"]))


def exclusions(record: Record, pair: str) -> Iterator[Finding]:
    """What of a pair's record was set aside: `what`, and the `season`, blank where none is joined."""
    for name, excluded in record.excluded.items():
        when = name if len(record.excluded) > 1 else ""
        for spell in excluded.spoilt.to_dict("records"):
            if pair in spell["pairs"]:
                heat = found("pairs.aside-heat", place=spell["place"], worst_c=spell["worst_c"])
                yield found("pairs.set-aside", about=pair, season=when, what=heat)
        for event in excluded.together.to_dict("records"):
            if lost := record.chicks_of(pair, name, event["chicks"]):
                losses = found("pairs.aside-event", chicks=lost, event=event["event"])
                yield found("pairs.set-aside", about=pair, season=when, what=losses)


def not_joined(record: Record, pair: str) -> list[Finding]:
    """Where an earlier season had other birds under this name."""
    names = record.birds.names
    notes = names.loc[names["written"].map(same) == same(pair), "notes"]
    return list(dict.fromkeys(note for some in notes for note in some))


def _season_by_season(record: Record, pair: str) -> Iterator[Finding]:
    """Hatch of set now and before, where there is a before."""
    counts = record.clutches
    mine = counts[(counts["pair"] == pair) & counts["ended"].notna() & counts["hatched"].notna()]
    now = mine["season"] == record.this_season
    if now.all() or mine.empty:
        return
    this, before = (part[["hatched", "ended"]].sum().astype(int).to_dict() for part in (mine[now], mine[~now]))
    so_far = found("pairs.hatched-this-season", **this) if this["ended"] else None
    yield found("pairs.season-by-season", this=so_far, **before)


def reasons_of_record(
    record: Record, pair: str, evidence: pd.DataFrame, by_record: Verdict, limits: Limits, table: pd.DataFrame
) -> Iterator[Finding]:
    """The reasons that the record gives, beside the rules; `table` from `places`."""
    for row in below_kind(evidence, by_record):
        yield _below(row)
        if row["alone_in"]:
            yield found("pairs.alone-in", place=row["alone_in"])
        if by_record.advice != WATCH or row["stage"] == INTACT:
            yield found(_CHECK_FIRST[row["stage"]])
    if set(by_record.low) - {INTACT}:
        yield from other_partners(record.season, pair, record.partners)
        yield from blamed_places(table, pair)
    if FERTILE in by_record.low and by_record.advice != WATCH and (asked := in_question(record, pair, limits)):
        yield asked
    yield from _season_by_season(record, pair)
    yield from exclusions(record, pair)
    yield from _failed_whole(record, pair)
    yield from not_joined(record, pair)


def would_change(
    advice: str, by_record: Verdict, rows: pd.DataFrame, clutches: int, limits: Limits, only_chicks: Finding | None
) -> Finding | None:
    """What would change the advice; `only_chicks`: what is told of a pair whose eggs nobody knows."""
    alone = [str(place) for place in rows.loc[rows["stage"].isin(by_record.low), "alone_in"].unique() if place]
    if advice == NOT_ENOUGH and only_chicks:
        return found("pairs.eggs-would-tell")
    if advice in (NOT_ENOUGH, NOTHING_AGAINST):
        return found("pairs.clutches-would-tell", more=max(limits.clutches - clutches, 1))
    if alone and advice in (CHECK, WATCH):
        return found("pairs.another-cage-would-tell", place=alone[0])
    if advice == CHECK and by_record.low:
        return found("pairs.checked-would-tell")
    if advice == WATCH:
        return found("pairs.one-or-two-would-tell")
    if advice in (RE_PAIR, STOP) and by_record.low:
        return found("pairs.good-clutches-would-change")
    return None
