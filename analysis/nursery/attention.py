"""What needs attention, on page 1, on the screen and on the command line: one list, and the round's first."""

from analysis.finding import Finding
from analysis.findings import Judging
from analysis.findings import attention as attention_of
from analysis.nursery.eggs_said import water_asks
from analysis.nursery.round import Round


def attention(today: Round, judged: Judging) -> list[Finding]:
    """Return all that needs attention, the most pressing first.

    Parameters
    ----------
    today : the round of the day: whoever is read of first there stands first here
    judged : the pairs of its season

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.findings import judging
    >>> from analysis.nursery import round_of
    >>> season = open_season("data_demo/season_2026", up_to="2026-05-20")
    >>> [read.about for read in attention(round_of(season), judging(season))[:2]]
    ['K23', 'K22']
    """
    return attention_of(today.growth, judged, today.reads, water_asks(today.eggs))
