"""What is counted beside a rate, or at a step of the path: how many of what."""

from collections.abc import Mapping
from typing import SupportsInt

from analysis.finding import Finding, Words, found


def counted(numbers: Mapping[str, SupportsInt]) -> list[Finding]:
    """What is more than none.

    Parameters
    ----------
    numbers
        How many, by the code of what they are.

    Examples
    --------
    >>> [(one.code, one.facts["n"]) for one in counted({"rates.clear": 3, "rates.lost": 0})]
    [('rates.clear', 3)]
    """
    return [found(code, n=int(number)) for code, number in numbers.items() if int(number) > 0]


def parts(numbers: Mapping[str, SupportsInt]) -> Words:
    """The same as one finding; blank where all are none.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(parts({"rates.clear": 3, "rates.lost": 1})), parts({"rates.lost": 0})
    ('3 clear, 1 lost', '')
    """
    some = counted(numbers)
    return found("rates.parts", parts=some) if some else ""
