"""What `season` starts: the signals first, so that Ctrl-C is answered while the rest still loads."""

from analysis.ending import catch_signals


def main() -> None:
    """Run the command."""
    catch_signals()
    from analysis.cli import main as season

    season()
