"""Plain controls on the screen: choose a chick, a pair or a day, and what stands below follows.

What is shown is shown as in every chapter, in outputs of its own; a control only puts new content into them. So the
saved notebook, its exports and a reader without a kernel have the last choice, whole.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from analysis.errors import SeasonError
from analysis.finding import Words, found
from analysis.names import by_name
from analysis.say import in_words, say
from analysis.show.displays import prose
from analysis.show.still import MIME
from analysis.trouble import unforeseen

_NOTHING = found("lab.nothing-to-choose")
Page = Callable[[Any], Iterable[Any]]
_EMPTY = {"text/plain": "", "text/html": "", MIME: {"kind": "control"}}
_WIDE = {"width": "26em"}
_DAY = timedelta(days=1)


class Chosen:
    """What a control stands at, and the places of the notebook that follow it.

    Attributes
    ----------
    value
        A name or a day; None where there is nothing to choose from, or nothing is chosen.
    line
        The line of words beside the control; None where it has none.
    """

    def __init__(self, value: Any, line: Any = None) -> None:
        self.value, self.line = value, line
        self._say(_follows(value))
        self._pages: list[tuple[Page, list[Any]]] = []

    def show(self, page: Page, *, room: int = 6) -> None:
        """Show a page of what is chosen, here, and again whenever the choice changes.

        Parameters
        ----------
        page
            Takes the choice, returns displays. A SeasonError in it is shown as its sentence.
        room
            How many displays it has at most.
        """
        from IPython.display import display

        shown = _page(page, self.value, room)
        self._pages.append((page, [display(one, display_id=True, raw=isinstance(one, dict)) for one in shown]))

    def choose(self, value: Any) -> None:
        """Change the choice, and all that follows it: blank first, so that nothing of another choice stands there."""
        self.value = value
        self._say(_working(value))
        self._blank(_working(value))
        for page, places in self._pages:
            _fill(places, _page(page, value, len(places)))
        self._say(_follows(value))

    def leave(self, why: Words) -> None:
        """Choose nothing, and say why: nothing stands below."""
        self.value = None
        self._say(why)
        self._blank("")

    def _say(self, what: Words) -> None:
        if self.line is not None:
            self.line.value = in_words(what)

    def _blank(self, said: Words) -> None:
        """Empty all that follows, but for what is said in the first place."""
        first: list[Any] = [prose(said)] if said else [_EMPTY]
        for _, places in self._pages:
            _fill(places, [*first, *[_EMPTY] * (len(places) - 1)])
            first = [_EMPTY]


def choose(label: Words, names: Iterable[str], first: str = "", *, none: Words = _NOTHING) -> Chosen:
    """A list to choose one name from.

    Parameters
    ----------
    label
        What stands before the list.
    names
        They are listed by name: K2 before K10.
    first
        What is chosen to begin with, as it is typed in a cell; the first name where it is blank or unknown.
    none
        The sentence that is shown where there are no names.

    Returns
    -------
    Chosen

    Examples
    --------
    >>> choose("Pair", [], none="No pair is written.").value is None  # doctest: +ELLIPSIS
    Display(...No pair is written...)
    True
    """
    ordered = by_name(dict.fromkeys(names))
    if not ordered:
        _display(prose(none))
        return Chosen(None)
    import ipywidgets

    asked = {name.casefold(): name for name in ordered}
    chosen = Chosen(asked.get(str(first).strip().casefold(), ordered[0]), _line())
    listed = ipywidgets.Dropdown(options=ordered, value=chosen.value, description=in_words(label), layout=_WIDE)
    steps = say("lab.before"), say("lab.next")
    before, after = (ipywidgets.Button(description=word, layout={"width": "7em"}) for word in steps)

    def step(by: int) -> None:
        listed.value = ordered[(ordered.index(listed.value) + by) % len(ordered)]

    before.on_click(lambda _: step(-1))
    after.on_click(lambda _: step(1))
    listed.observe(lambda change: chosen.choose(change["new"]), names="value")
    _on_screen(ipywidgets.VBox([ipywidgets.HBox([listed, before, after]), chosen.line]))
    return chosen


def choose_day(label: Words, days: tuple[date, date], first: date | None = None) -> Chosen:
    """A calendar to choose a day from, between two days; `first` is chosen to begin with, the last where left out.

    A calendar writes a day as the browser's country does, so the line below it says the day in words.
    """
    import ipywidgets

    begin, end = days
    first = end if first is None else date(first.year, first.month, first.day)
    chosen = Chosen(first, _line())
    calendar = ipywidgets.DatePicker(description=in_words(label), value=first, layout=_WIDE)
    words = say("lab.day-before"), say("lab.next-day")
    steps = [ipywidgets.Button(description=word, layout={"width": "8em"}) for word in words]

    def step(by: timedelta) -> None:
        calendar.value = min(max((calendar.value or end) + by, begin), end)

    def turn(change: dict[str, Any]) -> None:
        day = change["new"]
        if day is None:
            chosen.leave(found("lab.no-day"))
        elif not begin <= day <= end:
            chosen.leave(found("lab.other-day", day=day, first=begin, last=end))
        else:
            chosen.choose(day)

    for button, by in zip(steps, (-_DAY, _DAY), strict=True):
        button.on_click(lambda _, by=by: step(by))
    calendar.observe(turn, names="value")
    _on_screen(ipywidgets.VBox([ipywidgets.HBox([calendar, *steps]), chosen.line]))
    return chosen


def search(label: Words, names: Sequence[str], page: Page) -> None:
    """A box to type a name into; what is known of it stands below.

    Parameters
    ----------
    label
        What stands before the box.
    names
        The names that it offers while one is typed.
    page
        Takes what was typed ("" at first), returns displays.
    """
    import ipywidgets

    words = {"description": in_words(label), "placeholder": say("lab.type-a-name")}
    box = ipywidgets.Combobox(options=list(names), **words, continuous_update=False, layout=_WIDE)
    chosen = Chosen("")
    box.observe(lambda change: chosen.choose(change["new"].strip()), names="value")
    _on_screen(box)
    chosen.show(page)


def _line() -> Any:
    """A line that is saved with a control: it says what stands below, since without its kernel nothing follows."""
    import ipywidgets

    return ipywidgets.Label("", style={"text_color": "gray", "font_size": "12px"})


def _follows(value: Any) -> Words:
    """What stands below, and what to do where it does not: without a kernel nothing follows."""
    return found("lab.follows-day" if isinstance(value, date) else "lab.follows", what=value)


def _working(value: Any) -> Words:
    return found("lab.working-day" if isinstance(value, date) else "lab.working", what=value)


def _fill(places: list[Any], shown: list[Any]) -> None:
    for place, one in zip(places, shown, strict=True):
        place.update(one, raw=isinstance(one, dict))


def _page(page: Page, value: Any, room: int) -> list[Any]:
    """What a page shows, as many as there is room for, the rest of the room empty."""
    try:
        shown = [] if value is None else list(page(value))
    except SeasonError as wrong:
        shown = [prose(str(wrong))]
    except Exception as wrong:  # what stands here must never stay that of another choice
        shown = [prose(unforeseen(wrong))]
    if len(shown) > room:
        raise ValueError(f"{len(shown)} displays, and room for {room}")
    return shown + [_EMPTY] * (room - len(shown))


def _on_screen(widget: Any) -> None:
    """Show a control where there is a screen; who has no kernel reads how to get one, and paper has nothing."""
    bundle = widget._repr_mimebundle_()
    data, metadata = bundle if isinstance(bundle, tuple) else (bundle, {})
    at_rest = say("lab.choose-at-rest")
    rest = {"text/html": f'<p style="opacity:.75">{at_rest}</p>', MIME: {"kind": "control"}}
    _display(data | rest, metadata=metadata, raw=True)


def _display(*one: Any, **options: Any) -> None:
    from IPython.display import display

    display(*one, **options)
