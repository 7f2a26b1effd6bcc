"""What `season` and `python -m analysis` start: the signals first, so that Ctrl-C is answered while the rest loads."""

from analysis.ending import catch_signals


def main() -> None:
    """Run the command."""
    catch_signals()
    from analysis.cli import main as season

    season()


if __name__ == "__main__":
    main()
