"""That every word of every output is said through `say`, in the demo and the odd seasons: `python tests/prove_said.py`.

--short leaves out those that the suite reads (`test_speaking`) and the demo. What was not said is listed; there was
nothing to list in any of the seven seasons.
"""

import sys

import test_speaking
import texts


def main() -> None:
    """List what was not said, season by season."""
    short = sys.argv[1:] == ["--short"]
    seasons = [one for one in texts.SEASONS if not short or one not in (*test_speaking.SEASONS, "demo", texts.ALONE)]
    left = 0
    for season in seasons:
        found = test_speaking.unsaid_of(season)
        print(f"{season}: {len(found)} not said", *found, sep="\n  ", flush=True)
        left += len(found)
    sys.exit(left > 0)


if __name__ == "__main__":
    main()
