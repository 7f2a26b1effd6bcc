"""A cell of weights: how much, in which unit, and what else a keeper wrote into it."""

import re
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from analysis.finding import found
from analysis.logs.cells import DIGITS, GRAMS, BadCell, measure, read_weight, two_readings, unit_words, without_about
from analysis.logs.headings import choice_meant, key_of, words_of
from analysis.logs.tables import LOGS, OUTCOMES, SIGNS, keepers_words

_CROPS = LOGS["weights"].columns[3].choices
_CROP = {"crop", "kropf", "jabot", "buche", "papo", "krop"}
_ENDING = re.compile(r"e[rsmn]?$")  # "voller Kropf"
_BESIDE = re.compile(
    rf"((?:{DIGITS})\s*(?:(?:{'|'.join(unit_words(*GRAMS))})\.?)?)(?!\w)\s*([(\[,;–—-]?)\s*(\D+?)\s*[)\]]?",
    re.IGNORECASE,
)
_LONGEST = 200  # letters; a longer text is no weight with a word beside it
_FITS = 3.0  # so many times under the least of its file, or over the most, a number is none of it (practice)


class WeightCell(NamedTuple):
    """What a cell says: grams; whether it names another unit, and is only "about"; the crop, or a remark, beside it.

    `number` is the weight as written, where anything stands beside it.
    """

    grams: float
    other_unit: bool
    about: bool
    crop: str = ""
    remark: str = ""
    number: str = ""

    @property
    def beside(self) -> dict[str, str]:
        """What belongs in other columns of the log."""
        return {"crop": self.crop, "notes": self.remark}

    @property
    def said(self) -> list[tuple[str, dict[str, str]]]:
        """What is said of that: the code of a rule with its facts."""
        if self.crop:
            return [("crop-beside-weight", {"number": self.number, "crop": self.crop})]
        return [("words-beside-weight", {"number": self.number, "words": self.remark})] if self.remark else []


def weight_cell(text: str, unit: str, decimal: str = "", usual: tuple[float, float] | None = None) -> WeightCell:
    """Read a cell of weights. `usual` are the least and most of the clear numbers of its file.

    Raises `BadCell`, with the code "loss-in-weights" or "word-in-weights" where a word says what another log holds, and
    "ambiguous-number" where a number such as 1,200 fits its file in two ways, or in none.

    Examples
    --------
    >>> weight_cell("7 (full crop)", "g")[:5]
    (7.0, False, False, 'full', '')
    """
    try:
        return WeightCell(*read_weight(text, unit, _sign(text, decimal, usual)))
    except BadCell as bad:
        if str(bad) != "unreadable-number":
            raise
        plain, about = without_about(text)
        beside = _BESIDE.fullmatch(plain) if len(plain) <= _LONGEST else None
        if not beside:
            _refuse_word(text)
        crop = _crop(beside[3]) if beside else ""
        if beside is None or not (crop or beside[2]):
            raise
    read = read_weight(beside[1], unit, _sign(beside[1], decimal, usual))
    return WeightCell(*read[:2], about, crop, "" if crop else beside[3], beside[1].strip())


def usual_weights(texts: Iterable[str], decimal: str) -> tuple[float, float] | None:
    """Return the least and most of the numbers that read one way only; None where there is none, or all do."""
    texts = list(texts)
    if not any(map(two_readings, texts)):
        return None
    clear = []
    for text in texts:
        try:
            value, unit, _ = measure(text, decimal)
        except BadCell:
            continue
        clear += [value] if value > 0 and not unit and not two_readings(text) else []
    return (min(clear), max(clear)) if clear else None


def _sign(text: str, decimal: str, usual: tuple[float, float] | None) -> str:
    """The decimal sign by which a number is read: the file's, unless 1,200 may be 1200 and 1.2 alike there."""
    both = two_readings(text)
    if both is None or both.mark == decimal or usual is None:
        return decimal
    thousands, part = (usual[0] / _FITS <= one <= usual[1] * _FITS for one in (both.thousands, both.decimals))
    if thousands == part:
        raise BadCell("ambiguous-number")
    return both.mark if part else {",": ".", ".": ","}[both.mark]


def _crop(words: str) -> str:
    """How full a crop is by words such as "crop full"; blank where they say something else."""
    left = " ".join(word for word in words_of(words) if word not in _CROP)
    return choice_meant(left, _CROPS) or choice_meant(_ENDING.sub("", left), _CROPS) or ""


def _refuse_word(text: str) -> None:
    """Refuse a word that another log should hold, and say which."""
    key = key_of(without_about(text, day=True)[0]) if len(text) <= 60 else ""
    seen = "sign" if choice_meant(text, SIGNS) else "outcome" if choice_meant(text, OUTCOMES) else ""
    what = _words().get(key) or seen
    if what == "lost" or (not key and text.strip() in ("†", "✝", "+")):
        raise BadCell("loss-in-weights")
    if what:
        raise BadCell("word-in-weights", where=found(f"problems.belongs-{what}"))


@cache
def _words() -> dict[str, str]:
    return {key_of(word): what for what, words in keepers_words()["in_weights"].items() for word in words}
