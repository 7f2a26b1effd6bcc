"""The text of everything a keeper reads stays as it is: `python tests/texts.py` writes what is held here anew."""

import pytest
from texts import ALONE, TEXTS, changes

DEMO = ("demo", ALONE)  # half of the time: see test_unchanged_demo.py, so that two processes share it


@pytest.mark.parametrize("name", [name for name in TEXTS if name not in DEMO])
def test_what_a_keeper_reads_is_unchanged(name):
    assert not (first := changes(name)), f"{name} reads differently:\n{first}"
