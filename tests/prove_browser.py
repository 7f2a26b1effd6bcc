"""That every chapter runs in `season lab` in a real browser, draws its charts, and answers to the mouse and the keys.

`python tests/prove_browser.py` opens all of them, in about two minutes; --short is the same. Without Chromium there
is no proof, and that fails where CI is set.
"""

import sys
from pathlib import Path

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main([str(Path(__file__).with_name("in_browser.py")), "-n", "0", "-q"]))
