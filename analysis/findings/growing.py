"""What the weights say: kinds of bird, their chicks watched together, and what is worked out from them on demand."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analysis.finding import Finding
from analysis.findings.beside_kind import beside_kind
from analysis.growth import (
    PairGrowth,
    Reference,
    Watch,
    expected_next,
    fit_each,
    pairs_of,
    predict,
    presentable,
    reference_curve,
    trade_rule,
    up_to_peak,
    watch,
)
from analysis.growth.flags.find import ODD
from analysis.growth.flags.standing import beside
from analysis.say import in_words
from analysis.season import NOT_WRITTEN, Season, joined, kinds_said, seasons_by_name, unheard

CURVE = "logistic"
_FLAGS = ("chick", "age_d", "flag", "size", "level", "r", "sentence", "told", "call", "kind", "day")
_DRAWN = 20  # ages at which a reference is drawn


@dataclass(frozen=True)
class Growth:
    """The weighings of a season beside those of the seasons joined to it, kind by kind.

    A kind is a species and a way of rearing, such as "cockatiel, by hand" (see `kind_of`). Chicks of earlier seasons
    bear the season's name: "K05 (2025)".

    Attributes
    ----------
    weights
        One row a weighing of this season that can be judged: chick, kind, age_d, mass_g, weighed_at, crop, pair,
        clutch, species, did_well, sure_to_days, hatch_order, season.
    joined
        The same with those of the earlier seasons.
    season
        Whose weights these are.
    """

    weights: pd.DataFrame
    joined: pd.DataFrame
    season: Season

    @cached_property
    def watch(self) -> Watch:
        """All kinds looked at together."""
        return watch({str(kind): rows for kind, rows in self.joined.groupby("kind", sort=True)})

    @cached_property
    def kinds(self) -> dict[str, Finding]:
        """What each kind of this season's chicks is called."""
        return kinds_said(self.season.chicks)

    def with_kinds(self, frame: pd.DataFrame) -> pd.DataFrame:
        """A frame to be drawn, each kind in its column as it is called."""
        words = {kind: in_words(said) for kind, said in self.kinds.items()}
        return frame.assign(kind=frame["kind"].replace(words))

    @cached_property
    def flags(self) -> pd.DataFrame:
        """Flags of this season's chicks, looking back: kind, day, and the columns of `find_flags`."""
        return self._of_this_season(self.watch.back)

    @cached_property
    def raised(self) -> pd.DataFrame:
        """The same at the weighing that first raised each."""
        return self._of_this_season(self.watch.live)

    @cached_property
    def standing(self) -> pd.DataFrame:
        """How each of this season's chicks stands among its kind, where enough did well to say."""
        return self.watch.standing[self.watch.standing["chick"].isin(self.weights["chick"])]

    @cached_property
    def beside(self) -> pd.DataFrame:
        """How far each weighing of this season's chicks stands from the typical chick: chick, age_d, share."""
        parts = [beside(known) for known in self.watch.kinds.values()]
        table = pd.concat(parts) if parts else pd.DataFrame(columns=["chick", "age_d", "share"])
        return table[table["chick"].isin(self.weights["chick"])]

    @cached_property
    def here(self) -> set[str]:
        """Chicks that are still being reared, as far as anything was written of them lately."""
        season, chicks = self.season, self.season.chicks
        gone = unheard(season, season.as_of)["chick"] if season.as_of is not None else ()
        return set(chicks.loc[chicks["fate"] == "being reared", "chick"]) - set(gone)

    @cached_property
    def places(self) -> pd.DataFrame:
        """Where each of this season's chicks stands beside its kind, by chick: see `beside_kind`."""
        return beside_kind(self).set_index("chick", drop=False)

    @cached_property
    def references(self) -> dict[str, Reference]:
        """The reference curve of each kind."""
        found = {}
        for kind, known in self.watch.kinds.items():
            back = self.watch.back[kind]
            odd = back["chick"][back["flag"].isin(ODD)].unique()
            found[kind] = reference_curve(self._clean(kind), left_out=odd, curve=known.curve)
        return found

    @cached_property
    def reference(self) -> pd.DataFrame:
        """Centiles to draw: kind, age_d, share, mass_g, mass_low_g, mass_high_g."""
        parts = []
        for kind, found in self.references.items():
            ages = self.weights.loc[self.weights["kind"] == kind, "age_d"]
            if found.fit is not None and len(ages):
                drawn = found.centiles(np.linspace(ages.min(), ages.max(), _DRAWN))
                parts.append(drawn.assign(kind=kind))
        columns = ["kind", "age_d", "share", "mass_g", "mass_low_g", "mass_high_g"]
        return pd.concat(parts)[columns] if parts else pd.DataFrame(columns=columns)

    @cached_property
    def pairs(self) -> dict[str, PairGrowth]:
        """Growth of pairs, by species: by hand and by parents apart, whichever has more chicks."""
        found = {}
        for species, rows in self.joined.groupby("species", sort=True):
            kind = str(rows.groupby("kind")["chick"].nunique().idxmax())
            known = self.watch.kinds[kind]
            if known.enough:
                found[str(species)] = pairs_of(self._clean(kind), *self.watch.own(kind))
        return found

    @cached_property
    def expected(self) -> pd.DataFrame:
        """What each chick of this season should weigh a day after its last weighing: see `expected_next`."""
        parts = [expected_next(known) for known in self.watch.kinds.values()]
        table = pd.concat([part for part in parts if len(part)] or parts[:1] or [pd.DataFrame(columns=["chick"])])
        return table[table["chick"].isin(self.weights["chick"])].set_index("chick")

    def on_course(self, chick: str) -> bool:
        """Whether a chick's last weighing lay where it was expected."""
        return chick in self.expected.index and bool(self.expected.loc[chick, "on_course"])

    @cached_property
    def rule(self) -> pd.DataFrame:
        """The trade's rule on this season's chicks, until they begin to fall before weaning: see `trade_rule`.

        One weighing a chick and day, and none with food in the crop, as the rule has it.
        """
        empty = self.weights[~self.weights["crop"].isin(("part", "full"))].sort_values("weighed_at", kind="stable")
        day = empty["weighed_at"].dt.normalize()
        return trade_rule(empty[~empty.assign(day=day).duplicated(["chick", "day"])], until=self.watch.peaks)

    @cached_property
    def chicks(self) -> pd.DataFrame:
        """One row a chick of this season, with its own fit up to the peak.

        chick, kind, n, last_age_d, last_g, peak_g (where it fell since), fall, then the fit: A_g, ti_d, t10_90_d,
        max_gain_g_per_d, why (blank where the fit can be shown).
        """
        fits, peaks = self._fits
        last = self.weights.sort_values("age_d", kind="stable").groupby("chick").last()
        columns = ["A_g", "ti_d", "t10_90_d", "max_gain_g_per_d", "n", "why"]
        chicks = (
            peaks.set_index("chick")[["peak_g", "peak_age_d", "fall"]]
            .join(last[["kind", "age_d", "mass_g"]].set_axis(["kind", "last_age_d", "last_g"], axis=1))
            .join(fits[columns])
            .assign(peak_g=lambda table: table["peak_g"].where(table["fall"] > 0))
            .reset_index()
        )
        chicks["n"] = chicks["chick"].map(self.weights.groupby("chick").size())
        return chicks

    @cached_property
    def curves(self) -> pd.DataFrame:
        """The curves fitted to each chick alone, to draw: chick, age_d, mass_g."""
        fits, _ = self._fits
        shown = fits[fits["why"] == ""]
        ages = range(int(self.weights["age_d"].max()) + 1) if len(self.weights) else range(0)
        curves = predict(shown, ages, curve=CURVE)
        ends = up_to_peak(self.weights)[0].groupby("chick")["age_d"].agg(["min", "max"])
        inside = curves["age_d"].between(curves["chick"].map(ends["min"]), curves["chick"].map(ends["max"]))
        return curves[inside].reset_index(drop=True)

    @cached_property
    def _fits(self) -> tuple[pd.DataFrame, pd.DataFrame]:
        clean = [rows[rows["chick"].isin(self.weights["chick"])] for rows in self.watch.clean.values()]
        rising, peaks = up_to_peak(pd.concat(clean, ignore_index=True) if clean else self.weights)
        return presentable(fit_each(rising, curve=CURVE)), peaks

    def _clean(self, kind: str) -> pd.DataFrame:
        """Weighings of a kind that were looked through: mistakes left out, crop taken off."""
        about = self.joined.drop_duplicates("chick").set_index("chick")
        clean = self.watch.clean[kind]
        columns = {c: clean["chick"].map(about[c]) for c in ("did_well", "pair", "hatch_order", "season")}
        return clean.assign(**columns)

    def _of_this_season(self, flags: dict[str, pd.DataFrame]) -> pd.DataFrame:
        parts = [found.assign(kind=kind) for kind, found in flags.items() if len(found)]
        if not parts:
            return pd.DataFrame({name: pd.Series(dtype=object) for name in _FLAGS}).astype({"day": "datetime64[ns]"})
        found = pd.concat(parts, ignore_index=True)
        found = found[found["chick"].isin(self.weights["chick"])].reset_index(drop=True)
        hatched = self.season.chicks.set_index("chick")["hatched_at"].dt.normalize()
        days = [hatched[f.chick] + pd.Timedelta(days=round(float(f.age_d))) for f in found.itertuples()]
        return found.assign(day=pd.Series(days, index=found.index, dtype="datetime64[ns]"))


def growing(season: Season) -> Growth:
    """Gather the weighings of a season and of those joined to it; all else is worked out when it is asked for."""
    birds, own = joined(season), weighings(season)
    seasons = reversed(seasons_by_name(season).items())
    earlier = [
        birds.rename(rows, name).assign(season=name)
        for name, one in seasons
        if one is not season and len(rows := weighings(one))
    ]
    return Growth(own, pd.concat([own, *earlier], ignore_index=True), season)


def weighings(season: Season) -> pd.DataFrame:
    """Return the weighings of chicks of known age, each on the scale alone, with what is known of the chick."""
    alone = season.weights[(season.weights["together"] == 1) & season.weights["age_d"].notna()]
    about = season.chicks.set_index("chick")
    order = season.chicks.groupby(["pair", "clutch"])["hatched_at"].rank(method="min").set_axis(season.chicks["chick"])
    order = order.where(about["pair"] != "")
    rows = alone.drop(columns=["together", "file", "row"])
    return rows.assign(
        pair=rows["pair"].replace("", None),
        species=rows["species"].replace("", NOT_WRITTEN),
        hatch_order=rows["chick"].map(order),
        season=season.name,
    ).reset_index(drop=True)
