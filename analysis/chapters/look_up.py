"""One box for a chick or a pair: what is known of whoever is typed there, and where to read on."""

from functools import cached_property
from typing import Any

from analysis import show
from analysis.chapters import one_chick, pair_sheet
from analysis.chapters.pair_page import PairPages
from analysis.chicks.fed import chick_named
from analysis.day.round import Round, round_of
from analysis.errors import SeasonError
from analysis.finding import found
from analysis.logs.headings import NameBook, same
from analysis.names import by_name
from analysis.say import in_words, say
from analysis.season import Season


class LookUp:
    """Finds a chick or a pair of a season, or the pair of a bird; `names` are those that can be found.

    What its weights and its record say is worked out at the first search.
    """

    def __init__(self, season: Season) -> None:
        self.season = season
        self._of_bird: dict[str, list[str]] = {}
        birds = []
        for role in ("cock", "hen"):
            for bird, pair in zip(season.pairs[role].fillna("").astype(str), season.pairs["pair"], strict=True):
                if bird:
                    self._of_bird.setdefault(same(bird), []).append(pair)
                    birds.append(bird)
        names = (by_name(season.pairs["pair"]), by_name(season.chicks["chick"]), by_name(birds))
        self.names = list(dict.fromkeys(name for some in names for name in some))

    @cached_property
    def today(self) -> Round:
        """The round of the day: what is read first of whom."""
        return round_of(self.season)

    def page(self, typed: str) -> list[Any]:
        """Show what is known of whoever is meant; blank: how to ask."""
        if not typed.strip():
            return [show.prose(found("chapters.ask"))]
        if (pair := NameBook(self.season.pairs["pair"]).find(typed)) is not None:
            return self._of_pair(pair, typed)
        if pairs := self._of_bird.get(same(typed)):
            return self._of_pair(pairs[-1], typed)
        try:
            chick = chick_named(self.season, typed, of=say("chapters.anybody-here"))
        except SeasonError as nobody:
            return [show.prose(str(nobody))]
        head = show.prose(found("chapters.more-of-chick"))
        return [head, *one_chick.about(self.season, chick), *one_chick.stands(self.today, chick)]

    def _of_pair(self, pair: str, typed: str) -> list[Any]:
        pairs = [other for other in self._of_bird.get(same(typed), ()) if other != pair]
        chicks = [chick for chick in self.season.chicks["chick"] if same(chick) == same(typed)]
        others = [found("chapters.pair-named", pair=other) for other in pairs]
        others += [found("chapters.chick-named", chick=chick) for chick in chicks]
        also = [found("chapters.so-called-also", others=others)] if others else []
        head = show.prose(in_words([found("chapters.more-of-pair", pair=pair), *also]))
        pages = PairPages.of(self.season)
        asks = pair_sheet.asks(pages, pair, self.today)
        return [head, *pair_sheet.about(pages, pair), *asks, *pair_sheet.advice(pages, pair)]
