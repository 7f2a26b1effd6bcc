"""Where the names of eggs stand in a chart of the water they lose: beside their lines, never on each other."""

from dataclasses import dataclass, replace

from analysis.names import by_name
from analysis.say import say

END_PX = 30  # room for "17 %" after the end of its line
LETTER_PX, LINE_PX, AWAY_PX = 6.0, 12, 6  # a bold letter of 11 px, a line of words, and words from their egg
NAMED = 2  # so many names stand at eggs whose names would lie on each other
LITTLE, MUCH = "little", "much"  # too little, too much
COURSES = {LITTLE: "charts.course-little", MUCH: "charts.course-much"}


@dataclass(frozen=True)
class Frame:
    """Where every panel begins and ends: share of the way that is drawn, least and most lost, size in pixels."""

    reach: float
    least: float
    most: float
    width_px: int
    height_px: int

    @property
    def end(self) -> float:
        """Share of the way at the right edge, behind the room for words."""
        return self.reach * self.width_px / (self.width_px - END_PX)

    def px(self, way: float, lost: float) -> tuple[float, float]:
        """Pixels from the left and from the top edge."""
        across = min(way, self.reach) / self.end
        down = (self.most - lost) / (self.most - self.least)
        return across * self.width_px, down * self.height_px


@dataclass(frozen=True)
class Label:
    """The names and the word of eggs that ended near each other, at the one whose line lies outermost."""

    names: tuple[str, ...]
    word: str
    way: float
    lost: float
    frame: Frame

    @property
    def text(self) -> str:
        """Names above, word below."""
        few = len(self.names) <= NAMED + 1  # no "and 1 more"
        names, course = by_name(self.names), say(COURSES[self.word])
        return say("charts.water-label" if few else "charts.water-label-many", eggs=names, course=course)

    @property
    def width_px(self) -> float:
        """Width of the longer line, at most the panel's."""
        return min(LETTER_PX * max(map(len, self.text.split("\n"))), self.frame.width_px)

    @property
    def corner_px(self) -> tuple[float, float]:
        """Left and top: right of an egg's end and below its line, or left of its end and above its line."""
        x, y = self.frame.px(self.way, self.lost)
        slope = max(self.frame.px(0, 0)[1] - y, 0) / max(x, 1)
        if self.word == LITTLE:
            left = min(x, self.frame.width_px - self.width_px)
            top = y + slope * (x - left) + AWAY_PX
        else:
            left = max(x - self.width_px, 0)
            top = y - slope * (left + self.width_px - x) - AWAY_PX - 2 * LINE_PX
        return left, min(max(top, 0), self.frame.height_px - 2 * LINE_PX)

    def meets(self, other: "Label") -> bool:
        """Whether the words would lie on each other."""
        (left, top), (its_left, its_top) = self.corner_px, other.corner_px
        beside = left < its_left + other.width_px and its_left < left + self.width_px
        return beside and abs(top - its_top) < 2 * LINE_PX

    def joined(self, other: "Label") -> "Label":
        """One label for both, at the egg whose line lies farther out."""
        outward = -1 if self.word == LITTLE else 1
        outer = max(self, other, key=lambda label: outward * label.lost / max(label.way, 0.01))
        return replace(outer, names=self.names + other.names)
