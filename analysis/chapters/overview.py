"""The season on one page: the few numbers that matter, and what cannot be told from these logs."""

import pandas as pd

from analysis.finding import Finding, Rates, Words, found
from analysis.rates import clutch_counts, stage_rates
from analysis.rates.stages import EGG_STAGES
from analysis.say import heads, say
from analysis.season import Season, hatching_known, numbers_hold

_, _, _HATCH_OF_SET = EGG_STAGES
Number = tuple[Finding, Finding, Words]  # value, what it is of, count and interval


def season_line(season: Season) -> Words:
    """Return the season's extent in a line, such as `8 pairs · 13 clutches · 35 chicks`; blank in doubt of the logs."""
    if not numbers_hold(season):
        return ""
    counts = clutch_counts(season.eggs, season.clutches)
    pairs, clutches, chicks = len(season.pairs), len(counts), len(season.chicks)
    parts = [
        found("overview.pairs", n=pairs) if pairs else "",
        found("overview.clutches", n=clutches) if clutches else "",
        found("overview.chicks", n=chicks) if chicks else "",
    ]
    return found("overview.line", parts=parts)


def day_line(season: Season) -> Words:
    """Return which day it is of, and what day that is: the one asked for, or the last that anything was logged."""
    if season.as_of is None:
        return ""
    if season.last_day is None:
        return found("overview.as-of", day=season.as_of)
    code = "overview.as-of-last-day" if season.last_day == season.as_of else "overview.as-of-another-day"
    return found(code, day=season.as_of, last=season.last_day)


def headline(season: Season) -> list[Number]:
    """Return up to four numbers for the first page: value, words, count and interval.

    None where logs are damaged, and none of eggs where only those that hatched are written (`unreliable_logs`).
    """
    if not numbers_hold(season):
        return []
    counts = clutch_counts(season.eggs, season.clutches)
    rates = stage_rates(counts, season.reared).set_index("stage")
    eggs_known = len(counts) > 0 and hatching_known(season)
    items = _of_eggs(counts, rates) if eggs_known else _without_eggs(season, counts)
    of_weaned = found("overview.weaned-rate"), found("overview.none-ended")
    items.append(_rate(rates.loc["weaned"], *of_weaned))
    weaned = int((season.chicks["fate"] == "weaned").sum())
    each = found("overview.each-clutch", number=weaned / len(counts)) if eggs_known and len(season.chicks) else ""
    reared = int((season.chicks["fate"] == "being reared").sum())
    beside = found("overview.line", parts=[each, found("overview.still-reared", n=reared) if reared else ""])
    items.append((_number(weaned), found("overview.chicks-weaned"), beside))
    return items


def _of_eggs(counts: pd.DataFrame, rates: pd.DataFrame) -> list[Number]:
    laid = int(counts["eggs"].sum())
    where = found("overview.clutches-of-pairs", clutches=len(counts), pairs=counts["pair"].nunique())
    of_hatched = found("overview.hatched-rate"), found("overview.no-outcome")
    return [
        (_number(laid), found("overview.eggs-laid", n=laid), where),
        _rate(rates.loc[_HATCH_OF_SET], *of_hatched),
    ]


def _without_eggs(season: Season, counts: pd.DataFrame) -> list[Number]:
    weighed = season.weights["chick"].nunique()
    why = found("overview.only-hatched" if len(counts) else "overview.no-eggs-logged")
    return [
        (_number(len(season.chicks)), found("overview.chicks-hatched"), why),
        (_number(len(season.weights)), found("overview.weighings"), found("overview.of-chicks", n=weighed)),
    ]


def _number(number: int) -> Finding:
    return found("overview.number", n=number)


def _rate(rate: pd.Series, words: Finding, none_yet: Finding) -> Number:
    if not rate["tried"]:
        return found("overview.none"), words, none_yet
    sure = Rates(float(rate["low"]), float(rate["high"]))
    count = found("overview.count-and-interval", worked=int(rate["worked"]), tried=int(rate["tried"]), sure=sure)
    return found("overview.rate", rate=float(rate["rate"])), words, count


def whereabouts(season: Season) -> Words:
    """Say which chicks are neither weaned nor lost: still being reared, or left; blank where there are none."""
    fates = season.chicks.groupby("fate")["chick"]
    names = {str(fate): list(chicks) for fate, chicks in fates}
    parts = []
    if "being reared" in names and season.as_of is not None:
        parts.append(found("overview.reared-on", day=season.as_of, chicks=names["being reared"]))
    if "left" in names:
        parts.append(found("overview.gone-before", chicks=names["left"]))
    return found("overview.sentences", parts=parts) if parts else ""


def reading_lines(season: Season) -> list[Finding]:
    """Return what was assumed while reading, files that were read alike in one line."""
    alike: dict[Finding, list[str]] = {}
    for file, how in season.read_as:
        alike.setdefault(how, []).append(file)
    return [found("logs.files", files=files, how=how) if files[0] else how for how, files in alike.items()]


def unanswered(season: Season) -> list[Finding]:
    """Return what these logs cannot tell, and what one more column would."""
    chicks, eggs = season.chicks, season.eggs
    no_eggs = eggs.empty and season.clutches.empty
    ended, aged = chicks["fate"].isin(["weaned", "lost"]), chicks["hatched_at"].notna()
    tests = (
        (no_eggs, "overview.no-eggs", "overview.hatching"),
        (not no_eggs and not _fertility_known(season), "overview.no-fertility", "overview.fertility"),
        (len(chicks) and not ended.any(), "overview.no-fates", "overview.weaning"),
        (season.pairs.empty, "overview.no-pairs", "overview.pairs-head"),
        (len(chicks) and not aged.any(), "overview.no-ages", "overview.ages"),
        (season.weights.empty, "overview.no-weights", "overview.growth"),
        (len(chicks) and (chicks["species"] == "").all(), "overview.no-species", "overview.species"),
    )
    cannot = [found(what, about=found(about)) for missing, what, about in tests if missing]
    if inseparable := cages_of_one_pair(season):
        cages = [found("overview.pair-in-cage", pair=pair, cage=cage) for pair, cage in inseparable]
        cannot.append(found("overview.one-cage", about=found("overview.pair-or-cage"), cages=cages))
    return cannot


def _fertility_known(season: Season) -> bool:
    known = season.clutches[["clear", "died_in_egg"]].notna().any(axis=None)
    return bool((season.eggs["fertile"] != "unknown").any() or known)


def cages_of_one_pair(season: Season) -> list[tuple[str, str]]:
    """Return the pairs whose every clutch was in one cage that held no other pair's: pair, cage."""
    counts = clutch_counts(season.eggs, season.clutches)
    placed = counts[(counts["cage"] != "") & (counts["pair"] != "")].dropna(subset=["cage", "pair"])
    cages = placed.groupby("pair")["cage"].agg(set)
    pairs = placed.groupby("cage")["pair"].nunique()
    return [(str(pair), cage) for pair, here in cages.items() if len(here) == 1 for cage in here if pairs[cage] == 1]


# Fewer weighings, eggs and ended chicks than these: a season that has only begun (ours).
WEIGHINGS, EGGS, ENDED = 20, 20, 5
_MOST = 20
# What to write where something cannot be told, the most useful first.
_WRITE = {
    "overview.no-weights": ("overview.write-weights", "overview.growth"),
    "overview.no-fates": ("overview.write-fates", "overview.weaning"),
    "overview.no-species": ("overview.write-species", "overview.species"),
    "overview.no-eggs": ("overview.write-eggs", "overview.hatching"),
}


def has_only_begun(season: Season) -> bool:
    """Whether so little is logged yet that what to write next helps more than any rate."""
    ended = int(season.chicks["fate"].isin(["weaned", "lost"]).sum())
    return len(season.weights) < WEIGHINGS and len(season.eggs) < EGGS and ended < ENDED


def here_table(season: Season) -> pd.DataFrame:
    """The chicks still being reared, the youngest first: chick, pair, hatched, age on the day it is of."""
    here = season.chicks[season.chicks["fate"] == "being reared"]
    here = here.sort_values("hatched_at", ascending=False, kind="stable").head(_MOST)
    hatched = here["hatched_at"].dt.normalize()
    told = [say("overview.hatched-on", day=day) for day in hatched]
    columns = [here["chick"], here["pair"], told]
    names = heads("chick", "pair", "hatched")
    if season.as_of is not None:
        columns.append((season.as_of - hatched).dt.days.astype("Int64"))
        names.append(say("heads.age-on", day=season.as_of))
    return pd.DataFrame(dict(zip(names, columns, strict=True))).reset_index(drop=True)


def next_steps(season: Season) -> list[Finding]:
    """What to write next, the most useful first."""
    missing = {one.code for one in unanswered(season)}
    write = [found(code, about=found(about)) for asked, (code, about) in _WRITE.items() if asked in missing]
    return [*write, found("overview.next", about=found("overview.about-next"), name=season.folder.name)]
