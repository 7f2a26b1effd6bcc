"""Weighed chicks that were lost: whether their weights had warned, beside their kind or else their nest mates."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from analysis.chicks.feeding import HATCHLING_D
from analysis.chicks.of_season import ENOUGH, GUESSED, NO_CURVE, Chicks, below_lower_line, first_of_day
from analysis.finding import LOOK, Finding, Words, found
from analysis.growth import trade_alarms
from analysis.growth.as_arrays import SURE_D
from analysis.growth.flags.judge import LIGHT
from analysis.growth.trade_rule import READINGS
from analysis.logs.headings import same
from analysis.season import ages_lost, chick_called, crop_words, is_good, sign_words

WARNINGS = ("stall", "weigh again", "light for age", "unusual shape", "fall", "small for age")
WARNED_D = 7  # what lay longer before a loss was no warning of it (practice)
RULES = ("by weight", "seen", "food left", "trade's rule")
_FLAGS: dict[str, Words] = {
    "stall": found("day.no-gain-or-loss"),
    "weigh again": found("day.far-off"),
    "fall": found("day.fall-before-weaning"),
}
_DROP, _TWICE, _OVER_TWO_DAYS = READINGS
_CALLED = {_DROP: found("overview.any-drop"), _TWICE: found("overview.no-gain-twice")}
_READINGS = {_DROP: found("day.any-drop"), _TWICE: found("day.no-gain-twice")}
_LAST = 3  # weighings beside nest mates by which a chick was light: a single one may be mistaken (ours)


def lost_chicks(growth: Chicks) -> pd.DataFrame:
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


def flagged_before_loss(lost: pd.DataFrame, about: Words = "") -> Finding:
    """Say how many of the lost had been flagged in time; `lost` from `lost_chicks`."""
    warned = lost[lost["age_d"].notna()]
    if warned.empty:
        return found("overview.lost-none-flagged", about=about, n=len(lost))
    chicks = [found("overview.flagged-then-lost", **one) for one in warned.drop(columns="flag").to_dict("records")]
    return found("overview.lost-some-flagged", about=about, n=len(lost), flagged=len(warned), chicks=chicks)


def losses_and_flags(growth: Chicks) -> list[Finding]:
    """Return what the weights say of the chicks that were lost: in all, then each that was not flagged before."""
    lost = lost_chicks(growth)
    if lost.empty:
        return []
    events = set(growth.season.losses.loc[growth.season.losses["event"] != "", "chick"])
    findings, rest = [flagged_before_loss(lost, found("overview.lost-and-seen"))], []
    for chick, lost_d in lost.loc[lost["age_d"].isna(), ["chick", "lost_d"]].itertuples(index=False):
        seen = None if chick in events else _unseen(growth, str(chick), float(lost_d))
        if seen:
            findings.append(found("overview.lost-on-day", about=str(chick), day=lost_d, seen=seen))
        else:
            rest.append(str(chick))
    if rest:
        findings.append(found("overview.lost-unseen", about=found("overview.not-flagged-before"), chicks=rest))
    return findings


def _unseen(growth: Chicks, chick: str, lost_d: float) -> Finding | None:
    """What the weights say of one that was not flagged; None where they are too few."""
    one = growth.places.loc[chick]
    if one["code"] == NO_CURVE:
        return _without_curve(growth, chick, lost_d)
    if one["below"]:
        return found("overview.unflagged-below", below=below_lower_line(one))
    if one["n"] < ENOUGH:
        return None
    guessed = one["code"] == GUESSED
    return found("overview.no-sign-age-guessed" if guessed else "overview.no-sign", n=int(one["n"]))


def _without_curve(growth: Chicks, chick: str, lost_d: float) -> Finding | None:
    """The same of a kind without a curve: beside the nest mates, else by the trade's own rule."""
    beside, n = _beside_mates(growth, chick, lost_d), int(growth.places.loc[chick, "n"])
    if len(beside) and beside["share"].tail(_LAST).median() <= LIGHT - 1:
        last = beside.iloc[-1]
        first, *others = last["mates"]
        mates = [found("overview.mate-weighed", mate=first[0], mass=first[1])]
        mates += [found("overview.mate", mate=mate, mass=mass_g) for mate, mass_g in others]
        return found("overview.light-beside-mates", mass=last["mass_g"], age_d=last["age_d"], mates=mates)
    called = trade_alarms(growth.weights[growth.weights["chick"] == chick], until=growth.watch.peaks)
    called = called[(called["reading"] != _OVER_TWO_DAYS) & (lost_d - called["age_d"]).between(0, WARNED_D)]
    if len(called):
        readings = [_CALLED[reading] for reading in called["reading"].unique()]
        return found("overview.rule-would-have-called", age_d=called["age_d"].min(), readings=readings)
    if n < ENOUGH:
        return None
    return found("overview.no-sign-beside-mates", n=n) if len(beside) else found("overview.weighings-cannot-tell")


def _beside_mates(growth: Chicks, chick: str, lost_d: float) -> pd.DataFrame:
    """The weighings of its last week beside nest mates of its age, reared as it was; no guessed age or mistaken weight.

    age_d, mass_g, share (beside the middle nest mate; below 0 where lighter), mates (name and gram of each).
    """
    weights = growth.weights[~(growth.weights["sure_to_days"] > SURE_D)]
    weights = weights[~weights.set_index(["chick", "age_d"]).index.isin(_mistaken(growth))]
    own = weights[weights["chick"] == chick].sort_values("age_d", kind="stable")
    own = own[(lost_d - own["age_d"]).between(0, WARNED_D)]
    rows = []
    for one in own.itertuples():
        brood = (weights["pair"] == one.pair) & (weights["clutch"] == one.clutch) & (weights["kind"] == one.kind)
        of_its_age = weights["age_d"].round() == round(float(str(one.age_d)))
        alike = weights[brood & (weights["chick"] != chick) & of_its_age]
        mates = alike.groupby("chick", sort=True)["mass_g"].first()
        if len(mates):
            share = float(str(one.mass_g)) / mates.median() - 1
            rows.append((one.age_d, one.mass_g, share, tuple(mates.items())))
    return pd.DataFrame(rows, columns=["age_d", "mass_g", "share", "mates"])


def _mistaken(growth: Chicks) -> pd.MultiIndex:
    """Weighings that look mistaken, by chick and age."""
    slips = growth.flags.loc[growth.flags["flag"].isin(("slip", "swapped")), ["chick", "age_d"]]
    return pd.MultiIndex.from_frame(slips)


def first_warnings(growth: Chicks) -> pd.DataFrame:
    """Return each lost chick, by the day of its loss, with the first warning of the week before, rule by rule.

    chick, pair, lost_on, lost_d (age), cause, event (blank where it was lost alone), weighings; and by rule of `RULES`
    what it said and when, "" where it said nothing a day before or earlier: a flag by its weights, or light beside its
    nest mates where its kind has no curve; a sign; food left in the crop in the morning; and the trade's own "any drop"
    and "no gain two days running" (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617), which call healthy chicks every few
    weeks too. "cannot be told" where the day of hatch is not known. days_before: how long before the loss the first of
    the three others was.
    """
    season = growth.season
    lost = season.chicks[season.chicks["fate"] == "lost"].sort_values("lost_on", kind="stable")
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    frame = lost[["chick", "pair", "lost_on"]].copy()
    frame["lost_d"] = ages_lost(season).set_index("chick")["age_d"].reindex(lost["chick"]).to_numpy()
    for name, of in (("cause", "cause"), ("event", "event_found")):
        frame[name] = losses[of].reindex(lost["chick"]).fillna("").to_numpy()
    frame["weighings"] = lost["chick"].map(season.weights["chick"].value_counts()).fillna(0).astype(int)
    first = _first(growth, frame)
    table = first.pivot_table(index="chick", columns="rule", values="warning", aggfunc="first")
    ours = first[first["rule"] != "trade's rule"].groupby("chick")["before_d"].max()
    frame = frame.join(table.reindex(columns=list(RULES)).astype(object), on="chick")
    frame[list(RULES)] = frame[list(RULES)].fillna("")
    for name in ("by weight", "trade's rule"):
        frame[name] = frame[name].astype(object).mask(frame["lost_d"].isna(), found("day.cannot-be-told"))
    return frame.join(ours.rename("days_before"), on="chick").reset_index(drop=True)


def losses_warned(table: pd.DataFrame) -> list[Finding]:
    """Say in how many losses there was a warning, and which losses came together; `table` from `first_warnings`."""
    findings = [
        found("day.one-event", about=found("day.lost-together"), level=LOOK, event=event, chicks=own["chick"].tolist())
        for event, own in table[table["event"] != ""].groupby("event", sort=False)
    ]
    alone = table[table["event"] == ""]
    if len(alone):
        rows = alone[alone["days_before"].notna()].itertuples()
        warned = [found("day.days-before", chick=row.chick, days=round(row.days_before)) for row in rows]
        facts: dict[str, Any] = {"alone": len(alone), "n": len(warned), "warned": warned}
        findings.append(found("day.had-a-warning", about=found("day.seen-in-time"), **facts))
    return findings


def _first(growth: Chicks, lost: pd.DataFrame) -> pd.DataFrame:
    """The first warning of each chick and rule in the week before: chick, rule, warning, before_d."""
    signs = growth.season.logs["signs"]
    signs = signs[~signs["sign"].map(is_good).astype(bool)]
    seen = signs.assign(chick=signs["who"].map(same).map(chick_called(growth.season)))
    seen = seen.dropna(subset=["chick", "seen_at"])
    by_signs = _warned(seen, seen["seen_at"], "seen", seen["sign"].map(sign_words))
    warned = pd.concat([*_by_weight(growth), by_signs], ignore_index=True)
    warned = warned.merge(lost[["chick", "lost_on", "lost_d"]], on="chick")
    warned["before_d"] = (warned["lost_on"].dt.normalize() - warned["on"]).dt.days
    warned = warned[warned["before_d"].between(1, WARNED_D)].sort_values("on", kind="stable")
    days = [
        row.on if pd.isna(row.lost_d) else found("day.day-of-life", age_d=row.lost_d - row.before_d)
        for row in warned.itertuples()
    ]
    warnings = [found("day.warned", what=what, when=day) for what, day in zip(warned["warning"], days, strict=True)]
    warned["warning"] = pd.Series(warnings, index=warned.index, dtype=object)
    return warned.drop_duplicates(["chick", "rule"])


def _by_weight(growth: Chicks) -> list[pd.DataFrame]:
    """Warnings by weighings: our flags, or lighter by a fifth than its nest mates; food left; the trade's rule."""
    weights = first_of_day(growth.season.weights[growth.season.weights["together"] == 1])
    left = weights[weights["crop"].isin(["part", "full"]) & ~(weights["age_d"] < HATCHLING_D)]
    lost = lost_chicks(growth)
    flagged, unseen = lost.dropna(subset="age_d"), lost[lost["age_d"].isna()]
    unjudged = unseen[unseen["chick"].map(growth.places["code"]) == NO_CURVE]
    parts = [_beside_mates(growth, one.chick, one.lost_d).assign(chick=one.chick) for one in unjudged.itertuples()]
    light = pd.concat(parts) if parts else pd.DataFrame(columns=["chick", "age_d", "share"])
    light = light.loc[light["share"] <= LIGHT - 1, ["chick", "age_d"]].reset_index(drop=True)
    full = [found("day.crop-was", crop=crop_words(str(crop))) for crop in left["crop"]]
    beside = [found("day.light-beside-mates")] * len(light)
    called = trade_alarms(growth.weights, until=growth.watch.peaks)
    called = called[called["reading"].isin(_READINGS)]
    flags = [_FLAGS.get(flag, flag) for flag in flagged["flag"]]
    return [
        _warned(flagged, _on(growth, flagged), "by weight", flags),
        _warned(light, _on(growth, light), "by weight", beside),
        _warned(left, left["weighed_at"], "food left", full),
        _warned(called, _on(growth, called), "trade's rule", called["reading"].map(_READINGS)),
    ]


def _on(growth: Chicks, rows: pd.DataFrame) -> pd.Series:
    """The day on which each chick was of an age."""
    hatched = growth.season.chicks.set_index("chick")["hatched_at"].dt.normalize().to_dict()
    return pd.to_datetime(rows["chick"].map(hatched)) + pd.to_timedelta(rows["age_d"].round(), unit="D")


def _warned(rows: pd.DataFrame, on: pd.Series, rule: str, warnings: Iterable[Words]) -> pd.DataFrame:
    days = pd.to_datetime(on).dt.normalize().astype("datetime64[us]")
    table = pd.DataFrame({"chick": rows["chick"].astype(object), "on": days, "rule": rule})
    return table.assign(warning=pd.Series(list(warnings), index=rows.index, dtype=object))
