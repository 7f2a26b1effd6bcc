"""The reasons behind the advice, in sentences a keeper can check against her own logs."""

from collections.abc import Iterator

import pandas as pd

from analysis.logs.names import same
from analysis.review.aside import WORSE
from analysis.review.record import FERTILE, HATCH, WEAN, Record
from analysis.review.verdict import CHECK, NOT_ENOUGH, RE_PAIR, STOP, WATCH, Limits, Verdict
from analysis.say import in_words
from analysis.words import count_words, interval_words, listed, percent

_WORKED = {FERTILE: "eggs showed fertile", HATCH: "fertile eggs hatched", WEAN: "chicks it reared were weaned"}
_AS = {FERTILE: "as layers", HATCH: "as layers", WEAN: "as parents"}
CHECK_FIRST = {
    FERTILE: "Clear is not the same as infertile. First ask whether these are a cock and a hen, then look at the nest "
    "box, disturbance, food and age; an avian veterinarian can check both.",
    HATCH: "First look at the nest box and its damp, at disturbance, food and what incubated; an avian veterinarian "
    "can check the pair, and eggs that died.",
    WEAN: "First look at the nest box, disturbance, food and mites; an avian veterinarian can check the chicks and the "
    "pair. Its eggs can be given to others meanwhile.",
}
LIKELY_WHOLE = 0.5


def evidence_words(rows: pd.DataFrame) -> str:
    """Write what is known of each stage: counts, the pair's own rate with its interval, and what is typical."""
    told = [_stage_words(row) for row in rows.to_dict("records") if row["tried"] or row["aside"]]
    return "; ".join(told) if told else "nothing yet"


def _stage_words(row: dict[str, object]) -> str:
    out = f", {row['aside']} set aside" if row["aside"] else ""
    if not row["tried"]:
        return f"{row['stage']} ({_AS[str(row['stage'])]}): none left{out}"
    between = interval_words(float(str(row["low"])), float(str(row["high"])))
    beside = f"likely {between} %, typical {percent(float(str(row['typical'])))}"
    return f"{row['stage']} ({_AS[str(row['stage'])]}) {row['worked']} of {row['tried']}{out} ({beside})"


def not_enough(clutches: int, eggs: int, limits: Limits) -> str:
    """Say what there is, and what it would take."""
    least = f"at least {count_words(limits.clutches, 'clutch', 'clutches')} and {limits.eggs} known eggs"
    if not clutches:
        return f"No clutch has ended yet; a verdict takes {least}."
    has = f"{count_words(clutches, 'clutch', 'clutches')} and {count_words(eggs, 'known egg')} so far"
    first = "A first clutch says nothing of a pair: " if clutches == 1 else ""
    return f"{first}{has}; a verdict takes {least}."


def only_chicks(record: Record, pair: str) -> str:
    """Say what became of the chicks of a pair of which no egg has an outcome; "" where one has, or no chick is known.

    Of chicks alone nothing is told of fertility and hatching, and no number of clutches would tell it.
    """
    laid = record.clutches[record.clutches["pair"] == pair]
    chicks = record.birds.chicks
    fates = chicks.loc[chicks["pair"] == pair, "fate"].value_counts()
    if fates.empty or (laid["ended"].fillna(0) > 0).any():
        return ""
    weaned, lost = (int(fates.get(fate, 0)) for fate in ("weaned", "lost"))
    open_ = {"still being reared": int(fates.get("being reared", 0)), "left": int(fates.get("left", 0))}
    known = [f"{weaned} of {count_words(weaned + lost, 'chick')} weaned"] if weaned + lost else []
    beside = [f"{number if known else count_words(number, 'chick')} {what}" for what, number in open_.items() if number]
    eggs = "no egg's outcome is known yet" if len(laid) else "no eggs are logged"
    return f"Of this pair {eggs}; {', '.join([*known, *beside])}."


def low_words(row: dict[str, object], *, watched: bool) -> Iterator[str]:
    """Say at which stage a pair is below its kind, how sure that is, and what cannot be told."""
    stage = str(row["stage"])
    clutches = count_words(int(str(row["clutches"])), "clutch", "clutches")
    counts = f"{row['worked']} of {row['tried']} {_WORKED[stage]}, over {clutches}"
    typical = percent(float(str(row["typical"])))
    sure = f"typical of its kind is {typical}, and we are {_sure(float(str(row['p_low'])))} sure its rate is lower"
    if row["worked"] == 0 and stage == FERTILE:
        counts = f"All {row['tried']} candled eggs were clear, over {row['clutches']} clutches"
    yield f"{counts}; {sure}."
    if row["alone_in"]:
        yield f"It was always in {row['alone_in']} and no other pair was: pair or cage, nobody can say which."
    if not watched:
        yield CHECK_FIRST[stage]


def low_in_short(row: dict[str, object]) -> str:
    """The same in short, with what to look at first."""
    said, *_ = low_words(row, watched=True)
    return f"{said} {CHECK_FIRST[str(row['stage'])]}"


def _sure(p: float) -> str:
    return "over 99 %" if p > 0.99 else percent(p)


def whole_clutches(record: Record, pair: str) -> Iterator[str]:
    """Say which lost clutches probably failed whole: a fright, a power cut, a sick hen."""
    for stage, what in ((HATCH, "egg"), (WEAN, "chick")):
        failed, rows = record.rates[stage].failed, record.rows[stage]
        for at, row in failed.iterrows():
            mine = rows.loc[at]
            if row["pair"] == pair and row["p_failed"] >= LIKELY_WHOLE:
                of = f"Clutch {mine['clutch']} of {mine['season']}" if mine["season"] else f"Clutch {mine['clutch']}"
                yield (
                    f"{of} lost {_all(int(row['tried']), what)} in {mine['place'] or 'its cage'}; it is "
                    f"{percent(row['p_failed'])} sure that it failed as a whole, perhaps by a fright or a sick hen; it "
                    "says little of the pair."
                )


def _all(number: int, what: str) -> str:
    return f"its one {what}" if number == 1 else f"all {number} {what}s"


def set_aside_words(record: Record, pair: str) -> Iterator[str]:
    """Say what of a pair's record was set aside, and as what."""
    yield from (f"Set aside{f' in {when}' if when else ''}: {what}" for when, what in set_aside(record, pair))


def set_aside(record: Record, pair: str) -> Iterator[tuple[str, str]]:
    """What of a pair's record was set aside: the season, where several are joined, and what in words."""
    for name, aside in record.aside.items():
        when = name if len(record.aside) > 1 else ""
        for spell in aside.heat[aside.heat["chance"].astype(float) < WORSE].to_dict("records"):
            if pair in spell["pairs"]:
                yield when, f"its eggs that were in {spell['place']} when it went to {spell['worst_c']:.1f} °C."
        for event in aside.events[aside.events["set_aside"].astype(bool)].to_dict("records"):
            lost = record.chicks_of(pair, name, event["chicks"])
            if lost:
                yield when, f"{listed(lost)}, lost together with others ({in_words(event['event'])})."


def not_joined(record: Record, pair: str) -> Iterator[str]:
    """Say where an earlier season had other birds under this name."""
    names = record.birds.names
    notes = names.loc[names["written"].map(same) == same(pair), "note"]
    yield from dict.fromkeys(note for note in notes if note)


def season_by_season(record: Record, pair: str) -> Iterator[str]:
    """Write hatch of set now and before, where there is a before."""
    counts = record.clutches
    mine = counts[(counts["pair"] == pair) & counts["ended"].notna() & counts["hatched"].notna()]
    now = mine["season"] == record.this_season
    if now.all() or mine.empty:
        return
    sums = [part[["hatched", "ended"]].sum().astype(int) for part in (mine[now], mine[~now])]
    before = f"{sums[1]['hatched']} of {sums[1]['ended']} before"
    this = f"{sums[0]['hatched']} of {sums[0]['ended']} this season, " if sums[0]["ended"] else ""
    yield f"Hatch of set: {this}{before}."


def would_change(
    advice: str, said: Verdict, rows: pd.DataFrame, clutches: int, limits: Limits, only_chicks: str = ""
) -> str:
    """Say what would change the advice; `only_chicks`: what is said of a pair whose eggs nobody knows."""
    alone = [str(place) for place in rows.loc[rows["stage"].isin(said.low), "alone_in"].unique() if place]
    if advice == NOT_ENOUGH and only_chicks:
        return "A row an egg in hatches with its outcome, clear ones too, would tell how its eggs do."
    if advice == NOT_ENOUGH:
        more = max(limits.clutches - clutches, 1)
        return f"{count_words(more, 'more clutch', 'more clutches').capitalize()} would tell."
    if alone and advice in (CHECK, WATCH):
        return f"Two more clutches in another cage than {alone[0]} would tell the pair from the cage."
    if advice == CHECK and said.low:
        return "When you have checked, name the pair in the setting checked; two more clutches would then tell."
    if advice == WATCH:
        return "One or two more clutches would tell."
    if advice in (RE_PAIR, STOP) and said.low:
        return "Two good clutches would change this. You decide."
    return ""
