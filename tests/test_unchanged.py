"""The text of everything a keeper reads of a season stays as it is: the smallest here, all in `prove_unchanged`."""

from texts import changes


def test_what_a_keeper_reads_of_a_small_season_is_unchanged():
    assert not (first := changes("only_hatches")), f"it reads differently:\n{first}"
