"""The season on one page: the few numbers that matter, and what cannot be told from these logs."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.rates import clutch_counts, stage_rates
from analysis.season import Season, hatching_known, numbers_hold
from analysis.words import count_words, day_words, interval_words, listed, percent

Item = tuple[str, str]


def season_line(season: Season) -> str:
    """Return the season's extent in a line, such as `8 pairs · 13 clutches · 35 chicks`; blank in doubt of the logs."""
    if not numbers_hold(season):
        return ""
    counts = clutch_counts(season.eggs, season.clutches)
    pairs = len(season.pairs)
    parts = [
        count_words(pairs, "pair") if pairs else "",
        count_words(len(counts), "clutch", "clutches") if len(counts) else "",
        count_words(len(season.chicks), "chick") if len(season.chicks) else "",
    ]
    return " · ".join(part for part in parts if part)


def day_line(season: Season) -> str:
    """Return which day it is of, and what day that is: the one asked for, or the last that anything was logged."""
    if season.as_of is None:
        return ""
    as_of, last = f"as of {day_words(season.as_of)}", season.last_day
    if last is None or last == season.as_of:
        return f"{as_of}, the last day in your logs" if last is not None else as_of
    return f"{as_of}; the last day in your logs is {day_words(last)}"


def headline(season: Season) -> list[tuple[str, str, str]]:
    """Return up to four numbers for the first page: value, words, count and interval.

    None where logs are damaged, and none of eggs where only those that hatched are written (`doubtful_logs`).
    """
    if not numbers_hold(season):
        return []
    counts = clutch_counts(season.eggs, season.clutches)
    rates = stage_rates(counts, season.reared).set_index("stage")
    items = []
    eggs_known = len(counts) > 0 and hatching_known(season)
    if eggs_known:
        laid = int(counts["eggs"].sum())
        where = f"{count_words(len(counts), 'clutch', 'clutches')} of {count_words(counts['pair'].nunique(), 'pair')}"
        items.append((str(laid), "eggs laid" if laid != 1 else "egg laid", where))
        items.append(_rate(rates.loc["hatch of set"], "hatched, of eggs with a known outcome", "no outcome known yet"))
    else:
        weighed = season.weights["chick"].nunique()
        why = "only eggs that hatched are written" if len(counts) else "no eggs are logged"
        items.append((str(len(season.chicks)), "chicks hatched", why))
        items.append((str(len(season.weights)), "weighings", f"of {count_words(weighed, 'chick')}"))
    items.append(_rate(rates.loc["weaned"], "weaned, of chicks weaned or lost", "none weaned or lost yet"))
    weaned = int((season.chicks["fate"] == "weaned").sum())
    per_clutch = f"{weaned / len(counts):.1f} for each clutch" if eggs_known and len(season.chicks) else ""
    items.append((str(weaned), "chicks weaned", _beside(season, per_clutch)))
    return items


def _rate(rate: pd.Series, words: str, none_yet: str) -> tuple[str, str, str]:
    if not rate["tried"]:
        return "–", words, none_yet
    count = f"{rate['worked']} of {rate['tried']} · 95 %: {interval_words(rate['low'], rate['high'])}"
    return percent(rate["rate"]), words, count


def _beside(season: Season, first: str) -> str:
    reared = int((season.chicks["fate"] == "being reared").sum())
    return " · ".join(part for part in (first, f"{reared} still being reared" if reared else "") if part)


def whereabouts(season: Season) -> str:
    """Say which chicks are neither weaned nor lost: still being reared, or left."""
    fates = season.chicks.groupby("fate")["chick"]
    names = {str(fate): listed(chicks, most=20) for fate, chicks in fates}
    parts = []
    if "being reared" in names and season.as_of is not None:
        parts.append(f"Still being reared on {day_words(season.as_of)}: {names['being reared']}.")
    if "left" in names:
        parts.append(f"Gone to another home before they were weaned: {names['left']}.")
    return " ".join(parts)


def reading_lines(season: Season) -> list[Finding]:
    """Return what was assumed while reading, files that were read alike in one line."""
    alike: dict[Finding, list[str]] = {}
    for file, how in season.read_as:
        alike.setdefault(how, []).append(file)
    return [found("logs.files", files=files, how=how) if files[0] else how for how, files in alike.items()]


def unanswered(season: Season) -> list[Item]:
    """Return what these logs cannot tell, and what one more column would."""
    chicks, eggs = season.chicks, season.eggs
    no_eggs = eggs.empty and season.clutches.empty
    tests = (
        (no_eggs, "Hatching", _NO_EGGS),
        (not no_eggs and not _fertility_known(season), "Fertility", _NO_FERTILITY),
        (len(chicks) and not chicks["fate"].isin(["weaned", "lost"]).any(), "Weaning", _NO_FATES),
        (season.pairs.empty, "Pairs", _NO_PAIRS),
        (len(chicks) and chicks["hatched_at"].isna().all(), "Ages", _NO_AGES),
        (season.weights.empty, "Growth", _NO_WEIGHTS),
        (len(chicks) and (chicks["species"] == "").all(), "Species", _NO_SPECIES),
    )
    found = [(what, sentence) for missing, what, sentence in tests if missing]
    inseparable = cages_of_one_pair(season)
    if len(inseparable):
        said = listed(f"{pair} in {cage}" for pair, cage in inseparable)
        found.append(
            (
                "Pair or cage",
                f"{said}: alone in one cage all season, so nobody can say whether it was the "
                "pair or the cage. A clutch in another cage would tell.",
            )
        )
    return found


_NO_EGGS = (
    "No eggs are logged, only chicks, so nothing can be said about fertility or hatching. One row an egg in "
    "hatches, or one row a clutch in clutches, would tell."
)
_NO_FERTILITY = "No egg is logged as fertile or clear. A word in candled or outcome for each egg would tell."
_NO_FATES = "No chick is logged as weaned or lost. The day in weaned_on, and a row in losses, would tell."
_NO_PAIRS = "No pair is written anywhere, so pairs cannot be compared. A name in the column pair would tell."
_NO_AGES = "No day of hatch is logged, so no age is known. The day in hatched_at would tell."
_NO_WEIGHTS = "No weights could be used, so nothing can be said about growth. A weight each morning would tell."
_NO_SPECIES = "No species is written, so all chicks are drawn as one kind. A species for each pair would part them."


def _fertility_known(season: Season) -> bool:
    known = season.clutches[["clear", "died_in_egg"]].notna().any(axis=None)
    return bool((season.eggs["fertile"] != "unknown").any() or known)


def cages_of_one_pair(season: Season) -> list[Item]:
    """Return the pairs whose every clutch was in one cage that held no other pair's: pair, cage."""
    counts = clutch_counts(season.eggs, season.clutches)
    placed = counts[(counts["cage"] != "") & (counts["pair"] != "")].dropna(subset=["cage", "pair"])
    cages = placed.groupby("pair")["cage"].agg(set)
    pairs = placed.groupby("cage")["pair"].nunique()
    return [(str(pair), cage) for pair, here in cages.items() if len(here) == 1 for cage in here if pairs[cage] == 1]
