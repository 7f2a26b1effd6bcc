"""Seasons joined by their birds: one name for each two birds, and the frames of all seasons under these names."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import chain, count
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import sorted_by_name
from analysis.needed import typed_frame
from analysis.season.days import season_bounds
from analysis.season.model import Season
from analysis.season.rings import LEAST, ring_key

_DAY = "datetime64[us]"
PAIRS = {
    **dict.fromkeys(("pair", "name", "season"), "str"),
    "seasons": "int64",
    **dict.fromkeys(("kind", "species", "cock", "hen", "cage"), "str"),
    **dict.fromkeys(("put_up_on", "parted_on"), _DAY),
    "this_season": "bool",
}
NAMES = {**dict.fromkeys(("season", "written", "pair"), "str"), "notes": "object"}
BIRDS = {**dict.fromkeys(("season", "written", "bird", "ring"), "str"), "note": "object"}
_NAME_PAIRS = ("pair", "incubated_by", "reared_by", "first_reared_by")
_SURE_D = 60  # practice: two days of hatch further apart than this are of two birds, one of which has the other's ring


@dataclass(frozen=True)
class JoinedSeasons:
    """A season, by its name, and those joined to it, pairs told apart by their birds and never by their name alone.

    pairs: one row a pair, by name: pair (its name here), name (as written), season (the latest one it is in), seasons
    (how many), kind, species, cock, hen (by their names in `birds`), cage (the last one), put_up_on (first), parted_on
    (last; missing where it is not parted), this_season (whether it is in the season that was opened).

    names: one row a season and pair, the season that was opened first: season, written, pair (its name here), notes (a
    tuple of Findings: a later season uses the name for other birds, a ring says who a bird is, or nobody can say).

    birds: one row a season and name in its pairs or birds log: season, written, bird (its name here: that of the latest
    season it is in; with that season, "Moss (2025)", where a later bird has the name), ring (as written, blank where
    none is), note (a Finding where a ring joined two names or parted one; else None).

    eggs, clutches, chicks, losses: of all seasons, with a column season; pair, incubated_by and reared_by by their
    names here. A chick of an earlier season bears its name: "K05 (2025)". Where one season has two names for the same
    two birds, clutches of the second bear that name: "1 (P5)".
    """

    season: str
    pairs: pd.DataFrame
    names: pd.DataFrame
    birds: pd.DataFrame
    eggs: pd.DataFrame
    clutches: pd.DataFrame
    chicks: pd.DataFrame
    losses: pd.DataFrame

    def rename(self, frame: pd.DataFrame, season: str) -> pd.DataFrame:
        """A frame of one season under the joined names: its pair, incubated_by, reared_by and chick."""
        return _renamed(frame, self.names, season, is_opened=season == self.season)


def join_seasons(season: Season) -> JoinedSeasons:
    """Join a season and its earlier ones by cock and hen, each known by name and ring.

    The same two birds are one pair, under the name that they have in the latest season they are in. A pair that is not
    in the season that was opened bears the season's name: "P03 (2025)". Where cock or hen is not written, nothing is
    joined; a colony or trio is joined only to one of the same kind that names the same birds.
    """
    return season.once(join_seasons, lambda: _joined(season))


def _joined(season: Season) -> JoinedSeasons:
    seasons = seasons_by_name(season)
    this = next(iter(seasons))
    birds = _birds(seasons)
    rows = [{**pair, "season": name} for name, one in seasons.items() for pair in one.pairs.to_dict("records")]
    pairs = _labelled(rows, birds, this=this)
    noted = (
        (row["season"], row["pair"], row["label"], (*_other_birds(row, pairs[:at]), *row["rings"]))
        for at, row in enumerate(pairs)
    )
    names = typed_frame([dict(zip(NAMES, one, strict=True)) for one in noted], NAMES)
    frames = {}
    for what in ("eggs", "clutches", "chicks", "losses"):
        own = [_renamed(getattr(one, what), names, name, is_opened=name == this) for name, one in seasons.items()]
        every = [frame.assign(season=name).astype({"season": "str"}) for name, frame in zip(seasons, own, strict=True)]
        frames[what] = pd.concat([frame for frame in every if len(frame)] or every[:1], ignore_index=True)
    return JoinedSeasons(this, _pairs(pairs, this=this), names, birds, **frames)


def seasons_by_name(season: Season) -> dict[str, Season]:
    """A season and those joined to it, the latest first, by name; a second of a name bears its folder's name too."""
    named: dict[str, Season] = {}
    for one in (season, *sorted(season.earlier, key=_last_day, reverse=True)):
        name = one.name if one.name not in named else f"{one.name}, {one.folder.resolve().name}"
        named[_free_name(name, named)] = one
    return named


def _last_day(season: Season) -> pd.Timestamp:
    """The last day of a season, of its settings where nothing dated was logged."""
    bounds = season_bounds(season.settings)
    return season.last_day or (bounds[1] if bounds else pd.Timestamp.min)


def _free_name(name: str, taken: Iterable[str]) -> str:
    """A name that is not taken yet: with a number, where it is, as "P1 (2025), 2"."""
    known = {same(each) for each in taken}
    return next(free for free in chain([name], (f"{name}, {n}" for n in count(2))) if same(free) not in known)


def _labelled(pairs: list[dict[str, Any]], birds: pd.DataFrame, *, this: str) -> list[dict[str, Any]]:
    """Every pair of every season, with its name here (label), `birds` by theirs, and `rings`, what is told of these."""
    of = {(bird.season, same(bird.written)): bird for bird in birds.itertuples()}
    labels: dict[Any, str] = {}
    taken = [row["pair"] for row in pairs if row["season"] == this]
    labelled = []
    for row in pairs:
        mine = {sex: of[row["season"], same(row[sex])] for sex in ("cock", "hen") if row[sex]}
        names = {sex: str(mine[sex].bird) if sex in mine else "" for sex in ("cock", "hen")}
        key = _two_birds(row | names) or (row["season"], same(row["pair"]))
        if key not in labels:
            of_then = f"{row['pair']} ({row['season']})"
            labels[key] = row["pair"] if row["season"] == this else _free_name(of_then, taken)
            taken.append(labels[key])
        rings = [bird.note for bird in mine.values() if bird.note]
        labelled.append(row | {"birds": names, "rings": rings, "label": labels[key]})
    return labelled


def _two_birds(pair: dict[str, Any]) -> tuple[str, str, str] | None:
    """What a pair is known by: its kind and two birds; None where they are not both written."""
    cock, hen = same(pair["cock"]), same(pair["hen"])
    return (pair["kind"], cock, hen) if cock and hen else None


def _other_birds(row: dict[str, Any], later: list[dict[str, Any]]) -> list[Finding]:
    """Where a later season uses this name for other birds, or nobody can say."""
    others = [one for one in later if same(one["pair"]) == same(row["pair"]) and one["label"] != row["label"]]
    others = [one for one in others if one["season"] != row["season"]]
    if not others:
        return []
    was = {name: row[name] for name in ("pair", "season")}
    if _two_birds(row) is None:
        return [found("season.pair-not-written" if row["kind"] == "pair" else "season.group-not-written", **was)]
    was, now = was | {"cock": row["cock"], "hen": row["hen"]}, others[0]
    if _two_birds(now) is None:
        return [found("season.later-pair-not-written", **was, later=now["pair"], later_season=now["season"])]
    names = ({same(one["cock"]), same(one["hen"])} for one in (row, now))
    alike = set.intersection(*names) or set(row["birds"].values()) & set(now["birds"].values())
    birds = found("season.not-the-same-two" if alike else "season.other-birds")
    if any(one["label"] == row["label"] for one in later):
        return [found("season.joined-to", **was, birds=birds, joined_to=row["label"])]
    return [found("season.not-joined", **was, birds=birds)]


def _pairs(rows: list[dict[str, Any]], *, this: str) -> pd.DataFrame:
    """One row a pair, as its latest season has it."""
    of_pair: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        of_pair.setdefault(row["label"], []).append(row)
    pairs = []
    for label, mine in of_pair.items():
        last = mine[0]
        put_up_on = pd.Series([row["put_up_on"] for row in mine], dtype=_DAY)
        parted_on = pd.Series([row["parted_on"] for row in mine if row["season"] == last["season"]], dtype=_DAY)
        pairs.append(
            {
                **{column: last[column] for column in ("season", "kind", "species", "cage")},
                **{sex: last[sex] if same(last[sex]) == same(bird) else bird for sex, bird in last["birds"].items()},
                "pair": label,
                "name": last["pair"],
                "seasons": len({row["season"] for row in mine}),
                "put_up_on": put_up_on.min(),
                "parted_on": parted_on.max(skipna=False),  # missing where one is: the pair is together
                "this_season": last["season"] == this,
            }
        )
    return sorted_by_name(typed_frame(pairs, PAIRS), ["pair"])


def _renamed(frame: pd.DataFrame, names: pd.DataFrame, season: str, *, is_opened: bool) -> pd.DataFrame:
    """A season's frame under the joined names; chicks of the season that was opened keep theirs."""
    mine = names[names["season"] == season]
    pair_of = dict(zip(mine["written"].map(same), mine["pair"], strict=True))

    def renamed(who: pd.Series) -> pd.Series:
        return who.map(lambda name: pair_of.get(same(name), name), na_action="ignore").astype(who.dtype)

    columns = {column: renamed(frame[column]) for column in _NAME_PAIRS if column in frame}
    if "chick" in frame and not is_opened:
        columns["chick"] = (frame["chick"] + f" ({season})").where(frame["chick"] != "", frame["chick"])
    if {"pair", "clutch"} <= set(frame):
        columns["clutch"] = frame["clutch"]
        for again in mine.loc[mine["pair"].duplicated(), "written"]:  # the same two birds twice in one season
            its = frame["pair"].map(lambda pair, name=again: pd.notna(pair) and same(pair) == same(name)).astype(bool)
            columns["clutch"] = columns["clutch"].mask(its, columns["clutch"] + f" ({again})")
    return frame.assign(**columns)


@dataclass(frozen=True)
class _Bird:
    """A bird as one season writes it."""

    season: str
    written: str
    ring: str  # as written; blank where none is, or where it tells nothing
    hatched_on: pd.Timestamp | None
    sexes: frozenset[str]  # cock, hen: as which its pairs have it

    @property
    def key(self) -> tuple[str, str]:
        return self.season, same(self.written)


def _birds(seasons: Mapping[str, Season]) -> pd.DataFrame:
    """Tell which names of which seasons, the latest first, are one bird, as `JoinedSeasons.birds`.

    One ring is one bird, whatever its name; one name with two rings is two birds. A name without a ring is the bird of
    that name in the other seasons; where these have two rings for it nobody can say, and it is a bird of its own. A
    ring tells nothing in a season that writes it for two birds, and does not join two names that hatched more than 60
    days apart or of which one is a cock and one a hen.
    """
    birds = [bird for name, season in seasons.items() for bird in _written(name, season)]
    rings = {ring for bird in birds if len(ring := ring_key(bird.ring)) >= LEAST}
    birds = [  # a bird without a ring whose name is the ring of one has that ring
        replace(bird, ring=bird.written) if not bird.ring and ring_key(bird.written) in rings else bird
        for bird in birds
    ]
    ids = _identities(birds)
    labels: dict[object, str] = {}
    first: dict[object, _Bird] = {}
    rows = []
    for at, bird in enumerate(birds):
        one = ids[bird.key]
        if one not in labels:
            taken = [label for label in labels.values() if same(label) == same(bird.written)]
            labels[one] = _free_name(f"{bird.written} ({bird.season})", labels.values()) if taken else bird.written
            first[one] = bird
        about = {"season": bird.season, "written": bird.written, "ring": bird.ring}
        rows.append({**about, "bird": labels[one], "note": _note(bird, first[one], birds[:at], ids)})
    return typed_frame(rows, BIRDS)


def _written(name: str, season: Season) -> list[_Bird]:
    """The birds of a season, those of its pairs first."""
    log = {same(row["bird"]): row for row in season.logs["birds"].to_dict("records")}
    names, sexes = dict[str, str](), dict[str, set[str]]()
    for sex in ("cock", "hen"):
        for bird in season.pairs.loc[season.pairs[sex] != "", sex]:
            names.setdefault(same(bird), bird)
            sexes.setdefault(same(bird), set()).add(sex)
    names |= {key: row["bird"] for key, row in log.items() if key not in names}
    rings = {key: str(log[key]["ring"]) if key in log and pd.notna(log[key]["ring"]) else "" for key in names}
    times = Counter(map(ring_key, rings.values()))
    days = {key: pd.Timestamp(row["hatched_on"]) for key, row in log.items() if pd.notna(row["hatched_on"])}
    own = {key: ring for key, ring in rings.items() if times[ring_key(ring)] == 1}
    return [
        _Bird(name, bird, own.get(key, ""), days.get(key), frozenset(sexes.get(key, ()))) for key, bird in names.items()
    ]


def _identities(birds: list[_Bird]) -> dict[tuple[str, str], object]:
    """What tells each bird of each season from all others."""
    of_name: dict[str, set[str]] = {}
    of_ring: dict[str, list[_Bird]] = {}
    for bird in birds:
        if ring := ring_key(bird.ring):
            of_name.setdefault(same(bird.written), set()).add(ring)
            of_ring.setdefault(ring, []).append(bird)
    joins = {ring: not _contradict(alike) for ring, alike in of_ring.items()}
    ids: dict[tuple[str, str], object] = {}
    for bird in birds:
        name = same(bird.written)
        rings = {ring_key(bird.ring)} - {""} or of_name.get(name, set())
        ring = next(iter(rings), "")
        others = {other.key[1] for other in of_ring.get(ring, []) if other.season == bird.season} - {name}
        if len(rings) > 1:
            ids[bird.key] = bird.key
        elif not ring or (others and not bird.ring and joins[ring]):  # another bird has that ring in this season
            ids[bird.key] = ("name", name)
        else:
            ids[bird.key] = ("ring", ring) if joins[ring] else ("ring", ring, name)
    return ids


def _contradict(birds: list[_Bird]) -> bool:
    """Whether birds of one ring and several names cannot be one."""
    days = [bird.hatched_on for bird in birds if bird.hatched_on is not None]
    apart = bool(days) and (max(days) - min(days)).days > _SURE_D
    both_sexes = len(frozenset().union(*(bird.sexes for bird in birds))) > 1
    return len({bird.key[1] for bird in birds}) > 1 and (apart or both_sexes)


def _note(bird: _Bird, latest: _Bird, later: list[_Bird], ids: Mapping[tuple[str, str], object]) -> Finding | None:
    """What is told where a ring joined a name to another of a later season, or parted it from the same."""
    one: dict[str, Any] = {"bird": bird.written, "season": bird.season}
    if same(latest.written) != same(bird.written):
        now: dict[str, Any] = {"later": latest.written, "later_season": latest.season, "ring": latest.ring or bird.ring}
        return None if latest.season == bird.season else found("season.joined-by-ring", **one, **now)
    alike = [other for other in later if other.key[1] == bird.key[1] and ids[other.key] != ids[bird.key]]
    if not alike:
        return None
    if bird.ring and alike[0].ring:
        other: dict[str, Any] = {"other_season": alike[0].season, "other_ring": alike[0].ring}
        return found("season.parted-by-ring", **one, ring=bird.ring, **other)
    unsure = alike[0] if bird.ring else bird
    return found("season.no-ring-says", bird=unsure.written, season=unsure.season)
