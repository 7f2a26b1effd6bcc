"""Weighed chicks that were lost: whether their weights had warned, beside their kind or else their nest mates."""

import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.findings.beside_kind import ENOUGH, GUESSED, NO_CURVE, below_said
from analysis.findings.growing import Growth
from analysis.growth import trade_alarms
from analysis.growth.flags.judge import LIGHT
from analysis.growth.flags.log import SURE_D
from analysis.growth.trade_rule import READINGS
from analysis.season import ages_lost

WARNINGS = ("stall", "weigh again", "light for age", "unusual shape", "fall", "small for age")
WARNED_D = 7  # what lay longer before a loss was no warning of it (practice)
_DROP, _TWICE, _OVER_TWO_DAYS = READINGS
_CALLED = {_DROP: found("overview.any-drop"), _TWICE: found("overview.no-gain-twice")}
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


def in_all(lost: pd.DataFrame, about: Words = "") -> Finding:
    """Say how many of the lost had been flagged in time; `lost` from `lost_chicks`."""
    warned = lost[lost["age_d"].notna()]
    if warned.empty:
        return found("overview.lost-none-flagged", about=about, n=len(lost))
    chicks = [found("overview.flagged-then-lost", **one) for one in warned.drop(columns="flag").to_dict("records")]
    return found("overview.lost-some-flagged", about=about, n=len(lost), flagged=len(warned), chicks=chicks)


def lost_said(growth: Growth) -> list[Finding]:
    """Return what the weights say of the chicks that were lost: in all, then each that was not flagged before."""
    lost = lost_chicks(growth)
    if lost.empty:
        return []
    events = set(growth.season.losses.loc[growth.season.losses["event"] != "", "chick"])
    told, rest = [in_all(lost, found("overview.lost-and-seen"))], []
    for chick, lost_d in lost.loc[lost["age_d"].isna(), ["chick", "lost_d"]].itertuples(index=False):
        seen = None if chick in events else _unseen(growth, str(chick), float(lost_d))
        if seen:
            told.append(found("overview.lost-on-day", about=str(chick), day=lost_d, seen=seen))
        else:
            rest.append(str(chick))
    if rest:
        told.append(found("overview.lost-unseen", about=found("overview.not-flagged-before"), chicks=rest))
    return told


def _unseen(growth: Growth, chick: str, lost_d: float) -> Finding | None:
    """What the weights say of one that was not flagged; None where they are too few."""
    one = growth.places.loc[chick]
    if one["code"] == NO_CURVE:
        return _without_curve(growth, chick, lost_d)
    if one["below"]:
        return found("overview.unflagged-below", below=below_said(one))
    if one["n"] < ENOUGH:
        return None
    guessed = one["code"] == GUESSED
    return found("overview.no-sign-age-guessed" if guessed else "overview.no-sign", n=int(one["n"]))


def _without_curve(growth: Growth, chick: str, lost_d: float) -> Finding | None:
    """The same of a kind without a curve: beside the nest mates, else by the trade's own rule."""
    beside, n = beside_mates(growth, chick, lost_d), int(growth.places.loc[chick, "n"])
    if len(beside) and beside["share"].tail(_LAST).median() <= LIGHT - 1:
        last = beside.iloc[-1]
        codes = ("overview.mate-weighed", *["overview.mate"] * len(last["mates"]))
        mates = [
            found(code, mate=mate, mass=mass_g) for code, (mate, mass_g) in zip(codes, last["mates"], strict=False)
        ]
        return found("overview.light-beside-mates", mass=last["mass_g"], age_d=last["age_d"], mates=mates)
    called = trade_alarms(growth.weights[growth.weights["chick"] == chick], until=growth.watch.peaks)
    called = called[(called["reading"] != _OVER_TWO_DAYS) & (lost_d - called["age_d"]).between(0, WARNED_D)]
    if len(called):
        readings = [_CALLED[reading] for reading in called["reading"].unique()]
        return found("overview.rule-would-have-called", age_d=called["age_d"].min(), readings=readings)
    if n < ENOUGH:
        return None
    return found("overview.no-sign-beside-mates", n=n) if len(beside) else found("overview.weighings-cannot-tell")


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
