"""Other words for logs, columns and choices: each leads somewhere, none to two places, and names of chicks to none.

The words are from memory; no published list of a trade's headings is known here.
"""

import itertools
import tomllib
from pathlib import Path

import pytest

from analysis.logs import headings
from analysis.logs.headings import choice_meant, column_meant, column_named, folded, log_named
from analysis.logs.tables import LOGS, OUTCOMES, SIGNS

TABLE = tomllib.loads((Path(headings.__file__).parent / "headings.toml").read_text(encoding="utf-8"))
TABLE["choices"] |= TABLE["signs"]
CHOICES = {column.choices for log in LOGS.values() for column in log.columns if column.choices}
CANDLED, CROP, KIND = ("fertile", "clear", "not sure"), ("empty", "part", "full"), ("pair", "trio", "colony")
NAMES = ("K1", "C7", "Rosa", "2026", "2026-04-03", "3.4.26", "day 3", "Tag 3", "d14", "K1+K2", "", "?", "(2)", "yes")
SHEETS = ("Sheet1", "Tabelle1", "Feuil1", "Hoja1", "Blad1", "my weights", "wieghts", "hatchery", "weightsy", "_")
OTHER_FILES = ("breeding book", "counts", "shopping", "birdroom", "read me first", "season", "nest")
MONEY = ("chicks for sale", "feed costs 2026", "Eier Verkauf", "pairs sold")
NO_HEADINGS = (
    "G",
    "F",
    "12",
    "10",
    "01",
    "1",
    "1,1",
    "%",
    "(g)",
    "Chick 1",
    "Total",
    "nest",
    "nest box",
    "time",
    "no",
)
OTHER_UNITS = ("weight (c)", "length (cm)", "chick (g)", "temperature (g)")


def words_of_columns(log):
    """Return (word, column) for all that the table says about one log."""
    found = [(column.name, column.name) for column in LOGS[log].columns]
    found += [(w, c.name) for c in LOGS[log].columns for w in TABLE["columns"].get(c.name, ())]
    return found + [(w, s["in"][log]) for s in TABLE["shared"] if log in s["in"] for w in s["words"]]


# -- the table itself


def test_every_entry_leads_somewhere():
    names = {column.name for log in LOGS.values() for column in log.columns}
    assert set(TABLE["logs"]) == set(LOGS)
    assert set(TABLE["columns"]) <= names
    assert set(TABLE["choices"]) == {choice for choices in CHOICES for choice in choices}
    for shared in TABLE["shared"]:
        assert [(log, column) for log, column in shared["in"].items() if not LOGS[log].column(column)] == []


@pytest.mark.parametrize("log", LOGS)
def test_every_column_has_other_words(log):
    assert {column for word, column in words_of_columns(log) if word != column} == {c.name for c in LOGS[log].columns}


def test_words_are_written_plainly():
    lists = itertools.chain(*(TABLE[part].values() for part in ("logs", "columns", "choices", "no_log")))
    words = [w for ws in lists for w in ws] + [w for shared in TABLE["shared"] for w in shared["words"]]
    assert len(words) > 1500
    assert [w for w in words if folded(w) != w] == []


@pytest.mark.parametrize("log", LOGS)
def test_no_word_stands_for_two_columns_of_a_log(log):
    for word, column in words_of_columns(log):
        assert column_named(word, LOGS[log])[0] == column, word
    keys = {(headings.key_of(word), column) for word, column in words_of_columns(log)}
    assert len(keys) == len({key for key, _ in keys})


def test_no_word_stands_for_two_logs():
    pairs = {(headings.key_of(w), log) for log, words in TABLE["logs"].items() for w in (log, *words)}
    assert len(pairs) == len({key for key, _ in pairs})
    assert not {key for key, _ in pairs} & set(map(headings.key_of, TABLE["no_log"]["words"]))
    for log, words in TABLE["logs"].items():
        for word in (log, *words):
            assert log_named(word) == log, word
            assert log_named(f"{word} 2026") == log, word


@pytest.mark.parametrize("choices", CHOICES)
def test_no_word_stands_for_two_choices_of_a_column(choices):
    pairs = {(headings.key_of(w), c) for c in choices for w in (c, *TABLE["choices"][c])}
    assert len(pairs) == len({key for key, _ in pairs})
    for choice in choices:
        for word in (choice, *TABLE["choices"][choice]):
            assert choice_meant(word.upper(), choices) == choice, word


def test_a_word_stands_once_in_its_list():
    for part in ("logs", "columns", "choices"):
        for name, words in TABLE[part].items():
            keys = [headings.key_of(word) for word in words]
            assert [key for key in keys if keys.count(key) > 1] == [], name


# -- folding


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("Hatched_At", "hatched at"),
        ("  WEANED-ON: ", "weaned on"),
        ("Éclos", "eclos"),
        ("E\u0301clos", "eclos"),
        ("Schlüpfdatum", "schlupfdatum"),
        ("Größe", "grosse"),
        ("Œuf n°", "oeuf n"),
        ("weighed\u00a0at", "weighed at"),
        ("", ""),
        ("?", ""),
    ],
)
def test_folding(written, plain):
    assert folded(written) == plain
    assert folded(plain) == plain


def test_a_cell_of_100_000_characters_is_no_heading():
    long = "weight " * 14_286
    assert folded(long) == long.strip()
    assert column_named(long, LOGS["weights"]) is None
    assert log_named(long) is None
    assert choice_meant(long, OUTCOMES) is None
    assert isinstance(column_meant(long, LOGS["weights"]), str)


# -- logs


@pytest.mark.parametrize(
    ("log", "names"),
    [
        ("hatches", "Hatches | Chicks 2026 | Küken | Kueken 2026 | Éclosions | Nacimientos"),
        ("weights", "Weights (2) | weights_spring | weights2026 | 2026 weights | chick weights"),
        ("weights", "Gewichte | pesées | Pesos | Gewichten"),
        ("losses", "chick-losses-2026 | Deaths | Verluste | Décès | Muertes 2026 | Sterfte"),
        ("egg_weights", "egg weights 2026 | EggWeights | Eigewichte | Poids des œufs"),
        ("pairs", "pairs by cage | Koppels"),
        ("feeds", "egg food"),
        ("clutches", "Posturas 2026"),
        ("cages", "Käfige"),
        ("settings", "Instellingen"),
    ],
)
def test_names_of_logs(log, names):
    assert {log_named(name) for name in names.split(" | ")} == {log}


@pytest.mark.parametrize("name", [*NAMES, *SHEETS, *OTHER_FILES, *MONEY])
def test_names_of_no_log(name):
    assert log_named(name) is None


# -- columns


@pytest.mark.parametrize(
    ("log", "column", "unit", "headings"),
    [
        ("weights", "weighed_at", "", "Date | Date (dd/mm/yyyy)"),
        ("weights", "weight", "g", "grams | Weight (g) | Weight/g | Gewicht in g"),
        ("weights", "weight", "g", "Gewicht (Gramm) | Poids (en g) | Peso (g)"),
        ("weights", "weight", "oz", "weight [oz] | Weight, oz."),
        ("weights", "weight", "kg", "weight_kg"),
        ("weights", "weight", "", "Weight: "),
        ("weights", "chick", "", "Ring no. | Küken | Kuiken"),
        ("weights", "notes", "", "Comments"),
        ("losses", "found_on", "", "Date | Date of death | Overleden op"),
        ("losses", "cause", "", "Todesursache | Causa"),
        ("signs", "seen_at", "", "Date"),
        ("moves", "on", "", "Date"),
        ("feeds", "fed_at", "", "Date"),
        ("feeds", "amount", "", "Amount (ml)"),
        ("egg_weights", "weighed_on", "", "Date"),
        ("readings", "temperature", "c", "Temp. (°C) | Temperatur in °C"),
        ("readings", "temperature", "f", "temperature °F | temp°F"),
        ("readings", "humidity_pct", "%", "Humidity %"),
        ("readings", "humidity_pct", "", "RH"),
        ("hatches", "hatched_at", "", "Hatched | HatchDate | Geschlüpft am | geschluepft"),
        ("hatches", "hatched_at", "", "Éclos le | Fecha de eclosión | Uitgekomen op"),
        ("hatches", "length_mm", "mm", "length (mm)"),
        ("hatches", "pair", "", "Parents"),
        ("hatches", "ring", "", "Band | Ring-Nr. | N° de bague | Anilla | Ringnummer"),
        ("hatches", "laid_on", "", "Date laid"),
        ("hatches", "egg", "", "Œuf"),
        ("hatches", "weaned_on", "", "Sevré le | Independizado el | Apartado"),
        ("hatches", "hatched_at", "", "Gekipt op | Kipdatum"),
        ("hatches", "candled", "", "Geschierd | Trasluz"),
        ("hatches", "set_on", "", "Untergelegt am"),
        ("hatches", "reared_by", "", "Aufzucht | Élevage | Crianza | Opfok | Rearing"),
        ("hatches", "pair", "", "Casal | Yunta"),
        ("hatches", "clutch", "", "Tour"),
        ("hatches", "ring", "", "Geschl. Ring | Anilla cerrada | Bague fermée | Vaste voetring | Transponder"),
        ("weights", "chick", "", "Offener Ring | Anilla abierta | Voetring | Microchip"),
        ("weights", "crop", "", "Papo"),
        ("feeds", "food", "", "Futterbrei | Handaufzuchtfutter | Pasta de embuche"),
        ("readings", "place", "", "Schlüpfbrüter | Wärmebox | Nacedora | Éclosoir | Uitkomstkast | Hatcher"),
        ("clutches", "clear", "", "Lautere"),
        ("clutches", "hatched", "", "Hatched"),
        ("clutches", "eggs", "", "Laid | Huevos puestos"),
        ("clutches", "died_in_egg", "", "DIS"),
        ("clutches", "clear", "", "infertile"),
        ("pairs", "cock", "", "♂ | Männchen | 1,0 | 1.0"),
        ("pairs", "hen", "", "Hen | Pop | 0,1 | 0.1"),
        ("pairs", "species", "", "Espèce"),
        ("birds", "mother", "", "Dam"),
        ("reference", "age_d", "", "Age (days)"),
    ],
)
def test_headings(log, column, unit, headings):
    for heading in headings.split(" | "):
        assert column_named(heading, LOGS[log]) == (column, unit), heading


@pytest.mark.parametrize("log", LOGS)
@pytest.mark.parametrize("heading", [*NAMES, *NO_HEADINGS, *OTHER_UNITS])
def test_headings_of_no_column(log, heading):
    assert column_named(heading, LOGS[log]) is None


def test_a_colour_is_of_chicks_alone():
    assert [name for name, log in LOGS.items() if column_named("colour", log)] == ["hatches"]
    for heading in ("Farbschlag", "Color", "Couleur", "Mutación", "Kleurslag"):
        assert column_named(heading, LOGS["hatches"]) == ("colour", "")


def test_a_date_that_could_be_two_is_none():
    assert column_named("date", LOGS["hatches"]) is None
    assert column_named("date", LOGS["pairs"]) is None


def test_the_columns_own_names_are_read_in_any_dress():
    for log in LOGS.values():
        for name in (column.name for column in log.columns):
            for written in (name, name.upper(), name.replace("_", " "), name.replace("_", "-"), f" {name} "):
                assert column_named(written, log)[0] == name


@pytest.mark.parametrize(
    ("log", "heading", "column"),
    [
        ("weights", "wieght", "weight"),
        ("weights", "Gewihct", "weight"),
        ("weights", "weight (c)", "weight"),
        ("hatches", "hatchd date", "hatched_at"),
        ("hatches", "geschlüft", "hatched_at"),
        ("losses", "Todesursche", "cause"),
    ],
)
def test_a_slip_is_offered_its_column(log, heading, column):
    assert column_meant(heading, LOGS[log]) == column


@pytest.mark.parametrize("heading", ["K1", "C7", "", "Rosa", "2026-04-03", "no", "colour", "when", "Gewicht (g)"])
def test_what_is_no_slip_is_offered_nothing(heading):
    assert column_meant(heading, LOGS["weights"]) == ""


# -- choices


@pytest.mark.parametrize(
    ("word", "choices", "meant"),
    [
        ("Infertile", OUTCOMES, "clear"),
        ("DIS", OUTCOMES, "dead in shell"),
        ("D.I.S.", OUTCOMES, "dead in shell"),
        ("dead-in-shell", OUTCOMES, "dead in shell"),
        ("Geschlüpft", OUTCOMES, "hatched"),
        ("geschluepft", OUTCOMES, "hatched"),
        ("unbefruchtet", OUTCOMES, "clear"),
        ("Éclos", OUTCOMES, "hatched"),
        ("clair", OUTCOMES, "clear"),
        ("nacido", OUTCOMES, "hatched"),
        ("desaparecido", OUTCOMES, "missing"),
        ("uitgekomen", OUTCOMES, "hatched"),
        ("onbevrucht", OUTCOMES, "clear"),
        ("infertile", CANDLED, "clear"),
        ("Bevrucht", CANDLED, "fertile"),
        ("pas sûr", CANDLED, "not sure"),
        ("half full", CROP, "part"),
        ("halbvoll", CROP, "part"),
        ("leer", CROP, "empty"),
        ("lleno", CROP, "full"),
        ("Kolonie", KIND, "colony"),
        ("couple", KIND, "pair"),
        ("slow crop", SIGNS, "crop not emptying"),
        ("Legenot", SIGNS, "egg binding"),
        ("Luft im Kropf", SIGNS, "air in the crop"),
        ("mange seul", SIGNS, "eating alone"),
    ],
)
def test_choices(word, choices, meant):
    assert choice_meant(word, choices) == meant


@pytest.mark.parametrize(
    "word",
    ["yes", "no", "x", "ja", "oui", "sí", "1", "", "?", "dead", "died", "pipped", "addled", "fertile", "K1", "Rosa"],
)
def test_what_is_no_outcome(word):
    assert choice_meant(word, OUTCOMES) is None


@pytest.mark.parametrize("word", ["diarrhoea", "sour crop", "limping", "quiet today"])
def test_a_sign_in_her_own_words_stays_so(word):
    assert choice_meant(word, SIGNS) is None


def test_choices_that_the_table_does_not_know_are_met_by_their_own_names():
    assert choice_meant("Day Month", ("day-month", "month-day")) == "day-month"
