"""The lines between which the water an egg loses by pip is usual, and how they are called."""

from typing import NamedTuple

import pandas as pd

from analysis.words import listed, percent

# Shares of the fresh mass lost at pip. 13 and 17 %: the chart of one Saint Vincent amazon's egg, Duerr & Gage,
# Hand-Rearing Birds, 2nd ed., 2020, p. 65; 16 %: a husbandry manual of a parrot (after Sindel & Gill 2003). Other
# manuals give 11 to 16 %, and bee-eaters hatched at 11.2 % (Duerr & Gage, p. 553). So these hold only where nobody says
# anything of the species itself.
LOW_LINE, HIGH_LINE = 0.13, 0.17
LINES_SOURCE = "one amazon's chart; others 11–16 %"


class Lines(NamedTuple):
    """The two lines of some eggs, shares of the fresh mass, and what they are called in a sentence."""

    low: float
    high: float
    under: str
    over: str
    between: str


def lines_of(lines: pd.DataFrame) -> Lines:
    """The lines of some eggs together: of the species, where they are of one; else the middle of them.

    Parameters
    ----------
    lines : frame
        A row an egg: low_line, high_line (shares), source (text; blank: none is said).

    Examples
    --------
    >>> lines_of(pd.DataFrame({"low_line": [0.11], "high_line": [0.15], "source": ["your species log"]})).between
    '11–15 % (your species log)'
    >>> lines_of(pd.DataFrame({"low_line": [0.11, 0.13], "high_line": [0.15, 0.17], "source": ["", ""]})).under
    'the lines of their species (11 or 13 %)'
    """
    low, high = float(lines["low_line"].mean()), float(lines["high_line"].mean())
    if len(lines[["low_line", "high_line"]].drop_duplicates()) > 1:
        ends = [" or ".join(f"{100 * one:.0f}" for one in sorted(lines[end].unique())) for end in lines.columns[:2]]
        under, over = (f"the lines of their species ({end} %)" for end in ends)
        return Lines(low, high, under, over, "the lines of their species")
    sources = "; ".join(source for source in lines["source"].unique() if source)
    said = f" ({sources})" if sources else ""
    return Lines(low, high, percent(low) + said, percent(high) + said, f"{100 * low:.0f}–{100 * high:.0f} %{said}")


def lines_words(lines: pd.DataFrame) -> str:
    """The lines of each species in one sentence; the columns of `lines_of`, with species; blank where there is none."""
    by = lines.groupby(["low_line", "high_line", "source"], sort=False)["species"]
    said = [
        f"{listed(dict.fromkeys(name or 'no species written' for name in names))} "
        f"{lines_of(lines.loc[names.index]).between}"
        for _, names in by
    ]
    return f"Guide lines at pipping: {'; '.join(said)}." if said else ""
