"""Frames as CSV that a spreadsheet opens without surprises."""

from typing import Any

import pandas as pd

from analysis.finding import Finding
from analysis.guard import guarded
from analysis.say import in_words
from analysis.show.letters import whole


def _text_is_text(value: Any) -> Any:
    value = in_words(value) if isinstance(value, Finding) else value
    if not isinstance(value, str):
        return value
    text = whole(value).replace("\r\n", "\n").replace("\r", "\n")  # a lone \r would end the row for some readers
    return guarded(text)


def csv_text(frame: pd.DataFrame) -> str:
    """The frame as CSV text at full precision; the index is written only where it has a name.

    Text that a spreadsheet would take for a formula gets an apostrophe, as `guarded` says, heads too. Numbers stay
    numbers.

    Parameters
    ----------
    frame
        Any frame.

    Returns
    -------
    str
        Comma separated, one line a row, lines ended by a line feed.

    Notes
    -----
    Which first characters: OWASP, "CSV Injection" (from memory).

    Examples
    --------
    >>> print(csv_text(pd.DataFrame({"note": ["=1+1", "ok"], "gain_g": [-0.1, 2.0]})), end="")
    note,gain_g
    '=1+1,-0.1
    ok,2.0
    """
    plain = with_named_index(frame)
    safe = pd.DataFrame({at: plain.iloc[:, at] for at in range(plain.shape[1])})
    for at in safe:
        if not pd.api.types.is_numeric_dtype(safe[at]):
            safe[at] = safe[at].astype(object).map(_text_is_text, na_action="ignore")
    heads = [_text_is_text(str(head)) for head in plain.columns]
    return str(safe.to_csv(index=False, header=heads, lineterminator="\n"))


def with_named_index(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with an index that has a name turned into columns; other indexes are only row numbers.

    Examples
    --------
    >>> list(with_named_index(pd.DataFrame({"A_g": [92.0]}, index=pd.Index(["K03"], name="chick"))))
    ['chick', 'A_g']
    """
    if all(name is None for name in frame.index.names):
        return frame
    index = frame.index.to_frame(index=False)
    return pd.concat([index, frame.reset_index(drop=True)], axis=1)
