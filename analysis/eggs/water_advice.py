"""The lines between which the water an egg loses by pip is usual, and how they are called."""

from dataclasses import dataclass
from functools import reduce
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import ACT, LOOK, NOTE, Finding, Rates, Words, found
from analysis.names import by_name
from analysis.season import Season
from analysis.season.species import YOURS, any_bird, species_facts, written_for

# Shares of the fresh mass lost at pip, 13 and 17 %, where nobody says anything of the species itself: `species.toml`.
LOW_LINE, HIGH_LINE = (percent / 100 for percent in any_bird("water_loss")[:2])
LINES_SOURCE = found("eggs.lines-source")
LATE = 0.75  # share of incubation after which little can be changed (practice: an early trend is hard to change later)
LEAVE, RAISE, LOWER, TOO_LATE, NOT_ENOUGH = "leave", "raise", "lower", "too late", "not enough"


def water_lines(season: Season, species: str) -> tuple[float, float, Words]:
    """Shares of its fresh mass between which an egg should lose water by pip, and who says so.

    The keeper's own `water_loss_from_pct` and `water_loss_to_pct`; else those read of the species; else the general
    lines, of which one alone of the keeper's takes the other.
    """
    facts = species_facts(species)
    read = facts.water_loss if facts else None
    low, high, source = LOW_LINE, HIGH_LINE, LINES_SOURCE
    if read:
        low, high, source = read.low, read.high, found("eggs.sources", sources=[one.source for one in read.readings])
    own = [written_for(season.logs["species"], species, f"water_loss_{end}_pct") for end in ("from", "to")]
    if own == [None, None]:
        return low, high, source
    ends = [mine / 100 if mine is not None else end for mine, end in zip(own, (low, high), strict=True)]
    return min(ends), max(ends), YOURS


class Lines(NamedTuple):
    """The two lines of some eggs, shares of the fresh mass, and what they are called in a sentence."""

    low: float
    high: float
    under: Finding
    over: Finding
    between: Finding


def lines_of(lines: pd.DataFrame) -> Lines:
    """The lines of some eggs together: of the species, where they are of one; else the middle of them.

    A row an egg: low_line, high_line (shares), source (text or a finding; blank: none is said).
    """
    low, high = float(lines["low_line"].mean()), float(lines["high_line"].mean())
    if len(lines[["low_line", "high_line"]].drop_duplicates()) > 1:
        under, over = (_lines_of_species(lines[end]) for end in ("low_line", "high_line"))
        return Lines(low, high, under, over, found("eggs.lines-of-each"))
    sources = [source for source in lines["source"].unique() if source]
    source = found("eggs.sources", sources=sources) if sources else ""
    under, over = (found("eggs.line", line=line, source=source) for line in (low, high))
    return Lines(low, high, under, over, found("eggs.lines", lines=Rates(low, high), source=source))


def _lines_of_species(lines: pd.Series) -> Finding:
    one, *others = (100 * float(line) for line in sorted(lines.unique()))
    ends = reduce(lambda some, other: found("eggs.or", one=some, other=other), others, found("eggs.percent", of=one))
    return found("eggs.lines-of-species", ends=ends)


@dataclass(frozen=True)
class Advice:
    """A word (leave; raise or lower the humidity; too late to change it; not enough to judge), and why."""

    word: str
    finding: Finding


def advice(
    low: float,
    at_pip: float,
    high: float,
    *,
    part: float,
    low_line: float = LOW_LINE,
    high_line: float = HIGH_LINE,
    source: Words = "",
) -> Advice:
    """What the loss of one egg (a row of `water_loss`) would ask of the air about it.

    A change is named only where the whole interval is beyond a line. `part`: share of incubation that is over; `source`
    of the lines is said beside them. Source: Duerr & Gage, *Hand-Rearing Birds*, 2nd ed., 2020, p. 552.
    """
    word = _word(low, high, part, low_line, high_line)
    if pd.isna(at_pip):
        return Advice(word, found("eggs.weighed-on-one-day"))
    lines = lines_of(pd.DataFrame({"low_line": [low_line], "high_line": [high_line], "source": [source]}))
    said = _asked(word, low, high, lines, found("eggs.course", **in_percent(low, at_pip, high)))
    return Advice(word, found("eggs.all-of", parts=[said, found("eggs.one-air")]) if word in (RAISE, LOWER) else said)


def group_losses(loss: pd.DataFrame, by: pd.Series) -> pd.DataFrame:
    """The mean loss of the eggs of each group: name, eggs (with a loss known), at_pip, low, high; by name.

    The eggs of an incubator share its air, so what is wrong with one forecast is largely wrong with the next: the
    interval of their mean is the mean of their intervals, which holds for errors wholly alike and is wide for others.
    `by`: the group's name by egg; eggs without one are left out.
    """
    grouped = loss.groupby(by.reindex(loss.index), sort=False)
    table = grouped[["at_pip", "low", "high"]].mean()
    table.insert(0, "eggs", grouped["at_pip"].count())
    return table.loc[by_name(table.index)].rename_axis("name").reset_index()


def advice_for(
    loss: pd.DataFrame,
    by: pd.Series,
    *,
    part: pd.Series | float,
    of: str = "incubator",
    low_line: pd.Series | float = LOW_LINE,
    high_line: pd.Series | float = HIGH_LINE,
    source: pd.Series | Words = "",
) -> pd.DataFrame:
    """What to do about each incubator, or what to know of each pair: as `group_losses`, with word and finding.

    A change is named where the interval of the mean is beyond a line and so is the middle egg. An egg that is off where
    its incubator is not is named: that is its shell, and no air is changed for one egg. `part` (share of incubation
    that is over): it is too late for an incubator only if it is for all its eggs. `of`: "incubator" or "pair"; to a
    pair no change of humidity is named. The lines are by egg, or one for all.
    """
    by = by.reindex(loss.index)
    own = pd.DataFrame({"low_line": low_line, "high_line": high_line, "source": source}, index=loss.index)
    table = group_losses(loss, by)
    parts = pd.Series(part, index=loss.index)
    lines = {name: lines_of(own[by == name]) for name in table["name"]}
    words = [
        _word(row.low, row.high, parts[by == row.name].min(), *lines[row.name][:2])
        for row in table.itertuples(index=False)
    ]
    # One egg far off draws the mean; the air is to be changed only where most eggs ask for it.
    short = (loss["at_pip"] - own["low_line"]).groupby(by).median().reindex(table["name"])
    over = (loss["at_pip"] - own["high_line"]).groupby(by).median().reindex(table["name"])
    most = ((short < 0) | (over > 0)) & (of != "pair")
    table["word"] = [word if word == NOT_ENOUGH or so else LEAVE for word, so in zip(words, most, strict=True)]
    mine = loss.join(own)
    asked = [_of_group(row, mine[by == row.name], of, lines[row.name]) for row in table.itertuples(index=False)]
    return table.assign(finding=pd.Series(asked, index=table.index, dtype=object))


def _word(low: float, high: float, part: float, low_line: float, high_line: float) -> str:
    if pd.isna(low) or pd.isna(high) or (low < low_line and high > high_line):
        return NOT_ENOUGH
    if high < low_line or low > high_line:
        return TOO_LATE if part > LATE else LOWER if high < low_line else RAISE
    return LEAVE


def _asked(word: str, low: float, high: float, lines: Lines, course: Finding) -> Finding:
    """What a course asks of the air."""
    beyond, between = _beyond(low, high, lines), lines.between
    if word in (LOWER, RAISE):  # weigh again in three days: (practice)
        return found("eggs.raise" if word == RAISE else "eggs.lower", level=ACT, course=course, beyond=beyond)
    if word == TOO_LATE:
        return found("eggs.too-late", level=LOOK, course=course, beyond=beyond)
    if word == NOT_ENOUGH:
        return found("eggs.too-wide", course=course, lines=between)
    if beyond:
        return found("eggs.most-do-not", course=course, beyond=beyond)
    within = lines.low <= low and high <= lines.high
    return found("eggs.within" if within else "eggs.not-told-yet", course=course, lines=between)


def _beyond(low: float, high: float, lines: Lines) -> Words:
    if high < lines.low:
        return found("eggs.less-than", line=lines.under)
    return found("eggs.more-than", line=lines.over) if low > lines.high else ""


def in_percent(low: float, at_pip: float, high: float) -> dict[str, Any]:
    """The loss at pip with its interval, in percent of the fresh mass."""
    return {"at_pip_pct": 100 * at_pip, "low_pct": 100 * low, "high_pct": 100 * high}


def _of_group(row: Any, mine: pd.DataFrame, of: str, lines: Lines) -> Finding:
    name, pair = str(row.name), of == "pair"
    if not row.eggs:
        return found("eggs.none-twice-of" if pair else "eggs.none-twice-in", about=name, of=name)
    loss = in_percent(row.low, row.at_pip, row.high) | {"eggs": int(row.eggs), "of": name}
    course = found("eggs.course-of", **loss) if pair else found("eggs.course-in", **loss)
    if pair:
        return found("eggs.of-pair", about=name, course=course, beyond=_beyond(row.low, row.high, lines))
    said = _asked(row.word, row.low, row.high, lines, course)
    one = [found("eggs.one-egg")] if row.eggs == 1 and row.word in (LOWER, RAISE) else []
    return found("eggs.all-of", about=name, level=said.level, parts=[said, *one, *_odd_eggs(row, mine)])


def _odd_eggs(row: Any, mine: pd.DataFrame) -> list[Finding]:
    """Name the eggs that are off where their incubator is not; fewer than half of them."""
    off = {"less": mine["high"] < mine["low_line"], "more": mine["low"] > mine["high_line"]}
    if row.word != LEAVE or 2 * sum(one.sum() for one in off.values()) >= row.eggs:
        return []
    named = {way: by_name(mine.index[one].astype(str)) for way, one in off.items() if one.any()}
    return [found(f"eggs.odd-{way}", level=NOTE, names=names, n=len(names)) for way, names in named.items()]
