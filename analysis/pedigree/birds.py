"""The pedigree that the logs tell: breeding birds, and chicks of earlier seasons that became ones."""

from collections import Counter

import pandas as pd

from analysis.logs.names import same
from analysis.season import Season, seasons_by_name

COLUMNS = ["bird", "father", "mother"]


def parents_of(season: Season) -> pd.DataFrame:
    """Parents of every bird in the logs of a season and those joined to it.

    What the log birds says wins. A chick whose ring, or whose name where no other chick of all seasons has it, is that
    of a breeding bird has the cock and hen that laid its egg as parents, whoever sat on it or reared it: where these
    were a pair and both are written.

    Returns
    -------
    frame, a row a bird: bird, father, mother (blank where not known)

    Examples
    --------
    >>> from analysis import open_season
    >>> birds = parents_of(open_season("data_demo/season_2026")).set_index("bird")
    >>> birds.loc["Clove"].tolist()
    ['Thistle', 'Plantain']
    """
    seasons = seasons_by_name(season)
    written = [row for one in seasons.values() for row in one.logs["birds"].to_dict("records")]
    names = {same(str(row["bird"])): str(row["bird"]) for row in reversed(written)}
    rings = {same(str(row["ring"])): str(row["bird"]) for row in reversed(written) if row["ring"]}
    for one in seasons.values():
        for bird in [*one.pairs["cock"], *one.pairs["hen"]]:
            if bird and not pd.isna(bird):
                names.setdefault(same(bird), bird)
    told = {names[key]: _told(rows) for key, rows in _by_bird(written).items()}
    for bird, both in _grown_up(seasons, names, rings).items():
        father, mother = told.get(bird, ("", ""))
        told[bird] = (father, mother) if father or mother else both
    rows = [(bird, *told.get(bird, ("", ""))) for bird in names.values()]
    return pd.DataFrame(rows, columns=COLUMNS)


def _by_bird(written: list[dict[str, object]]) -> dict[str, list[dict[str, object]]]:
    found: dict[str, list[dict[str, object]]] = {}
    for row in written:
        found.setdefault(same(str(row["bird"])), []).append(row)
    return found


def _told(rows: list[dict[str, object]]) -> tuple[str, str]:
    """Father and mother, each as the latest season that names one has it."""
    father, mother = (
        next((str(row[who]) for row in rows if _is_written(row[who])), "") for who in ("father", "mother")
    )
    return father, mother


def _is_written(value: object) -> bool:
    return isinstance(value, str) and bool(value)


def _grown_up(seasons: dict[str, Season], names: dict[str, str], rings: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Breeding birds that hatched here: their parents."""
    often = Counter(same(chick) for one in seasons.values() for chick in one.chicks["chick"])
    found: dict[str, tuple[str, str]] = {}
    for one in seasons.values():
        pairs = {row["pair"]: row for row in one.pairs.to_dict("records")}
        for chick in one.chicks.to_dict("records"):
            pair = pairs.get(chick["pair"])
            bird = rings.get(same(chick["ring"])) if chick["ring"] else None
            bird = bird or (names.get(same(chick["ring"])) if chick["ring"] else None)
            bird = bird or (names.get(same(chick["chick"])) if often[same(chick["chick"])] == 1 else None)
            if bird and pair and pair["kind"] == "pair" and pair["cock"] and pair["hen"]:
                found.setdefault(bird, (str(pair["cock"]), str(pair["hen"])))
    return found
