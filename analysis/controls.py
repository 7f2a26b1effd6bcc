"""Plain controls on the screen: choose a chick, a pair or a day, and what stands below follows.

What is shown is shown as in every chapter, in outputs of its own; a control only puts new content into them. So the
saved notebook, its exports and a reader without a kernel have the last choice, whole.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from analysis.errors import SeasonError, unforeseen
from analysis.names import by_name
from analysis.show import MIME, prose
from analysis.words import day_in_full

Page = Callable[[Any], Iterable[Any]]
_AT_REST = "To choose here, run this chapter: Run, then Run All Cells."
_FOLLOWS = "Below: {what}. Where it does not follow your choice: Run, then Run All Cells."  # true without a kernel too
_WORKING = "Working out {what} …"
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
        self._say(_FOLLOWS)
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
        self._say(_WORKING)
        self._blank(_in_words(_WORKING, value))
        for page, places in self._pages:
            _fill(places, _page(page, value, len(places)))
        self._say(_FOLLOWS)

    def leave(self, why: str) -> None:
        """Choose nothing, and say why: nothing stands below."""
        self.value = None
        self._say(why)
        self._blank("")

    def _say(self, words: str) -> None:
        if self.line is not None:
            self.line.value = _in_words(words, self.value)

    def _blank(self, said: str) -> None:
        """Empty all that follows, but for what is said in the first place."""
        first: list[Any] = [prose(said)] if said else [_EMPTY]
        for _, places in self._pages:
            _fill(places, [*first, *[_EMPTY] * (len(places) - 1)])
            first = [_EMPTY]


def choose(
    label: str, names: Iterable[str], first: str = "", *, none: str = "There is nothing to choose from."
) -> Chosen:
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
    listed = ipywidgets.Dropdown(options=ordered, value=chosen.value, description=label, layout=_WIDE)
    before, after = (ipywidgets.Button(description=word, layout={"width": "7em"}) for word in ("before", "next"))

    def step(by: int) -> None:
        listed.value = ordered[(ordered.index(listed.value) + by) % len(ordered)]

    before.on_click(lambda _: step(-1))
    after.on_click(lambda _: step(1))
    listed.observe(lambda change: chosen.choose(change["new"]), names="value")
    _on_screen(ipywidgets.VBox([ipywidgets.HBox([listed, before, after]), chosen.line]))
    return chosen


def choose_day(label: str, days: tuple[date, date], first: date | None = None) -> Chosen:
    """A calendar to choose a day from, between two days; `first` is chosen to begin with, the last where left out.

    A calendar writes a day as the browser's country does, so the line below it says the day in words.
    """
    import ipywidgets

    begin, end = days
    first = end if first is None else date(first.year, first.month, first.day)
    chosen = Chosen(first, _line())
    calendar = ipywidgets.DatePicker(description=label, value=first, layout=_WIDE)
    steps = [ipywidgets.Button(description=word, layout={"width": "8em"}) for word in ("day before", "next day")]

    def step(by: timedelta) -> None:
        calendar.value = min(max((calendar.value or end) + by, begin), end)

    def turn(change: dict[str, Any]) -> None:
        day = change["new"]
        if day is None:
            chosen.leave("No day is chosen, so nothing stands below.")
        elif not begin <= day <= end:
            chosen.leave(f"{day_in_full(day)}: choose a day from {day_in_full(begin)} to {day_in_full(end)}.")
        else:
            chosen.choose(day)

    for button, by in zip(steps, (-_DAY, _DAY), strict=True):
        button.on_click(lambda _, by=by: step(by))
    calendar.observe(turn, names="value")
    _on_screen(ipywidgets.VBox([ipywidgets.HBox([calendar, *steps]), chosen.line]))
    return chosen


def search(label: str, names: Sequence[str], page: Page) -> None:
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

    box = ipywidgets.Combobox(
        options=list(names), description=label, placeholder="type a name", continuous_update=False, layout=_WIDE
    )
    chosen = Chosen("")
    box.observe(lambda change: chosen.choose(change["new"].strip()), names="value")
    _on_screen(box)
    chosen.show(page)


def _line() -> Any:
    """A line that is saved with a control: it says what stands below, since without its kernel nothing follows."""
    import ipywidgets

    return ipywidgets.Label("", style={"text_color": "gray", "font_size": "12px"})


def _in_words(words: str, value: Any) -> str:
    what = day_in_full(value) if isinstance(value, date) else str(value)
    return words.replace("{what}", what)


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
    rest = {"text/html": f'<p style="opacity:.75">{_AT_REST}</p>', MIME: {"kind": "control"}}
    _display(data | rest, metadata=metadata, raw=True)


def _display(*one: Any, **options: Any) -> None:
    from IPython.display import display

    display(*one, **options)
