"""Controls: a choice changes what stands below, what is saved is the last choice, and a wrong one is a sentence.

The outputs below are blanked before anything is worked out anew, so that nothing of one choice stands under another.
"""

from datetime import date
from functools import partial

import pytest
from IPython.core.interactiveshell import InteractiveShell

from analysis.errors import SeasonError
from analysis.report.blocks import page_blocks
from analysis.report.press import Pictures
from analysis.show import MIME, controls, prose


@pytest.fixture
def sent(monkeypatch):
    """What a notebook would be sent: (display id, new or an update, bundle)."""
    shown = []
    shell = InteractiveShell.instance()
    monkeypatch.setattr(
        shell.display_pub,
        "publish",
        lambda data, metadata=None, *, transient=None, update=False, **_: shown.append(
            ((transient or {}).get("display_id"), update, data)
        ),
    )
    yield shown
    InteractiveShell.clear_instance()


def words(data):
    return data.get(MIME, {}).get("paragraphs")


def hello(name):
    return [prose(f"Hello {name}.")]


def test_what_stands_below_follows_the_choice(sent):
    chosen = controls.choose("Chick", ["K1", "K2"], "k2")
    chosen.show(hello, room=2)
    places = [place for place, _, data in sent if place]
    assert words(sent[1][2]) == ["Hello K2."]
    chosen.choose("K1")
    updates = [(place, data) for place, update, data in sent if update]
    assert {place for place, _ in updates} == set(places)
    assert words(dict(updates)[places[0]]) == ["Hello K1."], "the last that a place was sent"


def test_the_list_and_the_buttons_choose(sent, monkeypatch):
    import ipywidgets

    made = []
    monkeypatch.setattr(ipywidgets, "HBox", lambda children: made.extend(children) or ipywidgets.VBox(children))
    chosen = controls.choose("Pair", ["P1", "P2", "P3"])
    listed, before, after = made
    listed.value = "P2"
    assert chosen.value == "P2"
    after.click()
    after.click()
    assert chosen.value == "P1"
    before.click()
    assert chosen.value == listed.value == "P3"


def test_an_unknown_first_choice_is_the_first_name(sent):
    assert controls.choose("Pair", ["P1", "P2"], "P9").value == "P1"


def test_a_wrong_choice_is_a_sentence(sent):
    def nobody(name):
        raise SeasonError(f"No chick is called {name}.")

    controls.search("Who", ["K1"], nobody)
    assert words(sent[1][2]) == ["No chick is called ."]


def test_more_than_there_is_room_for_is_an_error_and_never_left_out(sent):
    chosen = controls.choose("Chick", ["K1"])
    with pytest.raises(ValueError, match="2 displays, and room for 1"):
        chosen.show(lambda name: [prose("a"), prose("b")], room=1)


def test_while_it_is_worked_out_nothing_of_another_choice_stands_there(sent):
    def page(name):
        standing.append(now_standing(sent))
        return hello(name)

    standing = []
    chosen = controls.choose("Chick", ["K1", "K2"])
    chosen.show(page, room=2)
    chosen.show(page, room=1)
    chosen.choose("K2")
    assert standing[2] == [["Working out K2 …"]], "before the first part is filled"
    assert standing[3] == [["Hello K2."]], "the second part is still blank"
    assert now_standing(sent) == [["Hello K2."], ["Hello K2."]]


def now_standing(sent):
    """What a reader sees: the last that each place was sent, in the order of the places, blank ones left out."""
    last = {}
    for place, _, data in sent:
        if place:
            last[place] = words(data)
    return [said for said in last.values() if said]


@pytest.fixture
def made(monkeypatch):
    """The widgets that a control is made of, by kind."""
    import ipywidgets

    found = {}

    def make(real, *said, **how):
        found.setdefault(real.__name__, []).append(real(*said, **how))
        return found[real.__name__][-1]

    for kind in ("DatePicker", "Label", "Button", "Dropdown"):
        monkeypatch.setattr(ipywidgets, kind, partial(make, getattr(ipywidgets, kind)))
    return found


DAYS = date(2031, 4, 1), date(2031, 4, 9)


def a_day(day):
    return [prose(f"Rows of {day}.")]


def test_the_day_is_said_in_words_beside_the_calendar(sent, made):
    controls.choose_day("Day", DAYS, date(2031, 4, 9)).show(a_day)
    said = made["Label"][0]
    assert said.value.startswith("Below: Wednesday 9 April 2031.")
    made["DatePicker"][0].value = date(2031, 4, 8)
    assert said.value.startswith("Below: Tuesday 8 April 2031.")
    assert now_standing(sent) == [["Rows of 2031-04-08."]]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (None, "No day is chosen"),
        (date(2031, 5, 1), "Thursday 1 May 2031: choose a day from Tuesday 1 April 2031 to Wednesday 9 April 2031"),
    ],
)
def test_no_rows_stand_under_a_date_that_they_are_not_of(sent, made, wrong, said):
    chosen = controls.choose_day("Day", DAYS, date(2031, 4, 9))
    chosen.show(a_day)
    made["DatePicker"][0].value = wrong
    assert made["Label"][0].value.startswith(said)
    assert now_standing(sent) == []
    made["DatePicker"][0].value = date(2031, 4, 3)
    assert now_standing(sent) == [["Rows of 2031-04-03."]]


def test_the_day_before_and_the_next_are_a_button_away_and_stay_within_the_logs(sent, made):
    chosen = controls.choose_day("Day", DAYS, date(2031, 4, 8))
    before, after = made["Button"]
    after.click()
    after.click()
    assert (chosen.value, made["DatePicker"][0].value) == (date(2031, 4, 9), date(2031, 4, 9))
    before.click()
    assert chosen.value == date(2031, 4, 8)


def test_beside_a_list_stands_what_is_true_with_and_without_its_kernel(sent, made):
    chosen = controls.choose("Chick", ["K1", "K2"])
    chosen.show(hello)
    made["Dropdown"][0].value = "K2"
    (line,) = made["Label"]
    assert line.value == "Below: K2. Where it does not follow your choice: Run, then Run All Cells."
    assert "Just opened" not in line.value


def test_a_control_has_words_for_who_has_no_kernel_and_nothing_for_paper(sent):
    import nbformat.v4 as v4

    controls.choose("Chick", ["K1"]).show(hello, room=3)
    assert "Run All Cells" in sent[0][2]["text/html"]
    outputs = [v4.new_output("display_data", data) for *_, data in sent]
    book = v4.new_notebook(cells=[v4.new_code_cell("x", outputs=outputs)])
    assert page_blocks(book, Pictures("A4")) == [{"kind": "prose", "paragraphs": ["Hello K1."]}]


def test_an_error_in_one_part_leaves_no_other_choice_standing(sent):
    def broken(name):
        if name == "K2":
            raise KeyError("mass_g")
        return hello(name)

    chosen = controls.choose("Chick", ["K1", "K2"])
    chosen.show(broken, room=1)
    chosen.show(hello, room=1)
    chosen.choose("K2")
    first, second = now_standing(sent)
    assert first[0].startswith("Something went wrong in the program (KeyError: 'mass_g')")
    assert second == ["Hello K2."]
