"""`season`: parses arguments, calls one function, prints. Owns no logic."""

import io
import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import click

from analysis.ending import STOPPED, leave_signals
from analysis.errors import SeasonError, unforeseen
from analysis.guard import on_screen

# Matrices here are small: threads of the linear algebra library would only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

EXIT_NOT_USED, EXIT_FAILED, EXIT_STOPPED, EXIT_NO_READER = 1, 2, 130, 141
_FOLDER = click.Path(path_type=Path, readable=False)  # whoever opens it says why it cannot be read
_HELP = getattr(click.exceptions, "NoArgsIsHelpError", ())  # from click 8.2 on; it says nothing that was typed


class _Commands(click.Group):
    """Turns the one exception a keeper can meet into one plain sentence, and any other into what to do with it."""

    def make_context(self, *args: Any, **options: Any) -> click.Context:
        with _wrong_words_shown():
            return super().make_context(*args, **options)

    def invoke(self, ctx: click.Context) -> Any:
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="replace")  # a terminal that lacks a letter shows a question mark
        try:
            with _wrong_words_shown():
                return super().invoke(ctx)
        except SeasonError as wrong:
            _say(f"season: {wrong}", err=True)
            ctx.exit(EXIT_FAILED)
        except KeyboardInterrupt:
            _say("", f"season: {STOPPED}", err=True)
            ctx.exit(EXIT_STOPPED)
        except BrokenPipeError:  # `| head` has read enough
            _say_no_more()
            ctx.exit(EXIT_NO_READER)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as trouble:
            _say(f"season: {unforeseen(trouble)}", err=True)
            ctx.exit(EXIT_FAILED)


def _say_no_more() -> None:
    """Send what is still to be printed nowhere: nobody reads it."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            os.dup2(nowhere, stream.fileno())


@contextmanager
def _wrong_words_shown() -> Iterator[None]:
    """Let what was typed on the command line come back in a refusal as `on_screen` shows it."""
    try:
        yield
    except _HELP:
        raise
    except click.UsageError as wrong:
        said = on_screen(wrong.format_message())
        wrong.format_message = lambda: said  # type: ignore[method-assign]
        raise


def _say(*lines: str, err: bool = False, before: str = "", end: str = "\n") -> None:
    """Print lines: whatever stands in them, none commands the terminal. `before` and `end` are our own."""
    for line in lines:
        click.echo(f"{before}{on_screen(line)}{end}", err=err, nl=False)


def _with_earlier(command: Any) -> Any:
    return click.option(
        "--with",
        "earlier",
        multiple=True,
        type=_FOLDER,
        metavar="EARLIER",
        help="The folder of an earlier season to join; may be given more than once.",
    )(command)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="breeding-season-workbook", message="%(version)s")
def main() -> None:
    """Breeding-season logs in; what they say about pairs, chicks and growth out.

    Begin with: season new my_season, then fill in hatches, then: season report my_season
    """


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--all", "every", is_flag=True, help="Every log with every column, not just the small form.")
@click.option("--workbook", is_flag=True, help="One workbook with a sheet a log, in the place of CSV files.")
def new(folder: Path, every: bool, workbook: bool) -> None:
    """Write blank logs to fill in.

    Files that are there already are never touched. For example: season new my_season --workbook
    """
    from analysis.logs.blank import write_blank_logs
    from analysis.logs.blank_book import write_blank_workbook
    from analysis.words import count_words

    written = (write_blank_workbook if workbook else write_blank_logs)(folder, every=every)
    for path in written:
        _say(f"  {path}")
    guide = "its first sheet" if workbook else "how_to_fill_in.md"
    _say(f"{count_words(len(written), 'new file')} in {folder}. Fill in hatches first; {guide} says how.")
    _say(f"Then: season report {_typed(folder)}")


@main.command()
@click.argument("folder", type=_FOLDER)
@_with_earlier
@click.option("--json", "as_json", is_flag=True, help="The same as one JSON object.")
@click.option("--mark", is_flag=True, help="Also write a copy of the logs as a workbook, each problem at its cell.")
def check(folder: Path, earlier: tuple[Path, ...], as_json: bool, mark: bool) -> None:
    """Read the logs and list every problem.

    Also what was assumed: how dates, numbers and headings were read.

    Exit code 0; 1 where a row or a cell was not used; 2 when no log can be used.
    For example: season check my_season --mark
    """
    from analysis.checking import check_json, check_text, exit_code
    from analysis.season import open_season

    season = open_season(folder, earlier)
    _say(*(check_json(season) if as_json else check_text(season)).split("\n"))
    if mark:
        from analysis.logs import Ledger, read_folder
        from analysis.marking import write_marked

        out = Path(f"{folder.resolve().name}_marked.xlsx")
        _say(f"Marked copy: {write_marked(season, read_folder(folder, Ledger()), out)}", err=as_json)
    sys.exit(exit_code(season))


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--out", type=_FOLDER, help="Where to; reports/ and the folder's name by default.")
@click.option("--up-to", metavar="YYYY-MM-DD", help="As the season stood at the end of this day.")
@_with_earlier
def report(folder: Path, out: Path | None, up_to: str | None, earlier: tuple[Path, ...]) -> None:
    """Make the season report, a PDF.

    Beside it lie the notebook it is made from, and its tables as CSV.
    For example: season report my_season --up-to 2026-05-20 --with last_season
    """
    from analysis.report.season_report import season_report

    made = season_report(folder, out, earlier=earlier, up_to=up_to, progress=_progress)
    _print(made.lines())


@main.command("round")
@click.argument("folder", type=_FOLDER)
@click.option("--on", metavar="YYYY-MM-DD", help="The day; today by default. What was logged later is left out.")
@click.option("--out", type=_FOLDER, help="Where to; reports/ and the folder's name by default.")
@click.option("--csv", "form", is_flag=True, help="Also write the rows for this morning's weights, to type into.")
@_with_earlier
def round_(folder: Path, on: str | None, out: Path | None, form: bool, earlier: tuple[Path, ...]) -> None:
    """Print this morning's round.

    Who must be looked at first, who is fed in which order, what is due: one or two pages to write on.
    For example: season round my_season --on 2026-05-20
    """
    from analysis.report.morning import morning_round

    _print(morning_round(folder, out, on=on, csv=form, earlier=earlier).lines())


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--out", type=_FOLDER, help="Where to; reports/ and the folder's name by default.")
@click.option("--chick", multiple=True, metavar="K07,K08", help="Chicks that leave, a paper for each; may be repeated.")
@_with_earlier
def sheets(folder: Path, out: Path | None, chick: tuple[str, ...], earlier: tuple[Path, ...]) -> None:
    """Print a page for each pair.

    With --chick also the paper that goes with a chick when it leaves.
    For example: season sheets my_season --chick K07,K08
    """
    from analysis.report.sheets import season_sheets

    leaving = [name.strip() for name in ",".join(chick).split(",") if name.strip()]
    _print(season_sheets(folder, out, earlier=earlier, chicks=leaving, progress=_progress).lines())


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--keep", metavar="P01,P02", help="The pairs to keep, with commas between; all of them by default.")
@_with_earlier
def outlook(folder: Path, keep: str | None, earlier: tuple[Path, ...]) -> None:
    """Look ahead at next season with some pairs.

    What these pairs would give, as ranges.

    For example: season outlook my_season --keep P01,P04
    """
    from analysis.outlook import outlook, outlook_lines
    from analysis.season import open_season

    names = None if keep is None else [name.strip() for name in keep.split(",") if name.strip()]
    _print(outlook_lines(outlook(open_season(folder, earlier), names)))


@main.command()
@click.argument("folder", type=_FOLDER, required=False)
@click.option("--port", type=int, default=8888, show_default=True, help="The port on this machine.")
@click.option("--no-browser", is_flag=True, help="Print the address and open no browser.")
def lab(folder: Path | None, port: int, no_browser: bool) -> None:
    """Open the chapters in your browser.

    In JupyterLab, on this machine only, with your own copy of the notebooks.

    For example: season lab my_season
    """
    from analysis.lab import open_lab

    leave_signals()  # it has servers to end first
    open_lab(folder, port=port, browser=not no_browser, say=_say)


def _print(lines: Iterable[str]) -> None:
    """Print lines, long ones broken between words where a terminal is narrower."""
    width = shutil.get_terminal_size().columns if sys.stdout.isatty() else sys.maxsize
    folded = textwrap.TextWrapper(width, break_long_words=False, break_on_hyphens=False)  # a path stays whole
    for line in map(on_screen, lines):
        folded.subsequent_indent = " " * (len(line) - len(line.lstrip()) + 2)
        _say(*(line if len(line) <= width else folded.fill(line)).split("\n"))


def _typed(folder: Path) -> str:
    """A folder as it is typed on a command line."""
    return f'"{folder}"' if " " in str(folder) else str(folder)


def _progress(done: int, total: int, heading: str) -> None:
    """Show one line that rewrites itself on a terminal, and nothing elsewhere; without a total, only what is done."""
    if sys.stderr.isatty():
        count = f"{done:>2} of {total}  " if total else ""
        end = "\n" if total and done == total else ""
        _say(f"  {count}{heading}", err=True, before="\r\x1b[K", end=end)
