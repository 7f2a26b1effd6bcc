"""That every word is said through `say` and nothing is decided by a sentence: `python tests/prove_said.py`.

Every word of every output of the demo, the odd seasons and the command line; and what is decided of the odd seasons,
with every sentence replaced by its code. --short leaves out the seasons that the suite reads (`test_speaking`) and the
demo. What was not said or was decided otherwise is listed; there was nothing to list in any of the seven seasons.
"""

import sys

import test_speaking
import texts

DEMO = ("demo", texts.ALONE)


def main() -> None:
    """List what was not said, and what a sentence decided, season by season."""
    short = sys.argv[1:] == ["--short"]
    seasons = [one for one in texts.SEASONS if not short or one not in (*test_speaking.SEASONS, *DEMO)]
    command = test_speaking.unsaid_of_command()
    print(f"the command line: {len(command)} not said", *command, sep="\n  ", flush=True)
    left = len(command)
    for season in seasons:
        found = [f"not said: {one}" for one in test_speaking.unsaid_of(season)]
        decided = () if season in DEMO else test_speaking.decided_otherwise(season)
        found += [f"decided: {one}" for one in decided]
        print(f"{season}: {len(found)} not said or decided by a sentence", *found, sep="\n  ", flush=True)
        left += len(found)
    sys.exit(left > 0)


if __name__ == "__main__":
    main()
