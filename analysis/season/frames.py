"""Records → a frame whose columns have the types they are said to have; missing text is blank."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd


def typed_frame(records: Sequence[Mapping[str, Any]], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return records as a frame with just the columns of `kinds`, in that order, also when there are none.

    Examples
    --------
    >>> typed_frame([{"pair": None, "eggs": 3}], {"pair": "str", "eggs": "Int64"}).to_dict("records")
    [{'pair': '', 'eggs': 3}]
    """
    columns = {
        name: pd.Series([_plain(record.get(name), kind) for record in records], dtype=kind)
        for name, kind in kinds.items()
    }
    return pd.DataFrame(columns)


def _plain(value: Any, kind: str) -> Any:
    return "" if value is None and kind == "str" else value
