"""What the record says of pairs, worked out by one process while another reads weights and lays out tables.

It needs nothing but the logs, and the command waits while its kernel works. Where nobody works ahead, or the
hand-over fails, it is worked out where it is asked for; it is the same.
"""

import copyreg
import os
import pickle
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType
from typing import Any

from analysis.season import Season

VARIABLE = "SEASON_WORKED_AHEAD"  # the file that it will be in, set for the kernel of a report
_LONGEST_S, _LOOK_S = 60.0, 0.01


def key_of(season: Season) -> tuple[Any, ...]:
    """What tells two seasons apart whose record may differ: their logs, and the day they are looked at.

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026")
    >>> key_of(season) == key_of(open_season("data_demo/season_2026", up_to="2026-05-20"))
    False
    """
    return tuple((one.fingerprint, str(one.as_of)) for one in (season, *season.earlier))


def work_ahead(season: Season, file: Path, work: Callable[[Season], Any]) -> None:
    """Do a piece of work on a season beside whatever else goes on, and put what it gives into a file."""
    threading.Thread(target=_work, args=(season, file, work), daemon=True).start()


def _work(season: Season, file: Path, work: Callable[[Season], Any]) -> None:
    waiting = file.with_suffix(".part")
    try:
        found = pickle.dumps((key_of(season), work(season)))
    except Exception:  # whoever asks for it works it out, and meets what is wrong where it can be said
        found = pickle.dumps((key_of(season), None))
    try:
        waiting.write_bytes(found)
        os.replace(waiting, file)
    except OSError:  # the run is over, and its folder gone
        return


def _frozen(plain: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(plain)


copyreg.pickle(MappingProxyType, lambda frozen: (_frozen, (dict(frozen),)))  # a season's logs are frozen


def worked_ahead(season: Season) -> Any:
    """What was worked out ahead for this season, waited for; None where there is nothing."""
    file = os.environ.get(VARIABLE)
    if not file:
        return None
    until = time.monotonic() + _LONGEST_S
    while not Path(file).exists():
        if time.monotonic() > until or not Path(file).parent.is_dir():
            return None
        time.sleep(_LOOK_S)
    try:
        key, found = pickle.loads(Path(file).read_bytes())
    except Exception:  # a hand-over that is damaged is none
        return None
    return found if key == key_of(season) else None
