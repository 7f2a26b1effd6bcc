"""A few of the folders that tests/fuzz_logs.py mangles by the thousand."""

from fuzz_logs import run


def test_a_mangled_folder_crashes_nothing_and_loses_nothing():
    kinds, wrong = run(12, 400)
    assert not wrong, "\n".join(wrong)
    assert len(kinds) > 5
