"""How far the eggs of each clutch came, counted from the eggs or from a count of them, and the way of all eggs."""

from typing import Any

import pandas as pd

from analysis.finding import Words, found
from analysis.names import DIED_IN_EGG, FATES, GONE, by_name, name_key, named
from analysis.rates.stages import counted, parts

_OPEN = ("still incubating", "unknown")  # outcomes that are no outcome yet
_CREDITED = ["cage", "species", "incubated_by"]
_NUMBERS = [
    *("eggs", "incubating", "ended", "fertile_known", "fertile", "fertile_ended", "hatched"),
    *("clear", "died_in_egg", "gone", "fertile_incubating", "undecided_incubating"),
    *GONE,
    *(f"fertile_{outcome}" for outcome in GONE),
]
_GONE = {"broken": "rates.broken", "missing": "rates.missing", "abandoned": "rates.abandoned"}
_FERTILE_GONE = tuple(f"fertile_{what}" for what in GONE)


def clutch_counts(eggs: pd.DataFrame, clutches: pd.DataFrame, *, parts: bool = False) -> pd.DataFrame:
    """How far the eggs of each clutch came.

    A clutch that has a row in `clutches` is counted from there, any other from its eggs. There fertile = hatched +
    died_in_egg, fertile_known = fertile + clear, and what is broken or gone is of unknown fertility. A blank is
    unknown, never none: what it enters is NA, unless the parts that are written come to all the eggs. Where hatched is
    written and another part is not, the eggs that did not hatch are taken to be in that part, so all have ended; where
    every part is written and eggs are left over, those are of unknown outcome. Parts that come to more than the eggs
    contradict themselves: all of them are NA.

    `eggs` has a row an egg: pair, clutch, cage, species, incubated_by; fertile ("yes", "no", "unknown"); outcome
    ("hatched", "clear", what `DIED_IN_EGG` and `GONE` list, "still incubating", "unknown"). `clutches` has a row a
    clutch: pair, clutch, cage, species, incubated_by, eggs, clear, died_in_egg, broken_or_gone, hatched (may be NA).

    `parts` False: a row a clutch; where its eggs were in two cages or under two, both are named ("P01 + incubator").
    True: a row for each part of such a clutch, so that each who incubated is credited with its own eggs.

    Returns, by pair and clutch, with counts that are Int64 and NA where unknown: pair, clutch, cage, species,
    incubated_by; eggs (laid), incubating (still), ended (the outcome is known); fertile_known, fertile (showed
    fertile), fertile_ended (with known outcome), hatched; clear, died_in_egg, gone (ended, fertility unknown),
    fertile_incubating, undecided_incubating (of unknown fertility); broken, missing, abandoned (of those gone; 0 where
    a clutch was only counted), and the same with fertile_ before it (neither hatched nor died in the egg).
    """
    if len(clutches):
        written = pd.MultiIndex.from_frame(clutches[["pair", "clutch"]])
        eggs = eggs[~pd.MultiIndex.from_frame(eggs[["pair", "clutch"]]).isin(written)]
    counted = [_from_eggs(eggs, parts), _from_counts(clutches)]
    counts = pd.concat([frame for frame in counted if len(frame)] or counted[:1], ignore_index=True)
    names = zip(named(counts["pair"]), named(counts["clutch"]), strict=True)
    keys = [(name_key(str(pair)), name_key(str(clutch))) for pair, clutch in names]
    return counts.iloc[sorted(range(len(keys)), key=keys.__getitem__)].reset_index(drop=True)


def _from_eggs(eggs: pd.DataFrame, parts: bool) -> pd.DataFrame:
    """Counts of the clutches whose eggs are written one by one."""
    columns = ["pair", "clutch", *_CREDITED, *_NUMBERS]
    if eggs.empty:
        return pd.DataFrame(columns=columns).astype(dict.fromkeys(_NUMBERS, "Int64"))
    hatched, incubating = eggs["outcome"] == "hatched", eggs["outcome"] == "still incubating"
    ended = ~eggs["outcome"].isin(_OPEN)
    fertile = (eggs["fertile"] == "yes") | hatched  # what hatched was fertile, whatever the candling said
    clear = (eggs["fertile"] == "no") & ~hatched
    counted_as = pd.DataFrame(
        {
            "eggs": True,
            "incubating": incubating,
            "ended": ended,
            "fertile_known": fertile | clear,
            "fertile": fertile,
            "fertile_ended": fertile & ended,
            "hatched": hatched,
            "clear": clear,
            "died_in_egg": fertile & eggs["outcome"].isin(DIED_IN_EGG),
            "gone": ended & ~fertile & ~clear,
            "fertile_incubating": fertile & incubating,
            "undecided_incubating": incubating & ~fertile & ~clear,
            **{what: (eggs["outcome"] == what) & ~fertile & ~clear for what in GONE},
            **{f"fertile_{what}": (eggs["outcome"] == what) & fertile for what in GONE},
        }
    ).astype("Int64")
    keys = ["pair", "clutch", *(_CREDITED if parts else [])]
    groups = pd.concat([eggs[["pair", "clutch", *_CREDITED]], counted_as], axis=1).groupby(keys, dropna=False)
    counts = groups[_NUMBERS].sum()
    if not parts:
        names = groups[_CREDITED].agg(
            lambda of: " + ".join(by_name(name for name in of.dropna().unique() if name)) or None
        )
        counts = names.join(counts)
    return counts.reset_index()[columns]


def _from_counts(clutches: pd.DataFrame) -> pd.DataFrame:
    """Counts of the clutches whose eggs are counted and not numbered."""
    if clutches.empty:
        return pd.DataFrame()
    eggs = clutches["eggs"].astype("Int64")
    written = clutches[["clear", "died_in_egg", "broken_or_gone", "hatched"]].astype("Int64")
    sum_of_all = written.sum(axis=1)
    written = written.mask((sum_of_all > eggs).fillna(False))
    all_told = (sum_of_all == eggs).fillna(False)  # so none is left for what is blank
    written = written.mask(written.isna().mul(all_told, axis=0), 0)
    clear, died, gone, hatched = (written[name] for name in written)
    ended = eggs.where(hatched.notna()).mask(written.notna().all(axis=1), sum_of_all)
    counts = clutches[["pair", "clutch", *_CREDITED]].assign(
        eggs=eggs,
        incubating=ended.where(ended.isna(), 0),  # the sheet has no place for eggs still incubating
        ended=ended,
        fertile_known=hatched + died + clear,
        fertile=hatched + died,
        fertile_ended=hatched + died,
        hatched=hatched,
        clear=clear,
        died_in_egg=died,
        gone=gone,
        fertile_incubating=0,
        undecided_incubating=0,
        **{name: 0 for what in GONE for name in (what, f"fertile_{what}")},
    )
    return counts.astype(dict.fromkeys(_NUMBERS, "Int64"))


def egg_path(counts: pd.DataFrame, chicks: pd.DataFrame) -> pd.DataFrame:
    """All eggs laid, and how many came to each stage, were lost on the way there, or are open.

    Nothing is left over: at every stage the eggs of the stage before are those that came on, those
    that were lost and those that are open::

        laid           = showed fertile + (clear + broken, missing, abandoned) + (still incubating + not known)
        showed fertile = hatched + (died in the egg + broken, missing, abandoned) + (still incubating + not known)
        hatched        = weaned + lost + (being reared + left + not followed)

    `counts` is from `clutch_counts`; broken, missing and abandoned (also with fertile_ before it) are 0 where it has no
    such columns; a clutch whose eggs nobody counted is not in it. `chicks` has a row a chick: pair, clutch, fate. Only
    chicks whose clutch is in `counts` can be followed from the egg. Where a clutch has more chicks than eggs hatched,
    one of the logs is wrong: its hatched eggs stay "not followed".

    Returns a row a stage ("Laid", "Showed fertile", "Hatched", "Weaned"): stage, count (came so far), lost_here,
    lost_text ("17 clear, 2 broken"), open_here, open_text ("3 still incubating"), note (what is not in the picture).
    The stage and the three are findings, the three blank where there is nothing.
    """
    counts = counts[counts["eggs"].notna()]
    counts = counts.assign(**{name: 0 for name in (*GONE, *_FERTILE_GONE) if name not in counts})
    eggs = counts.select_dtypes("number").fillna(0).sum().astype(int)
    fates, outside = _fates_of_eggs(counts, chicks)
    unknown = int((counts["fertile"] - counts["fertile_ended"] - counts["fertile_incubating"]).fillna(0).sum())
    ended = eggs[["hatched", "died_in_egg", *_FERTILE_GONE]].sum()
    fertile = int(ended + eggs["fertile_incubating"] + unknown)
    of_no_kind = eggs["gone"] - eggs[list(GONE)].sum()  # of clutches that were counted: broken, or missing, or left
    undecided = int(eggs["eggs"] - fertile - eggs[["clear", "gone", "undecided_incubating"]].sum())
    gone, fertile_gone = ({code: eggs[f"{of}{what}"] for what, code in _GONE.items()} for of in ("", "fertile_"))
    rows = [
        _stage("rates.stage-laid", eggs["eggs"], {}, {}),
        _stage(
            "rates.stage-fertile",
            fertile,
            {"rates.clear": eggs["clear"], **gone, "rates.broken-or-gone": of_no_kind},
            {"rates.still-incubating": eggs["undecided_incubating"], "rates.not-known": undecided},
        ),
        _stage(
            "rates.stage-hatched",
            eggs["hatched"],
            {"rates.died-in-egg": eggs["died_in_egg"], **fertile_gone},
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


def _fates_of_eggs(counts: pd.DataFrame, chicks: pd.DataFrame) -> tuple[pd.Series, Words]:
    """Fates of the chicks that can be followed from their egg, and what is to be said of the others."""
    clutch = ["pair", "clutch"]
    written = (frame[(frame[clutch].notna() & (frame[clutch] != "")).all(axis=1)] for frame in (counts, chicks))
    counts, linked = (frame.astype(dict.fromkeys(clutch, str)) for frame in written)
    hatched = counts.groupby(clutch, as_index=False)["hatched"].sum()
    named = linked[[*clutch, "fate"]].merge(hatched, on=clutch)
    agrees = (named.groupby(clutch)["fate"].transform("size") <= named["hatched"]).astype(bool)
    fates = named.loc[agrees, "fate"].value_counts().reindex(FATES, fill_value=0)
    outside, against = len(chicks) - len(named), int((~agrees).sum())
    others = counted({"rates.without-eggs": outside, "rates.too-many": against})
    return fates, found("rates.outside", parts=others) if others else ""
