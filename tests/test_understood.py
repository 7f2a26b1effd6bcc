"""What was understood is said: headings and words that are not ours, once; alike problems with their count."""

import json

import pytest

from analysis import open_season
from analysis.check.summary import check_json, check_text
from analysis.logs.headings import column_asked, column_named, log_asked, log_named
from analysis.logs.tables import LOGS
from analysis.say import in_words
from analysis.season import signs_of
from analysis.season.losses import cause_group
from analysis.season.signs import signs_seen
from analysis.season.vocabulary import BROODERS, CUPS, INCUBATORS, NOBODY, kind_of_place, names_nobody
from support import codes, demo

HATCHES = "pair,egg,outcome,hatched_at,chick,reared_by\n"
PAIRS = "pair,species\nP1,cockatiel\n"


@pytest.fixture
def folder(tmp_path):
    """Write a season folder whose files bear the names that their keeper gave them."""

    def folder_(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", " ")).with_suffix(".csv").write_text(text, encoding="utf-8")
        return tmp_path

    return folder_


def understood(season):
    return [in_words(line) for line in season.understood]


def section(season, head):
    """The lines of check under a head."""
    parts = [part.split("\n") for part in check_text(season).split("\n\n")]
    return next(([line.strip() for line in lines] for first, *lines in parts if first.startswith(head)), [])


# -- headings and words


def test_a_german_folder_is_told_what_its_words_were_read_as(folder):
    season = open_season(
        folder(
            Brutbuch="Paar;Ei;geschiert;Ergebnis;geschlüpft am;Küken;Aufzucht\n"
            "Z1;1;befr.;DIS;;;\nZ1;2;befruchtet;steckengeblieben;;;\nZ1;3;;lauter;;;\n"
            "Z1;4;;geschlüpft;1.5.2026;Fips;Handaufzucht\nZ1;5;;geschlüpft;2.5.2026;Lotte;Eltern\n",
            Paare="Paar;Vogelart;1,0;0,1\nZ1;Nymphensittiche;Hansi;Grete\n",
            Beobachtungen="wer;gesehen am;Zeichen\nFips;4.5.2026;Legenot\nFips;4.5.2026;Kropf leert nicht, kalt\n"
            "Fips;5.5.2026;irgendwie komisch\n",
            Messwerte="Ort;Datum;Temperatur\nWärmebox;4.5.2026;33\nSchlupfbrüter;4.5.2026;37,4\nKüche;4.5.2026;21\n",
            Futter="wer;gefüttert am;Futter\nFips;4.5.2026;Brei\nLotte;4.5.2026;Kolbenhirse\n",
        )
    )
    assert section(season, "What your words were read as") == [
        "Brutbuch.csv → hatches: Paar → pair; Ei → egg; geschiert → candled; Ergebnis → outcome; "
        "geschlüpft am → hatched_at; Küken → chick; Aufzucht → reared_by",
        "Paare.csv → pairs: Paar → pair; Vogelart → species; 1,0 → cock; 0,1 → hen",
        "Messwerte.csv → readings: Ort → place; Datum → read_at; Temperatur → temperature",
        "Beobachtungen.csv → signs: wer → who; gesehen am → seen_at; Zeichen → sign",
        "Futter.csv → feeds: wer → who; gefüttert am → fed_at; Futter → food",
        "candled: befr., befruchtet → fertile",
        "outcome: DIS, steckengeblieben → dead in shell; lauter → clear; geschlüpft → hatched",
        "sign: Legenot → egg binding; Kropf leert nicht, kalt → crop not emptying and cold; "
        "irgendwie komisch → left in your words",
        "species: Nymphensittiche → cockatiel",
        "reared_by: Handaufzucht → hand; Eltern → parents",
        "place: Wärmebox → brooder; Schlupfbrüter → incubator",
        "food: Brei → formula; Kolbenhirse → food it takes by itself",
    ]
    assert json.loads(check_json(season))["understood"] == understood(season)
    assert season.chicks.set_index("chick")["by_hand"].to_dict() == {"Fips": True, "Lotte": False}


def test_of_the_demo_only_what_is_no_formula_is_said():
    assert understood(demo()) == ["food: millet, corn and peas → food it takes by itself"]


def test_our_words_in_any_dress_are_no_news(open_logs):
    season = open_logs(
        hatches="Pair,EGG,Hatched at,chick,Reared-By,outcome\nP1,1,2026-05-01,K1,Hand,Hatched\nP1,2,,,parents,CLEAR\n",
        weights="chick,weighed_at,Weight (g)\nK1,2026-05-02,5\n",
        pairs=PAIRS,
    )
    assert understood(season) == []


def test_one_heading_of_several_files_and_the_first_of_two_are_said_once(folder):
    weights = "Datum;Küken;Gewicht\n2.5.2026;K1;{}\n"
    season = open_season(
        folder(
            hatches="pair;hatched_at;Küken;Jungvogel\nP1;1.5.2026;K1;x\n",
            Gewichte__1=weights.format(5),
            Gewichte__2=weights.format(6).replace("2.5", "3.5"),
        )
    )
    assert understood(season) == [
        "hatches.csv → hatches: Küken → chick",
        "Gewichte 1.csv and Gewichte 2.csv → weights: Datum → weighed_at; Küken → chick; Gewicht → weight",
    ]


def test_what_is_left_alone_in_a_grid_was_not_understood(folder):
    season = open_season(
        folder(hatches="pair,hatched_at,chick\nP1,2026-05-01,K1\n", weights="Datum,K1,Bemerkung\n2026-05-02,5,gut\n")
    )
    assert understood(season) == ["weights.csv → weights: Datum → weighed_at"]
    assert "unknown-column" in codes(season)


@pytest.mark.slow
def test_a_thousand_words_are_a_line(open_logs):
    signs = "".join(f"K1,2026-05-02,oddness{n}\n" for n in range(1000))
    season = open_logs(hatches=f"{HATCHES}P1,1,,2026-05-01,K1,\n", pairs=PAIRS, signs="who,seen_at,sign\n" + signs)
    (line,) = understood(season)
    assert line.endswith("oddness23 → left in your words; and 976 more")
    long = open_logs(signs=f"who,seen_at,sign\nK1,2026-05-02,{'odd ' * 2000}\n")
    assert max(map(len, understood(long))) < 100


def test_parents_who_sat_are_said(open_logs):
    season = open_logs(pairs=PAIRS, hatches="pair,egg,incubated_by\nP1,1,Eltern\nP1,2,P1\nP1,3,Brüter\n")
    assert understood(season) == ["incubated_by: Eltern → parents"]


# -- words that read two ways


@pytest.mark.parametrize(
    "name", ["Bajas 2026", "2026 bajas", "Altas y bajas", "Zuchtbuch", "Zuchtbücher 2026", "Zukäufe", "Bought in"]
)
def test_a_name_that_reads_two_ways_is_no_log_and_asked_about(name):
    assert log_asked(name)
    assert log_named(name) is None


@pytest.mark.parametrize("heading", ["baja", "Fecha de baja", "Zeit", "hora", "time"])
def test_a_heading_that_reads_two_ways_is_no_column_and_asked_about(heading):
    assert column_asked(heading)
    assert {column_named(heading, log) for log in LOGS.values()} == {None}


@pytest.mark.parametrize("name", ["Muertes 2026", "Brutbuch", "Datum", "", "K1", "timer", "time out of the nest"])
def test_what_reads_one_way_or_none_is_asked_nothing(name):
    assert (log_asked(name), column_asked(name)) == ("", "")


def test_a_sold_bird_in_a_register_of_bajas_is_no_dead_one(folder):
    hatches = f"{HATCHES}P1,1,,2026-05-01,Luna,\n"
    season = open_season(folder(pairs=PAIRS, hatches=hatches, bajas="pollo,fecha,motivo\nLuna,2026-05-20,vendida\n"))
    assert season.chicks["fate"].tolist() == ["being reared"]
    (advice,) = season.problems.loc[season.problems["code"] == "unknown-log", "advice"]
    assert "birds that died and of birds that were sold" in advice
    losses = "pollo,fecha de baja\nLuna,2026-05-20\n"
    season = open_season(folder(pairs=PAIRS, hatches=hatches, losses=losses))
    (advice,) = season.problems.loc[season.problems["code"] == "no-headings", "advice"]
    assert "Did you mean found_on of losses, where it died, or left_on of hatches" in advice


@pytest.mark.parametrize(
    ("log", "text"),
    [
        ("hatches", "Paar;Ei;gelegt am;geschlüpft am;Küken\nZ1;1;1.4.2026;20.4.2026;Fips\n"),
        ("birds", "Vogel;Ring;Geschlecht;Vater;Mutter\nHansi;A1;1,0;Rocky;Grete\n"),
        ("pairs", "Paar;Art;Hahn;Henne\nZ1;Nymphensittich;Hansi;Grete\n"),
    ],
)
def test_what_a_breeding_book_is_its_headings_say(folder, log, text):
    season = open_season(folder(Zuchtbuch__2026=text, hatches="pair,egg\nZ9,1\n"))
    assert season.accounting.set_index("log").loc[log, "used"] == (2 if log == "hatches" else 1)
    assert understood(season)[-1 if log == "birds" else 0].startswith(f"Zuchtbuch 2026.csv → {log}: ")
    assert "unknown-log" not in codes(season)


@pytest.mark.parametrize("text", ["Ding;Sache\na;b\n", "Vogel;Ring;geschlüpft am\nHansi;A1;1.5.2026\n"])
def test_a_breeding_book_that_its_headings_leave_open_is_asked_about(folder, text):
    season = open_season(folder(Zuchtbuch=text, hatches="pair,egg\nZ9,1\n", time="what,when\na,b\n"))
    assert season.chicks.empty
    book, other = season.problems.loc[season.problems["code"] == "unknown-log", "advice"]
    assert "Name it hatches, birds or pairs" in book
    assert "Name it" not in other


def test_a_file_that_its_name_misses_is_what_its_headings_say(folder):
    pairs = "Pair,Species,Cock,Hen\nM1,Blue & Gold,Rio,Sunny\n"
    season = open_season(folder(breeders=pairs, hatches="pair,egg\nM1,1\n"))
    assert season.pairs[["pair", "cock", "hen"]].values.tolist() == [["M1", "Rio", "Sunny"]]
    birds = open_season(folder(breeders="Bird,Father,Mother\nRio,Max,Ida\n"))
    assert birds.logs["birds"]["bird"].tolist() == ["Rio"]


@pytest.mark.parametrize("head", ["Datum;Wie;Wat", "Date;Bird;Note"])
def test_a_diary_is_no_log_of_losses_and_told_where_its_words_belong(folder, head):
    text = f"{head}\n2.4.2026;K1;crop slow this morning\n3.4.2026;K1;a bit better today\n"
    season = open_season(folder(dagboek=text, hatches="pair,chick,hatched_at\nP1,K1,2026-04-01\n"))
    (advice,) = season.problems.loc[season.problems["code"] == "unknown-log", "advice"]
    assert "It reads like a diary" in advice
    assert "headings are like" not in advice


def test_what_is_like_a_log_by_more_than_a_day_is_still_told(folder):
    season = open_season(folder(ochtend="Datum;Vogel;Gewicht\n2.4.2026;K1;4\n"))
    (advice,) = season.problems.loc[season.problems["code"] == "unknown-log", "advice"]
    assert "like those of weights" in advice


def test_a_column_of_the_time_of_day_is_asked_for_its_day(folder):
    feeds = "Zeit;wer;Futter\n2026-05-02 07:00;K1;Brei\n"
    season = open_season(folder(hatches="pair,chick,hatched_at\nP1,K1,2026-05-01\n", feeds=feeds))
    (advice,) = season.problems.loc[season.problems["code"] == "no-headings", "advice"]
    assert "Did you mean fed_at, where the day stands in it too?" in advice


def test_pairs_named_like_the_signs_of_the_sexes_are_pairs(folder):
    season = open_season(folder(pairs="pair;species;1.0;0.1\n10;cockatiel;A;B\n01;cockatiel;C;D\n"))
    assert season.pairs[["pair", "cock", "hen"]].values.tolist() == [["01", "C", "D"], ["10", "A", "B"]]


# -- alike problems


def test_alike_problems_stand_in_one_line_with_their_count(open_logs):
    rows = "".join(f"K9,2026-05-{day:02},{day}\n" for day in range(2, 12))
    rows += "".join(f"K1,2026-05-{day:02},{word}\n" for day, word in enumerate("abc", 2))
    season = open_logs(
        hatches=f"{HATCHES}P1,1,,2026-05-01,K1,\n", pairs=PAIRS, weights="chick,weighed_at,weight\n" + rows
    )
    lines = section(season, "Not used (13)")
    assert lines[0].startswith('weights.csv rows 2–11, chick: 10 times, such as "K9". No log knows this chick. Add it')
    assert [line.split('"')[1] for line in lines[1:]] == ["a", "b", "c"]
    assert len(season.problems) == 13


def test_of_one_rule_three_lines_stand_and_how_many_more(open_logs):
    again = "".join(f"P1,{egg},clear,,,\n" for egg in range(1, 7)) * 2
    lines = section(open_logs(hatches=HATCHES + again, pairs=PAIRS), "Not used (6)")
    assert [line.split(",")[0] for line in lines[:3]] == [f"hatches.csv row {row}" for row in (8, 9, 10)]
    assert lines[3:] == ["hatches.csv rows 11–13, chick: 3 more. The same row again."]
    fewer = section(open_logs(hatches=HATCHES + again[:56] * 2, pairs=PAIRS), "Not used (4)")
    assert [line.split('"')[1] for line in fewer] == ["1", "2", "3", "4"]


def test_columns_that_nobody_knows_are_named_in_one_line_and_a_question_keeps_its_mark(open_logs):
    season = open_logs(hatches="pair,egg,shelf,lamp,mood,shine\nP1,1,,,,\n", pairs=PAIRS)
    lines = section(season, "Look at this")
    assert "hatches.csv, shelf, lamp, mood and shine: 4 times. No column has this heading." in lines[0]
    assert "hatches.csv row 2, outcome: What became of this egg? Write its outcome" in lines[1]


# -- words of other languages


@pytest.mark.parametrize(
    ("sign", "words"),
    [
        ("limp", "lethargisch | apathique | decaído | sloom | matt und kraftlos"),
        ("crop not emptying", "Kropf voll | saurer Kropf | jabot aigre | buche agrio | zure krop"),
        (
            "crop not emptying",
            "Kropf leert sich langsam | Kropf morgens noch halb voll | Kropf steht | Kropfentzündung (TA)",
        ),
        ("blood in droppings", "Blut im Kot | sang dans les fientes | sangre en las heces | bloed in de ontlasting"),
        ("no droppings", "kein Kot | pas de fientes | sin heces | geen ontlasting"),
        ("yolk sac out", "Dottersack | sac vitellin | saco vitelino | dooierzak"),
        ("droppings", "Durchfall | diarrhée | diarrea | diarree"),
        ("choking", "verschluckt | fausse route | atragantado | verslikt"),
    ],
)
def test_a_sign_in_another_language_asks_for_the_same(sign, words):
    for word in words.split(" | "):
        assert [one.name for one in signs_of([word], "chick")] == [sign], word


@pytest.mark.parametrize(
    ("cell", "signs"),
    [
        ("blood in droppings", ["blood in droppings"]),
        ("heute Blut im Kot", ["blood in droppings"]),
        ("Blut im Kot und blutet", ["blood in droppings", "bleeding"]),
        ("nicht kalt aber schlapp", ["limp"]),
        ("Kropf leert nicht, kein Betteln", ["crop not emptying", "not begging"]),
    ],
)
def test_the_longest_words_of_a_sign_are_read(cell, signs):
    assert sorted(one.name for one in signs_of([cell], "chick")) == sorted(signs)


@pytest.mark.parametrize("cell", ["fine again", "wieder normal", "passed egg - OK", "weer normaal"])
def test_what_says_that_it_is_over_ends_what_was_seen_before(open_logs, cell):
    signs = f"who,seen_at,sign\nK1,2026-05-02,droppings\nK1,2026-05-03,{cell}\n"
    assert signs_seen(open_logs(signs=signs))["over"].all()


@pytest.mark.parametrize(
    ("cell", "asks"), [("Beine besser", 0), ("Beine nicht besser", 1), ("Kot besser", 1), ("eet beter", 0)]
)
def test_what_goes_better_is_no_new_alarm_and_ends_none(open_logs, cell, asks):
    assert len(signs_of([cell], "chick")) == asks
    seen = signs_seen(open_logs(signs=f"who,seen_at,sign\nK1,2026-05-02,limp\nK1,2026-05-03,{cell}\n"))
    assert seen[["good", "over"]].to_numpy().tolist() == [[False, False], [not asks, False]]


def test_a_not_before_a_sign_is_heeded_in_other_languages():
    assert [one.name for one in signs_of(["nicht lethargisch"], "chick")] != ["limp"]


@pytest.mark.parametrize(
    ("group", "causes"),
    [
        ("cold, heat or power", "Kälte | Stromausfall | froid | apagón | onderkoeld"),
        ("attacked or injured", "vom Hahn verletzt | mordu | aplastado | gebeten door pop"),
        ("crop or feeding", "Kropfentzündung | fausse route | quemadura de buche | verslikt"),
        ("weak or small", "zu schwach | trop faible | muy pequeño | zwak"),
        ("not known", "tot gefunden | inconnue | desconocida | onbekend | ?"),
        ("other, as written", "Vollmond | because of the moon"),
    ],
)
def test_a_cause_in_another_language_is_of_the_same_group(group, causes):
    assert {cause_group(cause) for cause in causes.split(" | ")} == {group}


@pytest.mark.parametrize(("kind", "lists"), [("brooder", BROODERS), ("incubator", INCUBATORS), ("cup", CUPS)])
def test_every_word_for_a_place_is_of_one_kind(kind, lists):
    for word in (one.strip() for line in lists for one in line.split(",")):
        assert kind_of_place(f"{word} 2") == kind, word


def test_a_cell_for_a_name_may_say_that_there_is_none():
    assert all(names_nobody(word.strip()) for line in NOBODY for word in line.split(","))
    assert not names_nobody("Nobody's Girl")


# -- a name that says less than the headings


def test_a_register_of_bajas_where_every_cause_is_a_death_is_the_losses(folder):
    hatches = f"{HATCHES}P1,1,,2026-05-01,Luna,\nP1,2,,2026-05-02,Sol,\n"
    bajas = "fecha,pollo,causa\n2026-05-20,Luna,aplastado\n2026-05-21,Sol,"
    season = open_season(folder(pairs=PAIRS, hatches=hatches, bajas=f"{bajas}buche lleno\n"))
    assert season.chicks["fate"].tolist() == ["lost", "lost"]
    for cause in ("", "regalado", "vendido por pequeño"):
        season = open_season(folder(pairs=PAIRS, hatches=hatches, bajas=f"{bajas}{cause}\n"))
        assert season.chicks["fate"].tolist() == ["being reared", "being reared"]


def test_clutches_with_a_row_an_egg_are_its_eggs(folder):
    season = open_season(folder(pairs=PAIRS, Pontes="Couple;Œuf;Pondu le;Issue\nP1;1;1.4.2026;clair\n"))
    assert season.eggs["outcome"].tolist() == ["clear"]
    season = open_season(folder(pairs=PAIRS, Pontes="Couple;Ponte;Œufs;Clairs\nP1;1;5;5\n"))
    assert season.clutches["eggs"].tolist() == [5]


def test_breeding_birds_two_and_two_are_pairs_that_go_by_their_cages(folder):
    birds = "Jaulón;Especie;Macho;Hembra\n1;cockatiel;Pancho;Lola\n2;cockatiel;Ñato;Frida\n"
    eggs = "Jaulón,huevo,nació\n1,a,2026-05-01\n3,b,2026-05-02\n"
    season = open_season(folder(Planteles=birds, Huevos=eggs))
    assert season.pairs[["pair", "cock"]].to_numpy().tolist() == [["1", "Pancho"], ["2", "Ñato"]]
    assert season.eggs.set_index("egg")["pair"].to_dict() == {"a": "1", "b": ""}


def test_an_egg_that_names_no_pair_is_of_the_only_pair_of_its_cage_and_that_is_said(open_logs):
    pairs = "pair,species,cage\nP1,cockatiel,J3\nP2,cockatiel,J4\nP3,cockatiel,J4\n"
    season = open_logs(pairs=pairs, hatches="cage,egg,hatched_at\nJ3,a,2026-05-01\nJ4,b,2026-05-02\n")
    assert season.eggs.set_index("egg")["pair"].to_dict() == {"a": "P1", "b": ""}
    assert understood(season) == ["pair: J3 → P1"]


def test_readings_without_a_place_are_of_what_the_sheet_is_called_by(folder):
    season = open_season(folder(Incubadora__2="Fecha,T°,HR %\n2026-05-01,37.4,50\n", hatches="pair,egg\nP1,1\n"))
    assert season.logs["readings"][["place", "temperature"]].to_numpy().tolist() == [["Incubadora 2", 37.4]]
    season = open_season(folder(Cocina="Fecha,T°,HR %\n2026-05-01,37.4,50\n", hatches="pair,egg\nP1,1\n"))
    assert len(season.logs["readings"]) == 1  # the kitchen's were not read


@pytest.mark.parametrize("remark", ["jabot lent", "buche lento", "Kropf noch voll", "trage krop"])
def test_a_slow_crop_in_a_remark_is_asked_about(open_logs, remark):
    season = open_logs(hatches="pair,egg,chick,notes\nP1,1,K1," + remark + "\n")
    assert season.remarks["asked"].tolist() == [("crop not emptying",)]


def test_an_hour_in_the_next_column_is_of_the_day_beside_it(folder):
    feeds = "Fecha;Hora;Pollo;ml\n6/5/2026;6h30;Luna;4\n13/5/2026;11h;Luna;5\n14/5/2026;;Luna;6\n"
    season = open_season(folder(hatches=f"{HATCHES}P1,1,,2026-05-01,Luna,\n", Tomas=feeds))
    assert [f"{one:%d.%m %H:%M}" for one in season.logs["feeds"]["fed_at"]] == [
        "06.05 06:30",
        "13.05 11:00",
        "14.05 00:00",
    ]
    assert "the hours under Hora read with the days beside them" in check_text(season)
    assert "unknown-column" not in codes(season)


@pytest.mark.parametrize("rows", ["6/5/2026;after noon;Luna;4\n", "6/5/2026 8:00;6h30;Luna;4\n"])
def test_a_column_of_hours_in_which_one_is_none_is_asked_about(folder, rows):
    feeds = f"Fecha;Hora;Pollo;ml\n13/5/2026;6h30;Luna;4\n{rows}"
    season = open_season(folder(hatches=f"{HATCHES}P1,1,,2026-05-01,Luna,\n", Tomas=feeds))
    assert len(season.logs["feeds"]) == 2
    assert "unknown-column" in codes(season)


def test_a_loss_of_egg_7_is_that_of_the_egg_called_7(open_logs):
    hatches = "pair,egg,hatched_at\nP1,7,\nP1,8,2026-05-01\n"
    for name in ("huevo 7", "Egg 7", "Œuf 7", "7"):
        season = open_logs(hatches=hatches, losses=f"chick,found_on\n{name},2026-05-20\n")
        assert season.losses[["chick", "egg"]].to_numpy().tolist() == [["", "7"]]
    assert "unknown-chick" in codes(open_logs(hatches=hatches, losses="chick,found_on\nK 7,2026-05-20\n"))
