"""Controls: a choice changes what stands below, what is saved is the last choice, and a wrong one is a sentence."""

from datetime import date

import pytest
from IPython.core.interactiveshell import InteractiveShell

from analysis import controls
from analysis.errors import SeasonError
from analysis.report.blocks import Pictures, page_blocks
from analysis.show import MIME, prose


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
    assert [place for place, update, _ in sent if update] == places
    assert words(sent[-2][2]) == ["Hello K1."]


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


def test_a_day_stays_within_the_logs(sent, monkeypatch):
    import ipywidgets

    made = []
    real = ipywidgets.DatePicker
    monkeypatch.setattr(ipywidgets, "DatePicker", lambda **how: made.append(real(**how)) or made[-1])
    line, label = [], ipywidgets.Label
    monkeypatch.setattr(ipywidgets, "Label", lambda *said, **how: line.append(label(*said, **how)) or line[-1])
    chosen = controls.choose_day("Day", (date(2031, 4, 1), date(2031, 4, 9)), date(2031, 4, 9))
    made[0].value = date(2031, 4, 3)
    assert chosen.value == date(2031, 4, 3)
    for wrong, said in ((None, "Choose a day"), (date(2031, 5, 1), "2031-05-01: choose a day from 2031-04-01")):
        made[0].value = wrong
        assert chosen.value == date(2031, 4, 3), "what stands below stays"
        assert line[0].value.startswith(said)


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
    first, second = (words(data) for _, update, data in sent if update)
    assert first[0].startswith("Something went wrong in the program (KeyError: 'mass_g')")
    assert second == ["Hello K2."]
