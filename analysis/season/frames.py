"""Records → a frame whose columns have the types they are said to have; missing text is blank."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from analysis.names import name_key


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


def typed_columns(columns: Mapping[str, Any], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return columns as a frame with just the columns of `kinds`, in that order, numbered from 0.

    Examples
    --------
    >>> typed_columns({"eggs": [3], "pair": ["P1"]}, {"pair": "str", "eggs": "Int64"}).to_dict("records")
    [{'pair': 'P1', 'eggs': 3}]
    """
    frame = {name: pd.Series(np.asarray(columns[name]), dtype=kind) for name, kind in kinds.items()}
    return pd.DataFrame(frame, copy=False)


def sorted_by_name(frame: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Sort rows by columns of names in the order a keeper looks for them, keeping the order of equals.

    Examples
    --------
    >>> sorted_by_name(pd.DataFrame({"pair": ["P10", "P2"]}), ["pair"])["pair"].tolist()
    ['P2', 'P10']
    """
    keys = list(zip(*(frame[column].map(name_key) for column in columns), strict=True))
    return frame.iloc[sorted(range(len(frame)), key=keys.__getitem__)].reset_index(drop=True)


def _plain(value: Any, kind: str) -> Any:
    return "" if value is None and kind == "str" else value
