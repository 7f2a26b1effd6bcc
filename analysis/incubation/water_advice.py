"""What to do about the water eggs lose: a word and a sentence for an incubator, an egg, and a pair's shells.

Eggs that lose too little want drier air, eggs that lose too much damper air (Duerr & Gage, *Hand-Rearing Birds*, 2nd
ed., 2020, p. 552); the lines are 13 % and 17 % of the fresh mass at pip (p. 65). Humidity is set for an incubator,
never for one egg.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.names import by_name
from analysis.words import listed, percent

LOW_LINE, HIGH_LINE = 0.13, 0.17  # share of the fresh mass lost at pip; Duerr & Gage 2020, p. 65
LATE = 0.75  # share of incubation after which little can be changed (practice: an early trend is hard to change later)
LEAVE, RAISE, LOWER = "leave", "raise the humidity", "lower the humidity"
TOO_LATE, NOT_ENOUGH = "too late to change", "not enough to judge"
# Before anything is said of a pair's shells, and pairs to compare it with (practice).
LEAST_CLUTCHES, LEAST_EGGS, LEAST_OTHERS = 2, 4, 2


@dataclass(frozen=True)
class Advice:
    """A word (leave, raise the humidity, lower the humidity, too late to change, not enough to judge), and why."""

    word: str
    sentence: str


def advice(
    low: float, at_pip: float, high: float, *, part: float, low_line: float = LOW_LINE, high_line: float = HIGH_LINE
) -> Advice:
    """What the loss of one egg would ask of the air about it.

    A change is named only where the whole interval is beyond a line.

    Parameters
    ----------
    low, at_pip, high : a row of `water_loss`; NaN where there is no loss yet
    part : share of incubation that is over
    low_line, high_line : shares of the fresh mass

    Returns
    -------
    Advice

    Source: Duerr & Gage, *Hand-Rearing Birds*, 2nd ed., 2020, pp. 65, 552.

    Examples
    --------
    >>> advice(0.16, 0.18, 0.20, part=0.4).word, advice(0.18, 0.19, 0.20, part=0.4).word
    ('leave', 'raise the humidity')
    """
    word = _word(low, high, part, low_line, high_line)
    if pd.isna(at_pip):
        return Advice(word, "Weighings of one day say nothing of a loss: weigh it again on another day.")
    course = f"It is on course to lose {_loss_words(low, at_pip, high)}"
    shared = " Humidity is set for all eggs of an incubator: do so only if the others lose as much."
    ending = _ending(word, low, high, (low_line, high_line))
    return Advice(word, f"{course}{ending}{shared if word in (RAISE, LOWER) else ''}")


def group_losses(loss: pd.DataFrame, by: pd.Series) -> pd.DataFrame:
    """The mean loss of the eggs of each group.

    The eggs of an incubator share its air, so what is wrong with one forecast is largely wrong with the next: the
    interval of their mean is the mean of their intervals, which holds for errors wholly alike and is wide for others.

    Parameters
    ----------
    loss : frame of `water_loss`
    by : name of the group by egg; eggs without one are left out

    Returns
    -------
    frame, a row a group, by name
        name, eggs (with a loss known), at_pip, low, high (NaN where none is known)

    Examples
    --------
    >>> loss = pd.DataFrame({"at_pip": [0.12, 0.14], "low": [0.10, 0.13], "high": [0.14, 0.15]}, index=["K1", "K2"])
    >>> group_losses(loss, pd.Series("drawer", index=loss.index)).round(3).values.tolist()
    [['drawer', 2, 0.13, 0.115, 0.145]]
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
    low_line: float = LOW_LINE,
    high_line: float = HIGH_LINE,
) -> pd.DataFrame:
    """What to do about each incubator, or what to know of each pair.

    A change is named where the interval of the mean is beyond a line and so is the middle egg. An egg that is off where
    its incubator is not is named: that is its shell, and no air is changed for one egg.

    Parameters
    ----------
    loss : frame of `water_loss`
    by : name of the incubator or pair, by egg; eggs without one are left out
    part : share of incubation that is over, by egg or one for all; it is too late for an incubator only if it is for
        all its eggs
    of : "incubator" or "pair"; to a pair no change of humidity is named, for it is judged over all eggs of an incubator
    low_line, high_line : shares of the fresh mass

    Returns
    -------
    frame, a row a group, by name
        name, eggs, at_pip, low, high : as in `group_losses`
        word, sentence : as in `advice`

    Examples
    --------
    >>> loss = pd.DataFrame({"at_pip": [0.10, 0.12], "low": [0.09, 0.10], "high": [0.11, 0.13]}, index=["K1", "K2"])
    >>> found = advice_for(loss, pd.Series("drawer", index=loss.index), part=0.5)
    >>> found[["name", "eggs", "word"]].values.tolist()
    [['drawer', 2, 'lower the humidity']]
    """
    by, lines = by.reindex(loss.index), (low_line, high_line)
    table = group_losses(loss, by)
    parts = part.reindex(loss.index) if isinstance(part, pd.Series) else pd.Series(part, index=loss.index)
    words = [_word(row.low, row.high, parts[by == row.name].min(), *lines) for row in table.itertuples(index=False)]
    # One egg far off draws the mean; the air is to be changed only where most eggs ask for it.
    middle = loss["at_pip"].groupby(by).median().reindex(table["name"])
    most = [of != "pair" and not lines[0] <= one <= lines[1] for one in middle]
    words = [word if word == NOT_ENOUGH or so else LEAVE for word, so in zip(words, most, strict=True)]
    table = table.assign(word=words)
    said = [_group_sentence(row, loss[by == row.name], of, lines) for row in table.itertuples(index=False)]
    return table.assign(sentence=pd.Series(said, index=table.index, dtype=str))


def pair_shells(loss: pd.DataFrame) -> pd.DataFrame:
    """Whether the eggs of a pair lose more, or less, than those beside them, clutch after clutch.

    Each egg is compared with the other pairs in its group: the median of their means, of two pairs at least, so that
    one pair that is off does not make the others look off.
    The interval comes of how much the clutches of one pair differ, over all pairs (Student's t), so that air that was
    dry for one clutch is not taken for a shell.

    Parameters
    ----------
    loss : frame of `water_loss`, with pair, clutch and group (a place and a kind) beside it

    Returns
    -------
    frame, a row a pair that can be compared, by name
        pair, clutches, eggs
        more, low, high : share of the fresh mass its eggs lose more than the others, with the 95 % interval
        sentence : where it has two clutches and four eggs at least, all its clutches on one side, and the interval
        clear of 0; else ""

    Examples
    --------
    >>> eggs = [(f"P{p}", c, 0.15 + 0.04 * (p == 1) + 0.002 * n) for p in (1, 2, 3, 4) for c in "AB" for n in (p, 5)]
    >>> found = pair_shells(pd.DataFrame(eggs, columns=["pair", "clutch", "at_pip"]).assign(group="drawer"))
    >>> found[["pair", "clutches", "eggs", "more"]].round(3).values.tolist()[0]
    ['P1', 2, 4, 0.038]
    """
    from scipy.special import stdtrit

    known = loss.dropna(subset=["at_pip", "pair", "clutch", "group"])
    clutches = _beside(known).groupby(["pair", "clutch"])["more"].agg(["mean", "size"])
    by_pair = clutches["mean"].groupby("pair")
    table = pd.DataFrame({"clutches": by_pair.size(), "eggs": clutches["size"].groupby("pair").sum()})
    table["more"] = by_pair.mean()
    free = len(clutches) - len(table)
    scatter = np.sqrt(np.sum((clutches["mean"] - by_pair.transform("mean")) ** 2) / free) if free else np.nan
    others = len(clutches) - table["clutches"]
    half = float(stdtrit(max(free, 1), 0.975)) * scatter * np.sqrt(1 / table["clutches"] + 1 / others)
    table["low"], table["high"] = table["more"] - half, table["more"] + half
    one_side = (by_pair.min() > 0) | (by_pair.max() < 0)
    table = table.assign(one_side=one_side).loc[by_name(table.index)].rename_axis("pair").reset_index()
    table["sentence"] = [_shell_sentence(row) for row in table.itertuples()]
    return table.drop(columns="one_side")


def _word(low: float, high: float, part: float, low_line: float, high_line: float) -> str:
    if pd.isna(low) or pd.isna(high) or (low < low_line and high > high_line):
        return NOT_ENOUGH
    if high < low_line or low > high_line:
        return TOO_LATE if part > LATE else LOWER if high < low_line else RAISE
    return LEAVE


def _ending(word: str, low: float, high: float, lines: tuple[float, float]) -> str:
    between, beyond = f"{_in_percent(*lines, digits=0)} %", _beyond(low, high, lines)
    if word in (LOWER, RAISE):
        return f", {beyond}: {word} a little, and weigh again in three days."  # three days: (practice)
    if word == TOO_LATE:
        return f", {beyond}. This late little can be changed: keep it in mind for the next eggs."
    if word == NOT_ENOUGH:
        return f". That is too wide to judge by {between}: weigh on."
    if beyond:
        return f", {beyond}, but most of them do not: leave the humidity as it is."
    if lines[0] <= low and high <= lines[1]:
        return f", within {between}: leave the humidity as it is."
    return f". Whether that stays within {between} cannot be told yet: leave the humidity, and weigh on."


def _beyond(low: float, high: float, lines: tuple[float, float]) -> str:
    if high < lines[0]:
        return f"less than {percent(lines[0])}"
    return f"more than {percent(lines[1])}" if low > lines[1] else ""


def _in_percent(*shares: float, digits: int = 1) -> str:
    return "–".join(f"{100 * share:.{digits}f}" for share in shares)


def _loss_words(low: float, at_pip: float, high: float) -> str:
    return f"{_in_percent(at_pip)} % of the fresh mass by pip (likely {_in_percent(low, high)} %)"


def _group_sentence(row: Any, mine: pd.DataFrame, of: str, lines: tuple[float, float]) -> str:
    where = f"of {row.name}" if of == "pair" else f"in {row.name}"
    if not row.eggs:
        return f"No egg {where} has been weighed on two days yet."
    who = f"The one egg {where} is" if row.eggs == 1 else f"The {row.eggs} eggs {where} are"
    course = f"{who} on course to lose {_loss_words(row.low, row.at_pip, row.high)}"
    if of == "pair":
        beyond = _beyond(row.low, row.high, lines)
        return f"{course}{beyond and ', '}{beyond}. The humidity is judged by all eggs of an incubator, not by a pair."
    one = " One egg cannot tell its shell from the air." if row.eggs == 1 and row.word in (LOWER, RAISE) else ""
    return f"{course}{_ending(row.word, row.low, row.high, lines)}{one}{_odd_eggs(row, mine, lines)}"


def _odd_eggs(row: Any, mine: pd.DataFrame, lines: tuple[float, float]) -> str:
    """Name the eggs that are off where their incubator is not; fewer than half of them."""
    said = ""
    off = {"less": mine["high"] < lines[0], "more": mine["low"] > lines[1]}
    if row.word != LEAVE or 2 * sum(one.sum() for one in off.values()) >= row.eggs:
        return said
    for way, one in off.items():
        if one.any():
            names = listed(by_name(mine.index[one].astype(str)))
            loses, its = ("loses", "its shell") if one.sum() == 1 else ("lose", "their shells")
            said += f" {names} {loses} {way} than the others: that is {its}, nothing to change for."
    return said


def _beside(known: pd.DataFrame) -> pd.DataFrame:
    """The eggs that can be compared, with `more`: loss at pip less that of the other pairs in the group."""
    means = known.groupby(["group", "pair"])["at_pip"].mean()
    others = {}
    for group, pair in means.index:
        beside = means[group].drop(pair)
        others[group, pair] = beside.median() if len(beside) >= LEAST_OTHERS else np.nan
    keys = zip(known["group"], known["pair"], strict=True)
    return known.assign(more=known["at_pip"] - [others[key] for key in keys]).dropna(subset="more")


def _shell_sentence(row: Any) -> str:
    enough = row.clutches >= LEAST_CLUTCHES and row.eggs >= LEAST_EGGS and row.one_side
    if not enough or not (row.low > 0 or row.high < 0):
        return ""
    by = sorted(abs(share) for share in (row.low, row.high))
    way, water = ("more", "more water through") if row.more > 0 else ("less", "less water through")
    return (
        f"In each of {row.clutches} clutches the eggs of {row.pair} lost {way} than the eggs of other pairs beside "
        f"them, by {_in_percent(abs(row.more))} % of the fresh mass by pip on average (likely {_in_percent(*by)} %): "
        f"their shells let {water}."
    )
