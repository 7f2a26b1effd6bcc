"""Plain controls on the screen: choose a chick, a pair or a day, and what stands below follows.

What is shown is shown as in every chapter, in outputs of its own; a control only puts new content into them. So the
saved notebook, its exports and a reader without a kernel have the last choice, whole.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any

from analysis.errors import SeasonError, unforeseen
from analysis.names import by_name
from analysis.show import MIME, prose

Page = Callable[[Any], Iterable[Any]]
_AT_REST = "To choose here, run this chapter: Run, then Run All Cells."
_NO_KERNEL = "Just opened? First choose Run, then Run All Cells: only then does what stands below follow."
_EMPTY = {"text/plain": "", "text/html": "", MIME: {"kind": "control"}}
_WIDE = {"width": "26em"}


class Chosen:
    """What a control stands at, and the places of the notebook that follow it.

    Attributes
    ----------
    value
        A name or a day; None where there is nothing to choose from.
    """

    def __init__(self, value: Any) -> None:
        self.value = value
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
        """Change the choice, and all that follows it."""
        self.value = value
        for page, places in self._pages:
            for place, one in zip(places, _page(page, value, len(places)), strict=True):
                place.update(one, raw=isinstance(one, dict))


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
    chosen = Chosen(asked.get(str(first).strip().casefold(), ordered[0]))
    listed = ipywidgets.Dropdown(options=ordered, value=chosen.value, description=label, layout=_WIDE)
    before, after = (ipywidgets.Button(description=word, layout={"width": "7em"}) for word in ("before", "next"))

    def step(by: int) -> None:
        listed.value = ordered[(ordered.index(listed.value) + by) % len(ordered)]

    before.on_click(lambda _: step(-1))
    after.on_click(lambda _: step(1))
    listed.observe(lambda change: chosen.choose(change["new"]), names="value")
    _on_screen(ipywidgets.VBox([ipywidgets.HBox([listed, before, after]), _reminder()]))
    return chosen


def choose_day(label: str, days: tuple[date, date], first: date | None = None) -> Chosen:
    """A calendar to choose a day from, between two days; `first` is chosen to begin with, the last where left out."""
    import ipywidgets

    begin, end = days
    first = end if first is None else date(first.year, first.month, first.day)
    chosen = Chosen(first)
    calendar = ipywidgets.DatePicker(description=label, value=first, layout=_WIDE)
    said = _reminder()

    def turn(change: dict[str, Any]) -> None:
        day = change["new"]
        if day is None:
            said.value = "Choose a day; what stands below is of the day that it names."
        elif not begin <= day <= end:
            said.value = f"{day:%Y-%m-%d}: choose a day from {begin:%Y-%m-%d} to {end:%Y-%m-%d}. Below stays as it was."
        else:
            said.value = _NO_KERNEL
            chosen.choose(day)

    calendar.observe(turn, names="value")
    _on_screen(ipywidgets.VBox([calendar, said]))
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


def _reminder() -> Any:
    """A line that is saved with a control: without its kernel it can be turned, and nothing follows."""
    import ipywidgets

    return ipywidgets.Label(_NO_KERNEL, style={"text_color": "gray", "font_size": "12px"})


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
