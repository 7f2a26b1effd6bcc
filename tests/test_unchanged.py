"""The text of everything a keeper reads stays as it is: `python tests/texts.py` writes what is held here anew."""

from difflib import unified_diff
from itertools import islice

import pytest
from texts import FILES, TEXTS

SHOWN = 40


@pytest.mark.parametrize("name", TEXTS)
def test_what_a_keeper_reads_is_unchanged(name):
    held = (FILES / f"{name}.txt").read_text("utf-8").split("\n")
    changes = unified_diff(held, TEXTS[name]().split("\n"), "held", "now", n=0, lineterm="")
    first = "\n".join(islice(changes, SHOWN))
    assert not first, f"{name} reads differently:\n{first}"
