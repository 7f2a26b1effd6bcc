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

from analysis import __version__
from analysis.ending import leave_signals
from analysis.errors import SeasonError
from analysis.guard import on_screen
from analysis.say import say
from analysis.trouble import unforeseen

# Matrices here are small: threads of the linear algebra library would only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

EXIT_NOT_USED, EXIT_FAILED, EXIT_STOPPED, EXIT_NO_READER = 1, 2, 130, 141
_FOLDER = click.Path(path_type=Path, readable=False)  # whoever opens it says why it cannot be read


class _Command(click.Command):
    """Its help is written when it is asked for: the language may be chosen later than commands are made."""

    @property
    def help(self) -> str:
        return say(f"command.help-{self.name}")

    @help.setter
    def help(self, _: str | None) -> None:
        """What stands in its function is for whoever reads that."""


class _Option(click.Option):
    """The same for what can be set."""

    @property
    def help(self) -> str:
        return say(f"command.option-{str(self.name).replace('_', '-')}")

    @help.setter
    def help(self, _: str | None) -> None:
        """Nothing stands in the place where it is made."""


class _Commands(_Command, click.Group):
    """Turns the one exception a keeper can meet into one plain sentence, and any other into what to do with it."""

    command_class = _Command

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
            _say("", f"season: {say('command.stopped')}", err=True)
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
    except click.exceptions.NoArgsIsHelpError:  # it says nothing that was typed
        raise
    except click.UsageError as wrong:
        said = on_screen(wrong.format_message())
        wrong.format_message = lambda: said  # type: ignore[method-assign]
        raise


def _say(*lines: str, err: bool = False, before: str = "", end: str = "\n") -> None:
    """Print lines: whatever stands in them, none commands the terminal. `before` and `end` are our own."""
    for line in lines:
        click.echo(f"{before}{on_screen(line)}{end}", err=err, nl=False)


_with_earlier = click.option("--with", "earlier", multiple=True, type=_FOLDER, metavar="EARLIER", cls=_Option)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="%(version)s")
def main() -> None:
    """Breeding-season logs in; what they say about pairs, chicks and growth out."""


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--all", "every", is_flag=True, cls=_Option)
@click.option("--workbook", is_flag=True, cls=_Option)
def new(folder: Path, every: bool, workbook: bool) -> None:
    """Write blank logs to fill in."""
    from analysis.logs.blank import write_blank_logs, write_blank_workbook
    from analysis.season.days import today

    write = write_blank_workbook if workbook else write_blank_logs
    written = write(folder, every=every, season=str(today().year))
    for path in written:
        _say(f"  {path}")
    _say(say("command.new-workbook" if workbook else "command.new-logs", files=len(written), folder=folder))
    _say(say("command.then-report", folder=_typed(folder)))


@main.command()
@click.argument("folder", type=_FOLDER)
@_with_earlier
@click.option("--json", "as_json", is_flag=True, cls=_Option)
@click.option("--mark", is_flag=True, cls=_Option)
def check(folder: Path, earlier: tuple[Path, ...], as_json: bool, mark: bool) -> None:
    """Read the logs and list every problem."""
    from analysis.check.summary import check_json, check_text, exit_code
    from analysis.season import open_season

    season = open_season(folder, earlier)
    if as_json:
        _say(*check_json(season).split("\n"))
    else:
        _print(check_text(season).split("\n"))
    if mark:
        from analysis.check.marked_copy import write_marked
        from analysis.logs import Ledger, read_folder

        out = Path(f"{folder.resolve().name}_marked.xlsx")
        copy = write_marked(season, read_folder(folder, Ledger()), out)
        _say(say("command.marked", path=copy), err=as_json)
    sys.exit(exit_code(season))


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--out", type=_FOLDER, cls=_Option)
@click.option("--up-to", metavar="YYYY-MM-DD", cls=_Option)
@_with_earlier
def report(folder: Path, out: Path | None, up_to: str | None, earlier: tuple[Path, ...]) -> None:
    """Make the season report, a PDF."""
    from analysis.report.season_report import season_report

    made = season_report(folder, out, earlier=earlier, up_to=up_to, progress=_progress)
    _print(made.lines())


@main.command("round")
@click.argument("folder", type=_FOLDER)
@click.option("--on", metavar="YYYY-MM-DD", cls=_Option)
@click.option("--out", type=_FOLDER, cls=_Option)
@click.option("--csv", "form", is_flag=True, cls=_Option)
@_with_earlier
def round_(folder: Path, on: str | None, out: Path | None, form: bool, earlier: tuple[Path, ...]) -> None:
    """Print this morning's round."""
    from analysis.report.round_page import morning_round

    _print(morning_round(folder, out, on=on, csv=form, earlier=earlier).lines())


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--out", type=_FOLDER, cls=_Option)
@click.option("--chick", multiple=True, metavar="K07,K08", cls=_Option)
@_with_earlier
def sheets(folder: Path, out: Path | None, chick: tuple[str, ...], earlier: tuple[Path, ...]) -> None:
    """Print a page for each pair."""
    from analysis.report.sheets_and_papers import season_sheets

    leaving = [name.strip() for name in ",".join(chick).split(",") if name.strip()]
    _print(season_sheets(folder, out, earlier=earlier, chicks=leaving, progress=_progress).lines())


@main.command()
@click.argument("folder", type=_FOLDER)
@click.option("--keep", metavar="P01,P02", cls=_Option)
@_with_earlier
def outlook(folder: Path, keep: str | None, earlier: tuple[Path, ...]) -> None:
    """Look ahead at next season with some pairs."""
    from analysis.pairs.next_season import outlook, outlook_lines
    from analysis.season import open_season

    names = None if keep is None else [name.strip() for name in keep.split(",") if name.strip()]
    _print(outlook_lines(outlook(open_season(folder, earlier), names)))


@main.command()
@click.argument("folder", type=_FOLDER, required=False)
@click.option("--port", type=int, default=8888, show_default=True, cls=_Option)
@click.option("--no-browser", is_flag=True, cls=_Option)
@click.option("--recipes", is_flag=True, cls=_Option)
def lab(folder: Path | None, port: int, no_browser: bool, recipes: bool) -> None:
    """Open the chapters in your browser."""
    from analysis.lab.starting import open_lab

    leave_signals()  # it has servers to end first
    open_lab(folder, port=port, browser=not no_browser, recipes=recipes, tell=_say)


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
        count = say("command.progress", done=done, total=total) if total else ""
        end = "\n" if total and done == total else ""
        _say(f"  {count}{heading}", err=True, before="\r\x1b[K", end=end)
