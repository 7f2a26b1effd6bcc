"""Seasons joined by their birds: one name for each two birds, and the frames of all seasons under these names."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.season.dates import season_bounds
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.model import Season
from analysis.season.nest import follow_birds, free_name

PAIRS = {
    **dict.fromkeys(("pair", "name", "season"), "str"),
    "seasons": "int64",
    **dict.fromkeys(("kind", "species", "cock", "hen", "cage"), "str"),
    **dict.fromkeys(("put_up_on", "parted_on"), "datetime64[us]"),
    "this_season": "bool",
}
NAMES = {**dict.fromkeys(("season", "written", "pair"), "str"), "notes": "object"}
_LED = ("pair", "incubated_by", "reared_by")


@dataclass(frozen=True)
class Joined:
    """A season and those joined to it, pairs told apart by their birds and never by their name alone.

    Attributes
    ----------
    season
        The name of the season that was opened.
    pairs
        One row a pair, by name: pair (its name here), name (as written), season (the latest one it is in), seasons (how
        many), kind, species, cock, hen (by their names in `birds`), cage (the last one), put_up_on (first), parted_on
        (last; missing where it is not parted), this_season (whether it is in the season that was opened).
    names
        One row a season and pair, the season that was opened first: season, written, pair (its name here), notes (a
        tuple of Findings: where a later season uses the name for other birds, where a ring says who a bird is, or where
        nobody can say).
    birds
        One row a season and bird: season, written, bird (its name here), ring, note. See `follow_birds`: one ring is
        one bird whatever its name, and one name with two rings is two birds.
    eggs, clutches, chicks, losses
        The frames of all seasons with a column season; pair, incubated_by and reared_by by their names here. A chick
        of an earlier season bears the season's name: "K05 (2025)". Where one season has two names for the same two
        birds, clutches of the second bear that name: "1 (P5)".
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
        """A frame of one season under the joined names.

        Parameters
        ----------
        frame : with any of pair, incubated_by, reared_by and chick, as that season's logs write them; the other columns
            are left as they are
        season : its name, as `names` has it

        Examples
        --------
        >>> from analysis import open_season
        >>> birds = joined(open_season("data_demo/season_2026"))
        >>> rows = pd.DataFrame({"chick": ["K05", "K06"], "pair": ["P01", "P03"]})
        >>> birds.rename(rows, "2025").values.tolist()
        [['K05 (2025)', 'P01'], ['K06 (2025)', 'P03 (2025)']]
        """
        return _renamed(frame, self.names, season, of_now=season == self.season)


def joined(season: Season) -> Joined:
    """Join a season and its earlier ones by cock and hen, each followed by name and ring.

    The same two birds are one pair, under the name that they have in the latest season they are in. A pair that is not
    in the season that was opened bears the season's name: "P03 (2025)". Where cock or hen is not written, nothing is
    joined; a colony or trio is joined only to one of the same kind that names the same birds.

    Parameters
    ----------
    season : Season
        With the seasons that are joined to it in `earlier`.

    Returns
    -------
    Joined
        Frozen; see its attributes. With no earlier season, the season's own frames.

    Examples
    --------
    >>> from analysis import open_season
    >>> birds = joined(open_season("data_demo/season_2026"))
    >>> birds.names.loc[birds.names["written"] == "P03", ["season", "pair"]].values.tolist()
    [['2026', 'P03'], ['2025', 'P03 (2025)']]
    >>> from analysis.say import in_words
    >>> in_words(birds.names["notes"][birds.names["written"] == "P03"].iloc[-1])
    'P03 of 2025 was Saffron and Pepper, other birds, and is not joined.'
    """
    seasons = seasons_by_name(season)
    this = next(iter(seasons))
    birds = follow_birds(seasons)
    rows = [{**pair, "season": name} for name, one in seasons.items() for pair in one.pairs.to_dict("records")]
    _say_birds(rows, birds)
    labelled = _labelled(rows, this=this)
    noted = [
        {"season": row["season"], "written": row["pair"], "pair": row["label"], "notes": _notes(row, labelled[:at])}
        for at, row in enumerate(labelled)
    ]
    names = typed_frame(noted, NAMES)
    frames = {
        what: _stacked(
            _renamed(getattr(one, what), names, name, of_now=name == this).assign(season=name)
            for name, one in seasons.items()
        )
        for what in ("eggs", "clutches", "chicks", "losses")
    }
    return Joined(this, _pairs(labelled, this=this), names, birds, **frames)


def seasons_by_name(season: Season) -> dict[str, Season]:
    """A season and those joined to it by name, each name once: the one that was opened, then the latest first.

    A second season of a name bears its folder's name as well.

    Examples
    --------
    >>> from analysis import open_season
    >>> list(seasons_by_name(open_season("data_demo/season_2026")))
    ['2026', '2025', '2024']
    """
    named: dict[str, Season] = {}
    for one in (season, *sorted(season.earlier, key=_last_day, reverse=True)):
        name = one.name if one.name not in named else f"{one.name}, {one.folder.resolve().name}"
        named[free_name(name, named)] = one
    return named


def _last_day(season: Season) -> pd.Timestamp:
    """The last day of a season, of its settings where nothing dated was logged."""
    bounds = season_bounds(season.settings)
    return season.last_day or (bounds[1] if bounds else pd.Timestamp.min)


def _say_birds(rows: list[dict[str, Any]], birds: pd.DataFrame) -> None:
    """Give each pair its birds by their names here, blank where none is written, and what their rings say of them."""
    of = {(bird.season, same(bird.written)): bird for bird in birds.itertuples()}
    for row in rows:
        mine = {sex: of[row["season"], same(row[sex])] for sex in ("cock", "hen") if row[sex]}
        row["birds"] = {sex: str(mine[sex].bird) if sex in mine else "" for sex in ("cock", "hen")}
        row["rings"] = [bird.note for bird in mine.values() if bird.note]


def _labelled(rows: list[dict[str, Any]], *, this: str) -> list[dict[str, Any]]:
    """Every pair of every season, the latest first, with the name it has here."""
    labels: dict[Any, str] = {}
    taken = [row["pair"] for row in rows if row["season"] == this]
    for row in rows:
        key = birds_of(row | row["birds"]) or (row["season"], same(row["pair"]))
        if key not in labels:
            labels[key] = row["pair"] if row["season"] == this else free_name(f"{row['pair']} ({row['season']})", taken)
            taken.append(labels[key])
        row["label"] = labels[key]
    return rows


def birds_of(pair: dict[str, Any]) -> tuple[str, str, str] | None:
    """What a pair is known by: its kind and two birds; None where they are not both written.

    Examples
    --------
    >>> birds_of({"kind": "pair", "cock": "Moss ", "hen": "sorrel"})
    ('pair', 'moss', 'sorrel')
    >>> birds_of({"kind": "pair", "cock": "Moss", "hen": ""})
    """
    cock, hen = same(pair["cock"]), same(pair["hen"])
    return (pair["kind"], cock, hen) if cock and hen else None


def _notes(row: dict[str, Any], later: list[dict[str, Any]]) -> tuple[Finding, ...]:
    """Where a later season uses this name for other birds, or nobody can say; and what the rings say."""
    others = _other_birds(row, later)
    return (*([others] if others else []), *row["rings"])


def _other_birds(row: dict[str, Any], later: list[dict[str, Any]]) -> Finding | None:
    others = [one for one in later if same(one["pair"]) == same(row["pair"]) and one["label"] != row["label"]]
    others = [one for one in others if one["season"] != row["season"]]
    if not others:
        return None
    was = {name: row[name] for name in ("pair", "season")}
    if birds_of(row) is None:
        return found("season.pair-not-written" if row["kind"] == "pair" else "season.group-not-written", **was)
    was, now = was | {"cock": row["cock"], "hen": row["hen"]}, others[0]
    if birds_of(now) is None:
        return found("season.later-pair-not-written", **was, later=now["pair"], later_season=now["season"])
    names = ({same(one["cock"]), same(one["hen"])} for one in (row, now))
    alike = set.intersection(*names) or set(row["birds"].values()) & set(now["birds"].values())
    birds = found("season.not-the-same-two" if alike else "season.other-birds")
    if any(one["label"] == row["label"] for one in later):
        return found("season.joined-to", **was, birds=birds, joined_to=row["label"])
    return found("season.not-joined", **was, birds=birds)


def _pairs(rows: list[dict[str, Any]], *, this: str) -> pd.DataFrame:
    """One row a pair, as its latest season has it."""
    alike: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        alike.setdefault(row["label"], []).append(row)
    told = [
        {
            **{column: mine[0][column] for column in ("season", "kind", "species", "cage")},
            **{sex: _shown(mine[0][sex], mine[0]["birds"][sex]) for sex in ("cock", "hen")},
            "pair": label,
            "name": mine[0]["pair"],
            "seasons": len({row["season"] for row in mine}),
            "put_up_on": pd.Series([row["put_up_on"] for row in mine], dtype="datetime64[us]").min(),
            "parted_on": _parted([row["parted_on"] for row in mine if row["season"] == mine[0]["season"]]),
            "this_season": mine[0]["season"] == this,
        }
        for label, mine in alike.items()
    ]
    return sorted_by_name(typed_frame(told, PAIRS), ["pair"])


def _shown(written: str, bird: str) -> str:
    """A bird as its pair writes it, unless it has another name here."""
    return written if same(written) == same(bird) else bird


def _parted(days: list[Any]) -> Any:
    """The last of these days, none where one is blank: the pair is together."""
    return pd.NaT if any(pd.isna(day) for day in days) else max(days)


def _renamed(frame: pd.DataFrame, names: pd.DataFrame, season: str, *, of_now: bool) -> pd.DataFrame:
    """A season's frame under the joined names; chicks of the season that was opened keep theirs."""
    mine = names[names["season"] == season]
    led = dict(zip(mine["written"].map(same), mine["pair"], strict=True))
    columns = {
        column: frame[column]
        .map(lambda who: who if pd.isna(who) else led.get(same(who), who))
        .astype(frame[column].dtype)
        for column in _LED
        if column in frame
    }
    if "chick" in frame and not of_now:
        columns["chick"] = (frame["chick"] + f" ({season})").where(frame["chick"] != "", frame["chick"])
    if {"pair", "clutch"} <= set(frame):
        columns["clutch"] = frame["clutch"]
        for again in mine.loc[mine["pair"].duplicated(), "written"]:  # the same two birds twice in one season
            its = frame["pair"].map(lambda pair, name=again: pd.notna(pair) and same(pair) == same(name)).astype(bool)
            columns["clutch"] = columns["clutch"].mask(its, columns["clutch"] + f" ({again})")
    return frame.assign(**columns)


def _stacked(frames: Iterable[pd.DataFrame]) -> pd.DataFrame:
    every = [frame.astype({"season": "str"}) for frame in frames]
    return pd.concat([frame for frame in every if len(frame)] or every[:1], ignore_index=True)
