"""Frames with the columns and types they are said to have: made so, or checked, and said where one has not."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def typed_frame(records: Sequence[Mapping[str, Any]], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return records as a frame with just the columns of `kinds`, also when there are none; missing text is blank."""
    return _typed(records, kinds) if records else _empty(tuple(kinds.items())).copy()


@cache
def _empty(kinds: tuple[tuple[str, str], ...]) -> pd.DataFrame:
    return _typed((), dict(kinds))


def _typed(records: Sequence[Mapping[str, Any]], kinds: Mapping[str, str]) -> pd.DataFrame:
    every = ([record.get(name) for record in records] for name in kinds)
    columns = {
        name: pd.Series(["" if cell is None and kind == "str" else cell for cell in cells], dtype=kind)
        for (name, kind), cells in zip(kinds.items(), every, strict=True)
    }
    return pd.DataFrame(columns)


def need_columns(by: str, frame: object, columns: Sequence[str]) -> None:
    """Refuse what is no frame, or has not each of the columns once; the ValueError names what is missing, and is there.

    `by` is who needs them, as the sentence begins.
    """
    if not isinstance(frame, pd.DataFrame):
        raise ValueError(f"{by} takes a frame with the columns {', '.join(columns)}, not {type(frame).__name__}.")
    if missing := [column for column in columns if column not in frame.columns]:
        there = ", ".join(map(str, frame.columns)) or "none"
        raise ValueError(
            f"{by} needs the columns {', '.join(columns)}; missing: {', '.join(missing)}. There are: {there}."
        )
    if twice := [column for column in columns if list(frame.columns).count(column) > 1]:
        raise ValueError(f"{by} needs the columns {', '.join(columns)}, and {', '.join(twice)} is there twice.")


def numbers_of(by: str, column: pd.Series) -> NDArray[np.float64]:
    """A column as numbers, NaN where it is blank; a ValueError names it, and the first value that is no number.

    Examples
    --------
    >>> numbers_of("Growth", pd.Series([5, None], name="mass_g", dtype="Int64")).tolist()
    [5.0, nan]
    """
    try:
        if column.dtype.kind in "mM":
            raise TypeError  # numpy would count their nanoseconds
        return np.asarray(column.to_numpy(float, na_value=np.nan))
    except (TypeError, ValueError):
        odd = next((value for value in column.dropna() if not _is_number(value)), "none")
        raise ValueError(f"{by} needs numbers in the column {column.name}, and finds {odd}.") from None


def truths_of(by: str, column: pd.Series) -> NDArray[np.bool_]:
    """A column as true and false, false where it is blank; a word would be true whatever it says.

    A ValueError names the column, and the first value that is neither.

    Examples
    --------
    >>> truths_of("Growth", pd.Series([True, None, 0], name="did_well", dtype=object)).tolist()
    [True, False, False]
    """
    known = column.dropna()
    odd = [value for value in known.unique() if value not in (0, 1)]
    if odd:
        raise ValueError(f"{by} needs true or false in the column {column.name}, and finds {odd[0]}.")
    return np.asarray(column.to_numpy(bool, na_value=False))


def days_of(by: str, column: pd.Series) -> pd.Series:
    """A column as days, NaT where it is blank; a ValueError names it, and the first value that is no day."""
    try:
        return pd.to_datetime(column)
    except (TypeError, ValueError):
        odd = column[pd.to_datetime(column, errors="coerce").isna() & column.notna()]
        raise ValueError(f"{by} needs days in the column {column.name}, and finds {odd.iloc[0]}.") from None


def _is_number(value: Any) -> bool:
    try:
        return not isinstance(value, pd.Timestamp | pd.Timedelta) and float(value) is not None
    except (TypeError, ValueError):
        return False
