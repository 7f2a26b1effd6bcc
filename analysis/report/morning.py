"""A season folder → the morning's round on paper, and the lines that say where it is. No kernel, no notebook."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from analysis.finding import Words, found
from analysis.report.round_page import read_first, round_page
from analysis.report.writing import claim, put_all, reports_folder, said_of, scratch_folder
from analysis.say import say
from analysis.season import Season, open_season
from analysis.season.clock import today


@dataclass(frozen=True)
class MorningRound:
    """A finished round: its files (no CSV where none was asked for), and what is read first (who, sentence)."""

    pdf: Path
    csv: Path | None
    read: tuple[tuple[str, str], ...]

    def lines(self) -> list[str]:
        """Return what the command prints: where the files are, and what is read first."""
        lines = [say("report.made-round", path=self.pdf)]
        if self.csv is not None:
            lines.append(say("report.made-weights", path=self.csv))
        lines += said_of((self.pdf, self.csv))
        if not self.read:
            return lines
        first = [say("report.line", what=who, said=said) for who, said in self.read]
        return [*lines, "", say("paper.read-first"), *first]


def morning_round(
    folder: Path,
    out: Path | None = None,
    *,
    on: str | None = None,
    csv: bool = False,
    earlier: Sequence[Path] = (),
) -> MorningRound:
    """Make the round of a day from a season folder.

    Parameters
    ----------
    folder
        The season folder.
    out
        Where to; `reports/` and the folder's name by default.
    on
        The day, as 2026-05-20; today by default. What was logged later is left out.
    csv
        Also write the form for this morning's weights, which the season folder takes as it is. A form that somebody
        wrote in stays, and the new one comes beside it.
    earlier
        Folders of earlier seasons to join.

    Returns
    -------
    MorningRound
        The files, and what is read first.

    Raises
    ------
    SeasonError
        The folder cannot be used, the day cannot be read, or the pages could not be written.
    """
    from analysis.nursery import round_of, weights_form
    from analysis.show.spreadsheet import csv_text

    of_day = round_of(open_season(folder, earlier, on or today()))
    day = of_day.on  # the name, the date and the rows are of this one object
    target = reports_folder(folder, out)
    with scratch_folder(target) as scratch:
        files = {target / f"round_{day:%Y-%m-%d}.pdf": round_page(of_day, nothing=_nothing(of_day.season))}
        if csv:
            files[target / f"weights_{day:%Y-%m-%d}.csv"] = csv_text(weights_form(of_day)).encode()
        pdf, *form = put_all(files, target, scratch)
        claim(target, folder)
    return MorningRound(
        pdf, form[0] if form else None, tuple((who, sentence) for who, _, sentence in read_first(of_day))
    )


def _nothing(season: Season) -> Words:
    if not season.is_blank:
        return ""
    later = "later-than-asked" in set(season.problems["code"])
    return found("report.round-nothing-yet" if later else "report.round-no-rows")
