"""That every chapter runs in `season lab` in a real browser, draws its charts, and the browser has no complaint.

`python tests/prove_browser.py` opens all of them and does all that `test_browser` does; --short opens those alone that
the suite leaves to this proof, about half a minute. Without Chromium there is no proof, and that fails where CI is set.
"""

import os
import sys
from pathlib import Path

import pytest

TEST = Path(__file__).with_name("test_browser.py")
OTHERS = "01 02 03 05 07"


def main() -> None:
    """Run the test of the browser on more chapters."""
    short = "--short" in sys.argv
    os.environ["BROWSER_CHAPTERS"] = OTHERS if short else f"00 {OTHERS} 04 06 08 09"
    only = ["-k", "a_chapter_runs"] if short else []
    sys.exit(pytest.main([str(TEST), "-n", "0", "-q", *only]))


if __name__ == "__main__":
    main()
