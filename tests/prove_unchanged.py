"""That all a keeper reads of the demo, five odd seasons and the command is as `tests/unchanged` holds it.

    python tests/prove_unchanged.py           all of it, two texts at a time: less than a minute (--short: the same)
    python tests/prove_unchanged.py german    one of them

What changed is printed as a diff, and the exit code is 1; `python tests/texts.py` writes what is held anew. The suite
itself reads the smallest of the seasons (`test_unchanged`).
"""

import os
import sys
import warnings
from concurrent.futures import ProcessPoolExecutor

# Before the numbers' library is loaded, as in conftest.py: two processes work side by side.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from texts import TEXTS, changes

LONGEST = ("demo", "hard_year", "command")


def changed(name: str) -> str:
    """The first lines in which a text is not as it is held; a warning is an error, as in the suite."""
    with warnings.catch_warnings(action="error"):
        return changes(name)


def main() -> None:
    """Compare the texts, those that take longest first."""
    asked = [word for word in sys.argv[1:] if word != "--short"]
    names = [name for name in dict.fromkeys((*LONGEST, *TEXTS)) if not asked or name in asked]
    if missing := set(asked) - set(names):
        sys.exit(f"no such text: {', '.join(missing)}; there are {', '.join(TEXTS)}")
    failed = 0
    with ProcessPoolExecutor(2) as two:
        for name, lines in zip(names, two.map(changed, names), strict=True):
            print(f"{name} reads differently:\n{lines}" if lines else f"{name}: unchanged", flush=True)
            failed += bool(lines)
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
