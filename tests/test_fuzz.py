"""A few of what tests/fuzz_logs.py and tests/prove_hostile.py try by the hundred and thousand."""

import pytest
from fuzz_logs import run


@pytest.mark.slow
def test_a_mangled_folder_crashes_nothing_and_loses_nothing():
    kinds, wrong = run(12, 400)
    assert not wrong, "\n".join(wrong)
    assert len(kinds) > 5


@pytest.mark.parametrize("proof", ["bytes_put_in", "rows_as_counted", "values_as_written", "binary_files", "in_tables"])
def test_of_hostile_input_nothing_but_its_row_is_lost(proof):
    pytest.importorskip("pty")
    import prove_hostile

    tried, wrong = prove_hostile.prove(getattr(prove_hostile, proof), 4, 3)
    assert tried > 1
    assert not wrong, "\n".join(wrong)
