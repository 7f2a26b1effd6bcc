"""Losses looked back at: was a warning there before, on which day, and by which rule."""

from typing import Any

import pandas as pd

from analysis.feeding import HATCHLING_D
from analysis.finding import LOOK, Finding, Words, found
from analysis.findings import Growth, beside_mates, lost_chicks
from analysis.findings.beside_kind import NO_CURVE
from analysis.growth import trade_alarms
from analysis.growth.flags.judge import LIGHT
from analysis.growth.trade_rule import READINGS
from analysis.logs import GOOD_SIGNS
from analysis.logs.names import same
from analysis.season import ages_lost, chick_called, crop_said, sign_said

BEFORE_D = 7  # what lay longer before a loss was no warning of it (practice)
RULES = ("by weight", "seen", "food left", "trade's rule")
_FLAGS: dict[str, Words] = {
    "stall": found("day.no-gain-or-loss"),
    "weigh again": found("day.far-off"),
    "fall": found("day.fall-before-weaning"),
}
_READINGS = {READINGS[0]: found("day.any-drop"), READINGS[1]: found("day.no-gain-twice")}
_CANNOT = found("day.cannot-be-told")


def looked_back(growth: Growth) -> pd.DataFrame:
    """Return each lost chick with the first warning of the week before it was found, rule by rule.

    Parameters
    ----------
    growth : of a season

    Returns
    -------
    frame, a row a chick, by the day of the loss
        chick, pair, lost_on, lost_d (age), cause (as written), event (blank where it was lost alone), weighings; and
        for each rule of `RULES` what it said and at what age, "" where it said nothing a day before or earlier:
        a flag by its weights, or light beside its nest mates where its kind has no curve; a sign that was written
        down; food left in the crop in the morning; and the trade's own
        "any drop" and "no gain two days running" (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617), which call healthy
        chicks every few weeks too. "cannot be told" where the day of hatch is not known, since weights are judged by
        age. days_before: how long before the loss the first of the three others was
    """
    season = growth.season
    lost = season.chicks[season.chicks["fate"] == "lost"].sort_values("lost_on", kind="stable")
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    frame = pd.DataFrame({"chick": lost["chick"], "pair": lost["pair"], "lost_on": lost["lost_on"]})
    frame["lost_d"] = ages_lost(season).set_index("chick")["age_d"].reindex(lost["chick"]).to_numpy()
    for name, of in (("cause", "cause"), ("event", "event_found")):
        frame[name] = losses[of].reindex(lost["chick"]).fillna("").to_numpy()
    counts = season.weights.groupby("chick").size()
    frame["weighings"] = counts.reindex(lost["chick"]).fillna(0).to_numpy(dtype=int)
    first = _first(growth, frame)
    table = first.pivot_table(index="chick", columns="rule", values="said", aggfunc="first").reindex(
        columns=list(RULES)
    )
    ours = first[first["rule"] != "trade's rule"].groupby("chick")["before_d"].max()
    frame = frame.join(table.astype(object), on="chick").join(ours.rename("days_before"), on="chick")
    frame[list(RULES)] = frame[list(RULES)].fillna("")
    by_age = ["by weight", "trade's rule"]
    for name in by_age:
        frame[name] = frame[name].astype(object).mask(frame["lost_d"].isna(), _CANNOT)
    return frame.reset_index(drop=True)


def looked_back_said(table: pd.DataFrame) -> list[Finding]:
    """Say in how many losses there was a warning, and which losses came together; `table` from `looked_back`."""
    said = [
        found("day.one-event", about=found("day.lost-together"), level=LOOK, event=event, chicks=own["chick"].tolist())
        for event, own in table[table["event"] != ""].groupby("event", sort=False)
    ]
    alone = table[table["event"] == ""]
    if len(alone):
        warned = [
            found("day.days-before", chick=row.chick, days=round(row.days_before))
            for row in alone[alone["days_before"].notna()].itertuples()
        ]
        about, n = found("day.seen-in-time"), len(warned)
        said.append(found("day.had-a-warning", about=about, alone=len(alone), n=n, warned=warned))
    return said


def _first(growth: Growth, lost: pd.DataFrame) -> pd.DataFrame:
    """The first warning of each chick and rule in the week before: chick, rule, said, before_d."""
    warned = pd.concat([*_by_weight(growth), _signs(growth)], ignore_index=True)
    warned = warned.merge(lost[["chick", "lost_on", "lost_d"]], on="chick")
    warned["before_d"] = (warned["lost_on"].dt.normalize() - warned["on"]).dt.days
    warned = warned[(warned["before_d"] >= 1) & (warned["before_d"] <= BEFORE_D)].sort_values("on", kind="stable")
    said = [found("day.warned", what=row.said, when=_when(row)) for row in warned.itertuples()]
    warned["said"] = pd.Series(said, index=warned.index, dtype=object)
    return warned.drop_duplicates(["chick", "rule"])


def _when(row: Any) -> pd.Timestamp | Finding:
    return row.on if pd.isna(row.lost_d) else found("day.day-of-life", age_d=row.lost_d - row.before_d)


def _by_weight(growth: Growth) -> list[pd.DataFrame]:
    """Warnings by weighings: our flags, food left, the trade's rule."""
    weights = growth.season.weights
    weights = weights[weights["together"] == 1].sort_values("weighed_at", kind="stable")
    weights = weights[~weights.assign(day=weights["weighed_at"].dt.normalize()).duplicated(["chick", "day"])]
    left = weights[weights["crop"].isin(["part", "full"]) & ~(weights["age_d"] < HATCHLING_D)]
    lost = lost_chicks(growth)
    flagged, light = lost.dropna(subset="age_d"), _light(growth, lost[lost["age_d"].isna()])
    full = [found("day.crop-was", crop=crop_said(str(crop))) for crop in left["crop"]]
    called = trade_alarms(growth.weights, until=growth.watch.peaks)
    called = called[called["reading"].isin(_READINGS)]
    return [
        _warned(flagged, _on(growth, flagged), "by weight", flagged["flag"].map(lambda flag: _FLAGS.get(flag, flag))),
        _warned(light, _on(growth, light), "by weight", light["chick"].map(lambda _: found("day.light-beside-mates"))),
        _warned(
            left,
            left["weighed_at"],
            "food left",
            pd.Series(full, index=left.index, dtype=object),
        ),
        _warned(called, _on(growth, called), "trade's rule", called["reading"].map(_READINGS)),
    ]


def _light(growth: Growth, lost: pd.DataFrame) -> pd.DataFrame:
    """When chicks that no curve could judge were lighter by a fifth than their nest mates: chick, age_d."""
    unjudged = lost[lost["chick"].map(growth.places["code"]) == NO_CURVE]
    parts = [beside_mates(growth, one.chick, one.lost_d).assign(chick=one.chick) for one in unjudged.itertuples()]
    table = pd.concat(parts) if parts else pd.DataFrame(columns=["chick", "age_d", "share"])
    return table.loc[table["share"] <= LIGHT - 1, ["chick", "age_d"]].reset_index(drop=True)


def _on(growth: Growth, rows: pd.DataFrame) -> pd.Series:
    """The day on which each chick was of an age."""
    hatched = growth.season.chicks.set_index("chick")["hatched_at"].dt.normalize().to_dict()
    return pd.to_datetime(rows["chick"].map(hatched)) + pd.to_timedelta(rows["age_d"].round(), unit="D")


def _signs(growth: Growth) -> pd.DataFrame:
    season = growth.season
    signs = season.logs["signs"]
    signs = signs[~signs["sign"].isin(GOOD_SIGNS)]
    names = chick_called(season)
    seen = signs.assign(chick=signs["who"].map(same).map(names)).dropna(subset=["chick", "seen_at"])
    return _warned(seen, seen["seen_at"], "seen", seen["sign"].map(sign_said))


def _warned(rows: pd.DataFrame, on: pd.Series, rule: str, said: pd.Series) -> pd.DataFrame:
    days = pd.to_datetime(on).dt.normalize().astype("datetime64[us]")
    return pd.DataFrame({"chick": rows["chick"].astype(object), "on": days, "said": said.astype(object)}).assign(
        rule=rule
    )
