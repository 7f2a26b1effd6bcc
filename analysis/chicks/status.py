"""One chick: how it stands; if it is light for its age, on what course, and that this alone need alarm nobody."""

from collections.abc import Iterable
from typing import Any

import pandas as pd

from analysis.chicks.fed import chick_named, chick_row, names_of
from analysis.chicks.of_season import LIGHT, Chicks, place_beside_kind
from analysis.finding import NOTE, Finding, Level, Words, found
from analysis.growth.flags.judge import FROM_D, POORLY
from analysis.growth.flags.judge import LIGHT as A_FIFTH
from analysis.logs.headings import same
from analysis.season import Season, sign_words, signs_seen, species_facts
from analysis.season.species import any_bird

# Weighings that a course is told from at either end, and a change of so much that is one (ours).
ENDS, CHANGED = 3, 0.05
LAST_WEIGHINGS = 7
EYES_PAST_D = 7  # practice: so long past the days at which its kind's eyes open they are looked at


def light_chick(growth: Chicks, chick: str, share: float) -> Finding:
    """Say on what course a light chick is and what to look at, fitted to its age, its brood and who feeds it.

    From a quarter on, no sign is waited for. Thin toes and wings, a large head, late eyes: "stunted" in WSAVA 2018
    proceedings, p. 595 (read), and there: a crop is not overfilled to catch up. The shape of the curve before the
    size: Crosta (read).
    """
    chicks, own = growth.season.chicks, growth.weights[growth.weights["chick"] == chick]
    by_hand = bool(chicks.loc[chicks["chick"] == chick, "by_hand"].iloc[0])
    species = str(chicks.loc[chicks["chick"] == chick, "species"].iloc[0])
    facts = species_facts(species)
    open_d = ((facts and facts.days("eyes_open")) or any_bird("eyes_open")).high
    parts = [
        course(growth, chick),
        _last_of_its_brood(growth, chick),
        found("chicks.look", young=own["age_d"].max() <= open_d + EYES_PAST_D, by_hand=by_hand),
        found("chicks.light-to-vet" if share <= POORLY - 1 else "chicks.light-if-stunted"),
        found("chicks.never-overfill"),
    ]
    return found("chicks.all", parts=[part for part in parts if part])


def no_longer_light(growth: Chicks, chick: str) -> bool:
    """Whether a chick's last weighings are within a fifth of its kind's again."""
    own = growth.beside[growth.beside["chick"] == chick]
    return bool(len(own) and own["share"].tail(ENDS).median() > A_FIFTH - 1)


def course(growth: Chicks, chick: str) -> Finding | None:
    """Whether a light chick was so from its first days, falls further behind or catches up; None: too few weights."""
    own = growth.beside[growth.beside["chick"] == chick]
    if len(own) < 2 * ENDS:
        return None
    young = own[own["age_d"] <= FROM_D]
    first = young if len(young) else own.head(ENDS)
    before, now = (float(part["share"].median()) for part in (first, own.tail(ENDS)))
    around, chicks = found("chicks.then-around", age_d=first["age_d"].median()), growth.season.chicks
    facts: dict[str, Any] = dict(before=_lighter(before), now=_lighter(now))
    facts["then"] = found("chicks.then-first-days") if len(young) else around
    # Of one that is no longer reared nothing is said as of now.
    facts["here"] = bool((chicks.loc[chicks["chick"] == chick, "fate"] == "being reared").all())
    if now < before - CHANGED:
        return found("chicks.course-falls", **facts)
    if now > before + CHANGED:
        return found("chicks.course-catches-up", **facts)
    return found("chicks.course-small", young=len(young) > 0, **facts)


def _lighter(share: float) -> Finding:
    return found("chicks.share-lighter" if share < 0 else "chicks.share-heavier", share=abs(share))


def _last_of_its_brood(growth: Chicks, chick: str) -> Finding | None:
    """Hatch order makes some chicks small (Krebs 1999, crimson rosella: the first up to 7 times the last, abstract)."""
    chicks = growth.season.chicks
    own = chicks[chicks["chick"] == chick].iloc[0]
    brood = chicks[(chicks["pair"] == own["pair"]) & (chicks["clutch"] == own["clutch"]) & (own["pair"] != "")]
    days = brood["hatched_at"].dropna()
    if len(days) < 2 or (days < own["hatched_at"]).sum() != len(days) - 1:
        return None
    return found("chicks.last-of-brood", chicks=len(days))


def how_it_stands(growth: Chicks, chick: str, read: Iterable[Finding]) -> list[Finding]:
    """How a chick stands: what the round reads first of it (`read`), its fate and weights, the next, what was seen."""
    row = chick_row(growth.season, chick)
    name, here, read = str(row["chick"]), row["fate"] == "being reared", list(read)
    now, day = ("here", None) if here else (row["fate"], row[f"{row['fate']}_on"])
    items = [*read, found(f"chicks.now-{now}", about=found("chicks.about-now"), day=day if pd.notna(day) else None)]
    items.append(all_of(found("chicks.about-weights"), weight_history(growth.season, name)))
    items += [all_of(found("chicks.about-next"), one) for one in _expected(growth, name)] if here and not read else []
    if name in growth.places.index:
        place = growth.places.loc[name]
        looks = [light_chick(growth, name, float(place["share"]))] if here and place["code"] == LIGHT else []
        items.append(all_of(found("chicks.about-beside"), place_beside_kind(place), *looks))
    items += [all_of(found("chicks.about-day", age_d=age_d), told) for age_d, told in _flags(growth, name)]
    items += [all_of(found("chicks.about-moved"), *moves)] if (moves := _moves(growth.season, row)) else []
    seen = signs_noted(growth.season, name)
    return [*items, all_of(found("chicks.about-seen"), *seen)] if seen else items


def _moves(season: Season, row: dict[str, Any]) -> list[Finding]:
    """Where a chick was moved to, when and why, as written."""
    moves = season.logs["moves"]
    mine = moves[moves["what"].map(same).isin(names_of(row))].sort_values("on", kind="stable")
    return [
        found("chicks.moved", day=one.on, to=one.to, why=one.why if isinstance(one.why, str) else None)
        for one in mine.itertuples()
    ]


def all_of(about: Words, *parts: Words, level: Level = NOTE) -> Finding:
    """What is found of one matter, one after the other."""
    return found("chicks.all", about=about, level=level, parts=parts)


def _expected(growth: Chicks, chick: str) -> list[Finding]:
    own = growth.weights[growth.weights["chick"] == chick]
    if own.empty:
        return []
    kind = growth.watch.kinds[str(own["kind"].iloc[0])]
    if not kind.expects:
        return [found("chicks.next-without-curve", why=kind.why or found("chicks.too-few-of-its-kind"))]
    if growth.on_course(chick):
        one = growth.expected.loc[chick]
        return [found("chicks.next", mass=one["median_g"], low=one["low_g"], high=one["high_g"])]
    # Why its last weight says nothing of the next: mistaken, of a morning of the scale, or not as expected.
    last = own.sort_values("weighed_at", kind="stable").iloc[-1]
    flags = growth.flags[(growth.flags["chick"] == last["chick"]) & (growth.flags["age_d"] == last["age_d"])]
    mornings = {pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings if one.sure}
    code = "chicks.next-scale-off" if last["weighed_at"].normalize() in mornings else "chicks.next-off-course"
    code = "chicks.next-mistaken" if flags["flag"].isin(("slip", "swapped")).any() else code
    return [found(code, mass=last["mass_g"], age_d=last["age_d"])]


def _flags(growth: Chicks, chick: str) -> list[tuple[float, Words]]:
    """Every flag of a chick on its day; what to do about it now is what is read of it first."""
    mine = growth.flags[growth.flags["chick"] == chick].sort_values("age_d", kind="stable")
    return list(zip(mine["age_d"].astype(float), mine["told"], strict=True))


def weight_history(season: Season, chick: str) -> Finding:
    """Return a chick's weighings, alone on the scale: how many, first, heaviest, last."""
    own = season.weights[(season.weights["chick"] == chick_named(season, chick)) & (season.weights["together"] == 1)]
    own = own.sort_values("weighed_at", kind="stable")
    if own.empty:
        return found("chicks.weights-none")
    first, last, few = own.iloc[0], own.iloc[-1], own.tail(LAST_WEIGHINGS)
    if len(own) == 1:
        return found("chicks.weights-one", mass=_written(last["mass_g"]), when=_when(last))
    ends: dict[str, Any] = {"first": _when(first), "first_mass": _written(first["mass_g"])}
    ends |= {"last": _when(last), "last_mass": _written(last["mass_g"])}
    lately: dict[str, Any] = {"since": few["weighed_at"].iloc[0], "until": few["weighed_at"].iloc[-1], "few": len(few)}
    lately["masses"] = [_written(mass_g) for mass_g in few["mass_g"]]
    return found("chicks.weights", times=len(own), heaviest=_heaviest(own), **ends, **lately)


def _heaviest(own: pd.DataFrame) -> Finding | None:
    """How heavy it was at most and how far below it is now; food in the crop is no weight of the chick's."""
    empty = own[~own["crop"].isin(("part", "full"))]
    last, most = own.iloc[-1], (empty if len(empty) else own).nlargest(1, "mass_g").iloc[0]
    if not most["mass_g"] > last["mass_g"]:
        return None
    code = "chicks.heaviest" if len(empty) == len(own) else "chicks.heaviest-crop-empty"
    fall = 1 - last["mass_g"] / most["mass_g"]
    return found(code, mass=_written(most["mass_g"]), when=_when(most), fall=fall)


def _written(mass_g: float) -> float:
    """A weight in gram with the digits it was written with: a whole one without any behind the point."""
    written = round(float(mass_g), 2)
    return int(written) if written.is_integer() else written


def flag_history(growth: Chicks, chick: str) -> list[Finding]:
    """Return what the weights of a chick called for while it was here, each with the day of its life."""
    flags = _flags(growth, chick_named(growth.season, chick))
    return [found("chicks.flagged", age_d=age_d, told=told) for age_d, told in flags]


def _when(weighing: pd.Series) -> Finding:
    day, age_d = weighing["weighed_at"], weighing["age_d"]
    if pd.isna(age_d) or age_d < 1:
        return found("chicks.weighed-on", day=day)
    return found("chicks.weighed-at-age", day=day, age_d=round(age_d))


def signs_noted(season: Season, chick: str) -> list[Finding]:
    """Return what was seen of a chick and written among the signs, by day."""
    seen = signs_seen(season)
    mine = seen[seen["who"].map(same).isin(names_of(chick_row(season, chick)))].sort_values("seen_at", kind="stable")
    return [found("chicks.sign", sign=sign_words(one.sign), day=one.seen_at) for one in mine.itertuples()]
