"""The text of everything a keeper reads of the demo stays as it is; the other seasons: test_unchanged.py."""

import pytest
from test_unchanged import DEMO
from texts import changes


@pytest.mark.parametrize("name", DEMO)
def test_what_a_keeper_reads_is_unchanged(name):
    assert not (first := changes(name)), f"{name} reads differently:\n{first}"
