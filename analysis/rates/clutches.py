"""How far the eggs of each clutch came, counted from the eggs or from a count of them."""

import pandas as pd

from analysis.names import DIED_IN_EGG, GONE, by_name, name_key, named

OPEN = ("still incubating", "unknown")  # outcomes that are no outcome yet
CREDITED = ["cage", "species", "incubated_by"]
NUMBERS = [
    *("eggs", "incubating", "ended", "fertile_known", "fertile", "fertile_ended", "hatched"),
    *("clear", "died_in_egg", "gone", "fertile_incubating", "undecided_incubating"),
    *GONE,
    *(f"fertile_{outcome}" for outcome in GONE),
]


def clutch_counts(eggs: pd.DataFrame, clutches: pd.DataFrame, *, parts: bool = False) -> pd.DataFrame:
    """How far the eggs of each clutch came.

    A clutch that has a row in `clutches` is counted from there, any other from its eggs. There
    fertile = hatched + died_in_egg, fertile_known = fertile + clear, and what is broken or gone is
    of unknown fertility. A blank is unknown, never none: what it enters is NA, unless the parts that
    are written come to all the eggs. Where hatched is written and another part is not, the eggs that
    did not hatch are taken to be in that part, so all have ended; where every part is written and eggs
    are left over, those are of unknown outcome. Parts that come to more than the eggs contradict
    themselves: all of them are NA.

    Parameters
    ----------
    eggs : frame
        A row an egg: pair, clutch, cage, species, incubated_by; fertile ("yes", "no", "unknown");
        outcome ("hatched", "clear", "early death", "late death", "dead in shell", "pipped and died",
        "broken", "missing", "abandoned", "still incubating", "unknown").
    clutches : frame
        A row a clutch: pair, clutch, cage, species, incubated_by, eggs, clear, died_in_egg,
        broken_or_gone, hatched. May have no rows; numbers may be NA.
    parts : bool
        False: a row a clutch; where its eggs were in two cages or under two, both are named
        ("P01 + incubator"). True: a row for each part of such a clutch, so that each who incubated
        is credited with its own eggs.

    Returns
    -------
    frame, a row a clutch, by pair and clutch; numbers are Int64, NA where unknown
        pair, clutch, cage, species, incubated_by;
        eggs (laid), incubating (still), ended (the outcome is known);
        fertile_known (the answer is known), fertile (showed fertile), fertile_ended (of these, the
        outcome is known), hatched;
        clear, died_in_egg, gone (ended, fertility unknown), fertile_incubating,
        undecided_incubating (still incubating, fertility unknown);
        broken, missing, abandoned (of those gone; 0 where a clutch was only counted), and the same with
        fertile_ before it (showed fertile, and neither hatched nor died in the egg).

    Examples
    --------
    >>> egg = {"pair": "P01", "clutch": "1", "cage": "C1", "species": "cockatiel", "incubated_by": "P01"}
    >>> eggs = pd.DataFrame([
    ...     egg | {"fertile": "yes", "outcome": "hatched"},
    ...     egg | {"fertile": "no", "outcome": "clear"},
    ...     egg | {"fertile": "unknown", "outcome": "broken"},
    ... ])
    >>> counts = clutch_counts(eggs, pd.DataFrame())
    >>> counts.loc[0, ["eggs", "ended", "fertile_known", "fertile", "hatched"]].tolist()
    [3, 3, 2, 1, 1]
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
    columns = ["pair", "clutch", *CREDITED, *NUMBERS]
    if eggs.empty:
        return pd.DataFrame(columns=columns).astype(dict.fromkeys(NUMBERS, "Int64"))
    hatched, incubating = eggs["outcome"] == "hatched", eggs["outcome"] == "still incubating"
    ended = ~eggs["outcome"].isin(OPEN)
    fertile = (eggs["fertile"] == "yes") | hatched  # what hatched was fertile, whatever the candling said
    clear = (eggs["fertile"] == "no") & ~hatched
    told = pd.DataFrame(
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
    keys = ["pair", "clutch", *(CREDITED if parts else [])]
    groups = pd.concat([eggs[["pair", "clutch", *CREDITED]], told], axis=1).groupby(keys, dropna=False)
    counts = groups[NUMBERS].sum()
    if not parts:
        counts = groups[CREDITED].agg(_together).join(counts)
    return counts.reset_index()[columns]


def _together(names: pd.Series) -> str | None:
    """The names written in a clutch, as one."""
    return " + ".join(by_name(name for name in names.dropna().unique() if name)) or None


def _from_counts(clutches: pd.DataFrame) -> pd.DataFrame:
    """Counts of the clutches whose eggs are counted and not numbered."""
    if clutches.empty:
        return pd.DataFrame()
    eggs = clutches["eggs"].astype("Int64")
    parts = clutches[["clear", "died_in_egg", "broken_or_gone", "hatched"]].astype("Int64")
    told = parts.sum(axis=1)
    parts = parts.mask((told > eggs).fillna(False))
    parts = parts.mask(parts.isna().mul((told == eggs).fillna(False), axis=0), 0)  # all eggs are told: none left
    clear, died, gone, hatched = (parts[name] for name in parts)
    ended = eggs.where(hatched.notna()).mask(parts.notna().all(axis=1), told)
    counts = clutches[["pair", "clutch", *CREDITED]].assign(
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
    return counts.astype(dict.fromkeys(NUMBERS, "Int64"))
