"""Records → a frame whose columns have the types they are said to have; missing text is blank."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from analysis.names import name_key


def typed_frame(records: Sequence[Mapping[str, Any]], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return records as a frame with just the columns of `kinds`, in that order, also when there are none."""
    every = ([record.get(name) for record in records] for name in kinds)
    columns = {
        name: pd.Series(["" if cell is None and kind == "str" else cell for cell in cells], dtype=kind)
        for (name, kind), cells in zip(kinds.items(), every, strict=True)
    }
    return pd.DataFrame(columns)


def typed_columns(columns: Mapping[str, Any], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return columns as a frame with just the columns of `kinds`, in that order, numbered from 0."""
    frame = {name: pd.Series(np.asarray(columns[name]), dtype=kind) for name, kind in kinds.items()}
    return pd.DataFrame(frame, copy=False)


def sorted_by_name(frame: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Sort rows by columns of names in the order a keeper looks for them, P2 before P10; equals keep their order."""
    keys = list(zip(*(frame[column].map(name_key) for column in columns), strict=True))
    return frame.iloc[sorted(range(len(frame)), key=keys.__getitem__)].reset_index(drop=True)
