"""Where the eggs of a season went, from laid to weaned."""

from typing import Any

import pandas as pd

from analysis.finding import Words, found
from analysis.names import FATES, GONE
from analysis.rates.parts import counted, parts

_FERTILE_GONE = tuple(f"fertile_{what}" for what in GONE)
_GONE = {"broken": "rates.broken", "missing": "rates.missing", "abandoned": "rates.abandoned"}


def egg_path(counts: pd.DataFrame, chicks: pd.DataFrame) -> pd.DataFrame:
    """All eggs laid, and how many came to each stage, were lost on the way there, or are open.

    Nothing is left over: at every stage the eggs of the stage before are those that came on, those
    that were lost and those that are open::

        laid           = showed fertile + (clear + broken, missing, abandoned) + (still incubating + not known)
        showed fertile = hatched + (died in the egg + broken, missing, abandoned) + (still incubating + not known)
        hatched        = weaned + lost + (being reared + left + not followed)

    Parameters
    ----------
    counts : frame
        From `clutch_counts`: pair, clutch, eggs, clear, died_in_egg, gone, hatched, fertile,
        fertile_ended, fertile_incubating, undecided_incubating. What is NA there is not known here;
        a clutch whose eggs nobody counted is not in it. With broken, missing and abandoned of those gone, and
        of those that showed fertile (fertile_broken, ...), where they are known; 0 where the columns are not there.
    chicks : frame
        A row a chick: pair, clutch, fate ("weaned", "lost", "left", "being reared"). Only chicks whose
        clutch is in `counts` can be followed from the egg: those bought in, and those whose eggs nobody
        wrote down, are not in it. Where a clutch has more chicks than eggs hatched, one of the logs is
        wrong: its hatched eggs stay "not followed".

    Returns
    -------
    frame, a row a stage ("Laid", "Showed fertile", "Hatched", "Weaned")
        stage, count (came so far), lost_here, lost_text ("17 clear, 2 broken"), open_here,
        open_text ("3 still incubating"), note (what is not in the picture). The stage and the three are findings,
        the three blank where there is nothing.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> counts = pd.DataFrame({
    ...     "pair": ["P01"], "clutch": ["1"], "eggs": [6], "clear": [1], "died_in_egg": [1], "gone": [0],
    ...     "hatched": [3], "fertile": [5], "fertile_ended": [4], "fertile_incubating": [1],
    ...     "undecided_incubating": [0],
    ... })
    >>> chicks = pd.DataFrame({"pair": "P01", "clutch": "1", "fate": ["weaned", "weaned", "lost"]})
    >>> for row in egg_path(counts, chicks).itertuples():
    ...     print([in_words(row.stage), row.count, in_words(row.lost_text), in_words(row.open_text)])
    ['Laid', 6, '', '']
    ['Showed fertile', 5, '1 clear', '']
    ['Hatched', 3, '1 died in the egg', '1 still incubating']
    ['Weaned', 2, '1 lost', '']
    """
    counts = counts[counts["eggs"].notna()]
    counts = counts.assign(**{name: 0 for name in (*GONE, *_FERTILE_GONE) if name not in counts})
    eggs = counts.select_dtypes("number").fillna(0).sum().astype(int)
    fates, outside = _followed(counts, chicks)
    unknown = int((counts["fertile"] - counts["fertile_ended"] - counts["fertile_incubating"]).fillna(0).sum())
    ended = eggs[["hatched", "died_in_egg", *_FERTILE_GONE]].sum()
    fertile = int(ended + eggs["fertile_incubating"] + unknown)
    of_no_kind = eggs["gone"] - eggs[list(GONE)].sum()  # of clutches that were counted: broken, or missing, or left
    undecided = int(eggs["eggs"] - fertile - eggs[["clear", "gone", "undecided_incubating"]].sum())
    rows = [
        _stage("rates.stage-laid", eggs["eggs"], {}, {}),
        _stage(
            "rates.stage-fertile",
            fertile,
            {
                "rates.clear": eggs["clear"],
                **_gone(eggs),
                "rates.broken-or-gone": of_no_kind,
            },
            {"rates.still-incubating": eggs["undecided_incubating"], "rates.not-known": undecided},
        ),
        _stage(
            "rates.stage-hatched",
            eggs["hatched"],
            {"rates.died-in-egg": eggs["died_in_egg"], **_gone(eggs, "fertile_")},
            {"rates.still-incubating": eggs["fertile_incubating"], "rates.not-known": unknown},
        ),
        _stage(
            "rates.stage-weaned",
            fates["weaned"],
            {"rates.lost": fates["lost"]},
            {
                "rates.being-reared": fates["being reared"],
                "rates.left": fates["left"],
                "rates.not-followed": eggs["hatched"] - fates.sum(),
            },
        ),
    ]
    return pd.DataFrame(rows).assign(note=["", "", "", outside])


def _stage(stage: str, count: Any, lost: dict[str, Any], waits: dict[str, Any]) -> dict[str, Any]:
    """One row of the path."""
    return {
        "stage": found(stage),
        "count": int(count),
        "lost_here": int(sum(lost.values())),
        "lost_text": parts(lost),
        "open_here": int(sum(waits.values())),
        "open_text": parts(waits),
    }


def _gone(eggs: pd.Series, before: str = "") -> dict[str, int]:
    """Eggs gone, by the code of how."""
    return {code: eggs[f"{before}{what}"] for what, code in _GONE.items()}


def _followed(counts: pd.DataFrame, chicks: pd.DataFrame) -> tuple[pd.Series, Words]:
    """Fates of the chicks that can be followed from their egg, and what is to be said of the others."""
    clutch = ["pair", "clutch"]
    counts, linked = (frame[_written(frame)].astype(dict.fromkeys(clutch, str)) for frame in (counts, chicks))
    hatched = counts.groupby(clutch, as_index=False)["hatched"].sum()
    named = linked[[*clutch, "fate"]].merge(hatched, on=clutch)
    agrees = (named.groupby(clutch)["fate"].transform("size") <= named["hatched"]).astype(bool)
    fates = named.loc[agrees, "fate"].value_counts().reindex(FATES, fill_value=0)
    outside, against = len(chicks) - len(named), int((~agrees).sum())
    told = counted({"rates.without-eggs": outside, "rates.too-many": against})
    return fates, found("rates.outside", parts=told) if told else ""


def _written(frame: pd.DataFrame) -> pd.Series:
    """Rows whose pair and clutch are both written."""
    return (frame["pair"].notna() & (frame["pair"] != "")) & (frame["clutch"].notna() & (frame["clutch"] != ""))
