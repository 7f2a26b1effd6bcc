"""Weighed chicks that were lost: whether their weights had warned, beside their kind or else their nest mates."""

import pandas as pd

from analysis.findings.beside_kind import ENOUGH, GUESSED, NO_CURVE, below_said
from analysis.findings.growing import Growth
from analysis.findings.overview import Item
from analysis.growth import trade_alarms
from analysis.growth.flags.judge import LIGHT
from analysis.growth.flags.log import SURE_D
from analysis.say import in_words
from analysis.season import ages_lost
from analysis.words import count_words, grams, listed

WARNINGS = ("stall", "weigh again", "light for age", "unusual shape", "fall", "small for age")
WARNED_D = 7  # what lay longer before a loss was no warning of it (practice)
_LAST = 3  # weighings beside nest mates by which a chick was light: a single one may be mistaken (ours)


def lost_chicks(growth: Growth) -> pd.DataFrame:
    """Each weighed chick that was lost: chick, lost_d, and age and kind of the first flag a day before or earlier."""
    lost = ages_lost(growth.season)
    lost = lost[lost["chick"].isin(growth.weights["chick"])]
    table = lost[["chick", "age_d"]].set_axis(["chick", "lost_d"], axis=1).reset_index(drop=True)
    warned = growth.raised[growth.raised["flag"].isin(WARNINGS)].merge(table, on="chick")
    # A slip of the pen is no warning, nor is what lay a week and more before.
    warned = warned[~warned.set_index(["chick", "age_d"]).index.isin(_mistaken(growth))]
    before = warned[(warned["lost_d"] - warned["age_d"]).between(1, WARNED_D)].sort_values("age_d", kind="stable")
    first = before.groupby("chick")[["age_d", "flag"]].first()
    return table.join(first, on="chick")


def in_all(lost: pd.DataFrame) -> str:
    """Say how many of the lost had been flagged in time; `lost` from `lost_chicks`."""
    warned = lost[lost["age_d"].notna()]
    chicks = count_words(len(lost), "weighed chick was lost", "weighed chicks were lost")
    if not len(warned):
        return f"{chicks}; none of them had been flagged by its weights a day before."
    names = listed(f"{one.chick} (day {one.age_d:.0f}, lost on day {one.lost_d:.0f})" for one in warned.itertuples())
    return f"{chicks}; {len(warned)} had been flagged by weight at least a day before: {names}."


def lost_said(growth: Growth) -> list[Item]:
    """Return what the weights say of the chicks that were lost: in all, then each that was not flagged before."""
    lost = lost_chicks(growth)
    if lost.empty:
        return []
    events = growth.season.losses.loc[growth.season.losses["event"] != "", "chick"]
    found, rest = [("Lost, and seen in time", in_all(lost))], []
    for chick in lost[lost["age_d"].isna()].itertuples():
        said = "" if chick.chick in set(events) else _unseen(growth, str(chick.chick), float(str(chick.lost_d)))
        if said:
            found.append((str(chick.chick), f"Lost on day {chick.lost_d:.0f}; {said}"))
        else:
            rest.append(str(chick.chick))
    if rest:
        together = "lost together with others, or weighed too few times to tell."
        found.append(("Not flagged before", f"{listed(rest)}: {together}"))
    return found


def _unseen(growth: Growth, chick: str, lost_d: float) -> str:
    """What the weights say of one that was not flagged; "" where they are too few."""
    one = growth.places.loc[chick]
    if one["code"] == NO_CURVE:
        return _without_curve(growth, chick, lost_d)
    if one["below"]:
        return f"not flagged before, but {in_words(below_said(one))}"
    if one["n"] < ENOUGH:
        return ""
    no_sign = f"not flagged before: its {one['n']} weighings gave no sign of it"
    guessed = " in what it gained; its age is a guess, so nobody can say whether it was light for it"
    return f"{no_sign}{guessed if one['code'] == GUESSED else ''}."


def _without_curve(growth: Growth, chick: str, lost_d: float) -> str:
    """The same of a kind without a curve: beside the nest mates, else by the trade's own rule."""
    beside, n = beside_mates(growth, chick, lost_d), int(growth.places.loc[chick, "n"])
    if len(beside) and beside["share"].tail(_LAST).median() <= LIGHT - 1:
        last = beside.iloc[-1]
        mates = [f"{mate} {'weighed ' * (at == 0)}{grams(mass_g)} g" for at, (mate, mass_g) in enumerate(last["mates"])]
        where = f"{grams(last['mass_g'])} g on day {last['age_d']:.0f}, where {listed(mates, most=4)} at that age"
        return f"light beside its nest mates: {where}."
    called = trade_alarms(growth.weights[growth.weights["chick"] == chick], until=growth.watch.peaks)
    called = called[(called["reading"] != "no gain over two days") & (lost_d - called["age_d"]).between(0, WARNED_D)]
    if len(called):
        rule = f"the trade's own rule would have called on day {called['age_d'].min():.0f}"
        return f"not flagged before, but {rule}: {listed(called['reading'].unique())}."
    if n < ENOUGH:
        return ""
    if len(beside):
        return f"not flagged before: beside its nest mates its {n} weighings gave no sign of it."
    return "its weighings cannot tell: its kind has no curve yet, and no nest mate was weighed at its age."


def beside_mates(growth: Growth, chick: str, lost_d: float) -> pd.DataFrame:
    """A chick's weighings of the week before it was lost beside those of its nest mates at the same day of age.

    Nest mates: of its pair and clutch, and reared as it was; ages that are guessed and mistaken weights are left out.

    Returns
    -------
    frame, a row a weighing with nest mates, by age: age_d, mass_g, share (beside the middle nest mate; below 0 where
    lighter), mates: name and gram of each
    """
    weights = growth.weights[~(growth.weights["sure_to_days"] > SURE_D)]
    weights = weights[~weights.set_index(["chick", "age_d"]).index.isin(_mistaken(growth))]
    own = weights[weights["chick"] == chick].sort_values("age_d", kind="stable")
    own = own[(lost_d - own["age_d"]).between(0, WARNED_D)]
    rows = []
    for one in own.itertuples():
        brood = (weights["pair"] == one.pair) & (weights["clutch"] == one.clutch) & (weights["kind"] == one.kind)
        alike = weights[
            brood & (weights["chick"] != chick) & (weights["age_d"].round() == round(float(str(one.age_d))))
        ]
        mates = alike.groupby("chick", sort=True)["mass_g"].first()
        if len(mates):
            share = float(str(one.mass_g)) / mates.median() - 1
            rows.append((one.age_d, one.mass_g, share, tuple(mates.items())))
    return pd.DataFrame(rows, columns=["age_d", "mass_g", "share", "mates"])


def _mistaken(growth: Growth) -> pd.MultiIndex:
    """Weighings that look mistaken, by chick and age."""
    slips = growth.flags.loc[growth.flags["flag"].isin(("slip", "swapped")), ["chick", "age_d"]]
    return pd.MultiIndex.from_frame(slips)
