"""What `season` and `python -m analysis` start: the signals first, so that Ctrl-C is answered while the rest loads."""

import os

from analysis.ending import catch_signals


def main() -> None:
    """Run the command."""
    catch_signals()
    # Our matrices are small: several threads only wait for each other, most of all where other programs work.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from analysis.cli import main as season

    season()


if __name__ == "__main__":
    main()
