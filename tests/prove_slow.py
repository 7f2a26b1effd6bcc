"""The tests that take seconds each: thousands of rows, simulated seasons, runs that are ended, an installed wheel.

`python tests/prove_slow.py` runs what is marked slow in tests/, in about three minutes; --short is the same.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main([str(Path(__file__).parent), "-m", "slow", "-q"]))
