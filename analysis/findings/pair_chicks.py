"""The chicks of a pair this season, and what is not known of the pair, in sentences."""

import pandas as pd

from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.names import by_name
from analysis.review.reasons import not_joined
from analysis.say import in_words
from analysis.words import count_words, listed


def chicks_of(pages: PairPages, pair: str) -> pd.DataFrame:
    """Return this season's chicks that a pair laid or reared: the rows of `season.chicks`."""
    chicks = pages.season.chicks
    return chicks[(chicks[["pair", "reared_by"]] == pair).any(axis=1)]


def chick_notes(chicks: pd.DataFrame, pair: str) -> dict[str, str]:
    """Return a few words on each chick: who reared or laid it where it was not the pair, and what became of it."""
    found = {}
    for chick in chicks.to_dict("records"):
        by = "" if chick["reared_by"] == pair else f"by {chick['reared_by']}" if chick["reared_by"] else ""
        from_ = "" if chick["pair"] == pair else f"laid by {chick['pair']}" if chick["pair"] else "laid elsewhere"
        fate = "" if chick["fate"] == "being reared" else str(chick["fate"])
        found[str(chick["chick"])] = ", ".join(part for part in (from_, by, fate) if part)
    return found


def chicks_said(pages: PairPages, pair: str) -> list[str]:
    """Return what became of the chicks a pair laid or reared, and how heavy they are, in sentences."""
    pair = pair_named(pages.season, pair)
    chicks = chicks_of(pages, pair)
    if chicks.empty:
        return []
    fates = [
        f"{len(names)} {fate} ({listed(by_name(names), most=12)})"
        for fate, names in ((fate, chicks.loc[chicks["fate"] == fate, "chick"]) for fate in _FATES)
        if len(names)
    ]
    own = "" if (chicks["pair"] == pair).all() else ", its own and others'"
    said = [f"{count_words(len(chicks), 'chick')} this season{own}: {listed(fates)}."]
    unweighed = by_name(set(chicks["chick"]) - set(pages.growth.weights["chick"]))
    if unweighed and len(unweighed) < len(chicks):
        said.append(f"No weights of {listed(unweighed)} could be used.")
    if pair in pages.weights_said:
        said.append(f"Weights of {pages.weights_said[pair]}")
    return said


_FATES = ("weaned", "being reared", "left", "lost")


def not_known(pages: PairPages, pair: str) -> list[str]:
    """Return what is not known of a pair, in sentences; that nobody examined it stands last, always."""
    pair = pair_named(pages.season, pair)
    about = about_pair(pages, pair)
    blank = [bird for bird in ("cock", "hen") if not about[bird]]
    said = []
    if about["kind"] == "pair" and blank:
        said.append(f"Which bird the {' or the '.join(blank)} is.")
    if about["kind"] != "pair":
        said.append(f"Which bird of this {about['kind']} laid, and which is whose parent.")
    if pd.isna(about["put_up_on"]):
        said.append("Since when they are together.")
    return [
        *said,
        *_eggs_open(pages, pair),
        *_chicks_open(pages, pair),
        *map(in_words, not_joined(pages.judged.record, pair)),
        _HEALTH,
    ]


_HEALTH = "Whether its birds are well: that is for an avian veterinarian, not for these numbers."


def _eggs_open(pages: PairPages, pair: str) -> list[str]:
    eggs = pages.season.eggs[pages.season.eggs["pair"] == pair]
    unknown = int((eggs["fertile"] == "unknown").sum())
    open_ = int(eggs["outcome"].isin(["unknown", ""]).sum())
    clear = int((eggs["fertile"] == "no").sum())
    of = count_words(len(eggs), "egg")
    return [
        *([f"Whether {unknown} of {of} of this season showed fertile."] if unknown else []),
        *([f"What became of {open_} of {of} of this season."] if open_ else []),
        *(["Why eggs were clear: clear is not the same as infertile."] if clear else []),
    ]


def _chicks_open(pages: PairPages, pair: str) -> list[str]:
    chicks = chicks_of(pages, pair)
    weighed = chicks["chick"].isin(pages.growth.weights["chick"])
    said = []
    if len(chicks) and not weighed.any():
        said.append("How its chicks grew: no weights of them could be used.")
    unclear = pages.season.losses[pages.season.losses["chick"].isin(chicks["chick"])]
    unclear = unclear[unclear["cause_group"].isin(["not known", ""])]
    if len(unclear):
        said.append(f"Why {listed(by_name(unclear['chick']))} {'was' if len(unclear) == 1 else 'were'} lost.")
    return said
