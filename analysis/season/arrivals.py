"""Birds and chicks from elsewhere: which are still kept apart on a day, where, and with whom they share the air."""

import pandas as pd

from analysis.logs.headings import same
from analysis.needed import typed_frame
from analysis.season.chicks import unaccounted_chicks
from analysis.season.model import Season

APART = {"who": "str", "arrived_on": "datetime64[us]", "until_on": "datetime64[us]", "place": "str", "room": "str"}
_DAY = pd.Timedelta(days=1)


def in_quarantine(season: Season, arrived_on: pd.Series, on: pd.Timestamp) -> pd.Series:
    """Whether who came on a day (missing: bred here) is still kept apart on another: the setting `quarantine_d`.

    30 to 45 days are common practice; birdvet.com.au (read) asks for six weeks, and as many again after an illness.
    """
    days = (on - pd.to_datetime(arrived_on).dt.normalize()).dt.days
    return (days >= 0) & (days < season.settings.number("quarantine_d"))


def kept_apart(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Return who is kept apart on a day, a row each, by name: those of `APART`, and beside (who shares place or room).

    until_on: the first day on which it may join. place: brooder, cage, or the pair that rears it; room: as `cages` has
    it; both blank where nobody says. Who came on one day came together: neither is beside the other.
    """
    here = _here(season, on)
    new = here[in_quarantine(season, here["arrived_on"], on)]
    new = new.assign(until_on=new["arrived_on"] + season.settings.number("quarantine_d") * _DAY)
    beside = []
    for one in new.itertuples():
        with_it = (here["place"].map(same) == same(str(one.place))) & (one.place != "")
        with_it |= (here["room"].map(same) == same(str(one.room))) & (one.room != "")
        beside.append(here.loc[with_it & (here["arrived_on"] != one.arrived_on), "who"].tolist())
    frame = typed_frame(new.to_dict("records"), APART)
    return frame.assign(beside=pd.Series(beside, index=frame.index, dtype=object))


def new_birds(season: Season, on: pd.Timestamp) -> dict[str, list[str]]:
    """Return the birds of each pair put up lately that no joined season knows, and of which nobody wrote where from.

    None where no earlier season is joined: there every bird is new.
    """
    pairs = season.pairs[in_quarantine(season, season.pairs["put_up_on"], on) & ~(season.pairs["parted_on"] <= on)]
    birds = season.logs["birds"]
    told = birds[["arrived_on", "father", "mother"]].notna().any(axis=1)
    known = {same(bird) for bird in birds.loc[told, "bird"]} | _known_before(season)
    new = {
        str(pair.pair): [bird for bird in (pair.cock, pair.hen) if bird and same(bird) not in known]
        for pair in pairs.itertuples()
    }
    return {pair: names for pair, names in new.items() if names and season.earlier}


def _known_before(season: Season) -> set[str]:
    """The names and rings of birds and chicks of the joined seasons, and of the chicks of this one."""
    names: set[str] = {same(name) for column in ("chick", "ring") for name in season.chicks[column]}
    for one in season.earlier:
        columns = [one.pairs["cock"], one.pairs["hen"], one.chicks["chick"], one.chicks["ring"]]
        columns += [one.logs["birds"]["bird"], one.logs["birds"]["ring"].dropna()]
        names |= {same(str(name)) for column in columns for name in column}
    return names


def _here(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Whoever is here on a day and where: chicks, the birds of pairs that are together, and those that came lately."""
    chicks = season.chicks[season.chicks["fate"].isin(["being reared", "weaned"]) & ~(season.chicks["left_on"] <= on)]
    chicks = chicks[~chicks["chick"].isin(unaccounted_chicks(season, on)["chick"])]
    parts = [
        pd.DataFrame({"who": chicks["chick"], "arrived_on": chicks["arrived_on"], "place": _places(season, chicks)})
    ]
    pairs = season.pairs[~(season.pairs["parted_on"] <= on) & ~(season.pairs["put_up_on"] > on)]
    birds = season.logs["birds"].assign(place="", who=season.logs["birds"]["bird"])
    came = dict(zip(birds["who"].map(same), pd.to_datetime(birds["arrived_on"]), strict=True))
    paired = pd.concat([pairs[[sex, "cage"]].set_axis(["who", "place"], axis=1) for sex in ("cock", "hen")])
    paired = paired[paired["who"] != ""]
    paired = paired.assign(arrived_on=pd.to_datetime(paired["who"].map(same).map(came)))
    alone = birds["arrived_on"].notna() & ~birds["who"].map(same).isin(set(paired["who"].map(same)))
    parts += [paired, birds.loc[alone, ["who", "arrived_on", "place"]]]
    rooms = dict(zip(season.cages["cage"].map(same), season.cages["room"], strict=True))
    here = pd.concat([part.astype({"arrived_on": "datetime64[us]"}) for part in parts], ignore_index=True)
    return here.assign(room=[rooms.get(same(place), "") for place in here["place"]])


def _places(season: Season, chicks: pd.DataFrame) -> pd.Series:
    """Where each chick is: its brooder, or the cage of the pair that rears it; blank once weaned, and where unsaid."""
    cages = dict(zip(season.pairs["pair"], season.pairs["cage"], strict=True))
    by_hand = chicks["brooder"].where(chicks["brooder"].ne("") | chicks["pair"].ne(""), chicks["cage"])
    nest = chicks["reared_by"].map(lambda pair: cages.get(pair) or pair)
    return nest.mask(chicks["by_hand"], by_hand).where(chicks["fate"] == "being reared", "")
