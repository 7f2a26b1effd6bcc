"""The lines between which the water an egg loses by pip is usual, and how they are called."""

from functools import reduce
from typing import NamedTuple

import pandas as pd

from analysis.finding import Finding, Rates, Words, found

# Shares of the fresh mass lost at pip. 13 and 17 %: the chart of one Saint Vincent amazon's egg, Duerr & Gage,
# Hand-Rearing Birds, 2nd ed., 2020, p. 65; 16 %: a husbandry manual of a parrot (after Sindel & Gill 2003). Other
# manuals give 11 to 16 %, and bee-eaters hatched at 11.2 % (Duerr & Gage, p. 553). So these hold only where nobody says
# anything of the species itself.
LOW_LINE, HIGH_LINE = 0.13, 0.17
LINES_SOURCE = found("eggs.lines-source")


class Lines(NamedTuple):
    """The two lines of some eggs, shares of the fresh mass, and what they are called in a sentence."""

    low: float
    high: float
    under: Finding
    over: Finding
    between: Finding


def lines_of(lines: pd.DataFrame) -> Lines:
    """The lines of some eggs together: of the species, where they are of one; else the middle of them.

    Parameters
    ----------
    lines : frame
        A row an egg: low_line, high_line (shares), source (text or a finding; blank: none is said).

    Examples
    --------
    >>> from analysis.say import in_words
    >>> one = pd.DataFrame({"low_line": [0.11], "high_line": [0.15], "source": ["a handbook"]})
    >>> in_words(lines_of(one).between)
    '11–15 % (a handbook)'
    >>> two = pd.DataFrame({"low_line": [0.11, 0.13], "high_line": [0.15, 0.17], "source": ["", ""]})
    >>> in_words(lines_of(two).under)
    'the lines of their species (11 or 13 %)'
    """
    low, high = float(lines["low_line"].mean()), float(lines["high_line"].mean())
    if len(lines[["low_line", "high_line"]].drop_duplicates()) > 1:
        under, over = (found("eggs.lines-of-species", ends=_either(lines[end])) for end in ("low_line", "high_line"))
        return Lines(low, high, under, over, found("eggs.lines-of-each"))
    said = [source for source in lines["source"].unique() if source]
    source = found("eggs.sources", sources=said) if said else ""
    under, over = (found("eggs.line", line=line, source=source) for line in (low, high))
    return Lines(low, high, under, over, found("eggs.lines", lines=Rates(low, high), source=source))


def lines_words(lines: pd.DataFrame) -> Words:
    """The lines of each species in one sentence; the columns of `lines_of`, with species; blank where there is none."""
    by = lines.groupby(["low_line", "high_line", "source"], sort=False)["species"]
    kinds = [
        found(
            "eggs.guide-line",
            species=[name or found("eggs.no-species") for name in dict.fromkeys(names)],
            lines=lines_of(lines.loc[names.index]).between,
        )
        for _, names in by
    ]
    return found("eggs.guide-lines", kinds=kinds) if kinds else ""


def _either(lines: pd.Series) -> Finding:
    """The different lines of some eggs, in percent."""
    one, *others = (100 * float(line) for line in sorted(lines.unique()))
    return reduce(lambda some, other: found("eggs.or", one=some, other=other), others, found("eggs.percent", of=one))
