"""For each rule one change to a clean folder that must make it fire; without the change it stays silent.

A case is (log, what stands there, what is written instead), or (log, text) for a whole log. More cases of one rule
are more entries. Rules on whole files and several seasons are in `OTHERS`, with the test that holds them.
"""

CLEAN = {
    "settings": "setting,value\nseason,2026\naviary,Test\n",
    "pairs": "pair,species,kind,cock,hen,cage,put_up_on,parted_on\n"
    "P1,cockatiel,,Pip,Hazel,C1,2026-01-05,\nP2,cockatiel,,Oak,Fern,C2,2026-01-05,\n",
    "hatches": "pair,clutch,egg,laid_on,set_on,candled,outcome,hatched_at,sure_to_days,chick,reared_by,weaned_on\n"
    "P1,1,1,2026-03-01,2026-03-02,fertile,hatched,2026-03-21,0,K1,,2026-05-05\n"
    "P1,1,2,2026-03-03,2026-03-03,fertile,hatched,2026-03-22,0,K2,,\n"
    "P1,1,3,2026-03-05,2026-03-05,,clear,,,,,\n"
    "P2,1,1,2026-03-02,2026-03-02,,hatched,2026-03-22,0,K3,,\n"
    "P2,1,2,2026-03-04,2026-03-04,,broken,,,,,\n",
    "weights": "chick,weighed_at,weight\nK1,2026-03-22,5\nK1,2026-03-23,6\nK1,2026-03-24,7\nK1,2026-03-25,8.5\n"
    "K3,2026-03-23,5\nK3,2026-03-24,6\nK3,2026-03-25,7\n",
    "losses": "chick,egg,found_on,last_seen_well_on,cause\nK2,,2026-04-01,2026-03-31,cold night\n",
    "birds": "bird,sex,species,hatched_on,father,mother\nPip,cock,cockatiel,2023-04-01,,\n"
    "Hazel,hen,cockatiel,2023-04-02,,\nOak,cock,cockatiel,2023-05-01,,\nFern,hen,cockatiel,2023-05-02,,\n",
    "cages": "cage,room\nC1,south\nC2,south\n",
    "clutches": "pair,clutch,eggs,clear,died_in_egg,broken_or_gone,hatched,weaned\nP1,1,3,1,0,0,2,1\n",
    "moves": "what,on,to\nK3,2026-04-02,hand\n",
    "egg_weights": "egg,weighed_on,weight\nP1/1/3,2026-03-06,5.5\n",
    "readings": "place,read_at,temperature,humidity_pct\nroom,2026-03-05 08:00,21,55\n",
    "signs": "who,seen_at,sign\nK1,2026-04-01,eating alone\n",
    "feeds": "fed_at,who,food,amount,temperature\n2026-03-23 07:00,K1,formula,1,39.5\n",
    "species": "species,incubation_d,clutch_eggs,heaviest\ncockatiel,21,7,130\n",
}

CASES = {
    "empty-file": [("weights", "")],
    "not-text": [("weights", "\x01\x02\x03 chick")],
    "unknown-log": [("wieghts", "chick,weighed_at,weight\nK1,2026-03-22,5\n")],
    "no-rows": [("weights", "chick,weighed_at,weight\n")],
    "no-headings": [("weights", "chick,weighed_at,colour\nK1,2026-03-22,green\n")],
    "unknown-column": [("cages", "room", "colour")],
    "repeated-column": [("cages", "room", "cage")],
    "open-quote": [("losses", "cold night", '"cold night')],
    "no-heading": [("cages", "cage,room", "cage,")],
    "more-cells-than-headings": [("weights", "25,8.5", "25,8,5")],
    "totals-line": [("weights", "K3,2026-03-23,5", "Total,,26\nK3,2026-03-23,5")],
    "error-cell": [("weights", "24,7\n", "24,#DIV/0!\n"), ("pairs", ",Oak,", ",#REF!,")],
    "formula-without-value": [("weights", "24,7\n", "24,=C3+1\n")],
    "name-missing": [("weights", "K1,2026-03-24", ",2026-03-24"), ("losses", "K2,,", ",,")],
    "date-missing": [("weights", "2026-03-24,7", ",7"), ("losses", "2026-04-01", "")],
    "value-missing": [("weights", "24,7\n", "24,\n"), ("weights", "24,7\n", "24,?\n")],
    "unreadable-date": [("weights", "2026-03-24,7", "yesterday,7"), ("hatches", "2026-05-05", "2026-02-30")],
    "ambiguous-date": [("weights", "2026-03-24,7", "3/4/26,7")],
    "date-without-year": [("settings", "season,2026", "season,spring"), ("weights", "2026-03-24", "24-Mar")],
    "unreadable-day": [("weights", "day,K1\n2,5\n3,6\n4,7\nsoon,8\n")],
    "age-without-hatch": [("hatches", "2026-03-22,0,K3", ",0,K3"), ("weights", "chick,day 1,day 2\nK3,5,6\n")],
    "unreadable-number": [("weights", "24,7\n", "24,seven\n"), ("weights", "24,7\n", "24,7 mice\n")],
    "ambiguous-number": [("weights", "chick;weighed_at;weight\nK1;2026-03-22;5\nK1;2026-03-23;1,234\n")],
    "less-than": [("weights", "24,7\n", "24,<8\n")],
    "about": [("weights", "24,7\n", "24,~7\n")],
    "unreadable-count": [("clutches", "P1,1,3,1", "P1,1,3,1.5")],
    "unknown-choice": [("hatches", "broken", "stuffed")],
    "days-out": [("hatches", "2026-03-21,0,K1", "2026-03-21,-1,K1"), ("species", "cockatiel,21", "cockatiel,999999")],
    "percent-out": [("readings", "21,55", "21,550")],
    "unknown-setting": [("settings", "aviary", "avairy")],
    "bad-setting": [("settings", "aviary,Test", "paper,A3"), ("settings", "aviary,Test", "column: Mass,wait")],
    "other-unit": [("weights", "24,7\n", "24,0.25 oz\n"), ("weights", ",weight\n", ",weight (oz)\n")],
    "far-from-season": [("weights", "2026-03-24", "2062-03-24"), ("hatches", "2026-05-05", "2036-05-05")],
    "outside-season": [("hatches", "2026-05-05", "2027-01-05")],
    "dates-out-of-order": [("hatches", "2026-05-05", "2026-03-20"), ("pairs", "2026-01-05,", "2026-01-05,2025-01-05")],
    "repeated-row": [("weights", "K1,2026-03-24,7\n", "K1,2026-03-24,7\nK1,2026-03-24,7\n")],
    "name-used-twice": [("cages", "C2,south", "C2,south\nC2,north"), ("hatches", "0,K3", "0,K1")],
    "one-name-two-things": [("hatches", "K3", "P1")],
    "unknown-chick": [("weights", "K1,2026-03-24", "K77,2026-03-24"), ("losses", "K2", "K77")],
    "unknown-egg": [("losses", "K2,,", ",P9/1/1,"), ("egg_weights", "P1/1/3", "P9/1/1")],
    "egg-in-two-clutches": [("losses", "K2,,", ",2,"), ("egg_weights", "P1/1/3", "2")],
    "egg-weighed-before-laid": [("egg_weights", "2026-03-06", "2026-03-04")],
    "egg-weighed-after-hatch": [("egg_weights", "P1/1/3,2026-03-06", "P1/1/1,2026-03-26")],
    "egg-gained": [("egg_weights", "5.5\n", "5.5\nP1/1/3,2026-03-08,5.9\n")],
    "egg-lost-fast": [("egg_weights", "5.5\n", "5.5\nP1/1/3,2026-03-07,5.2\n")],
    "other-temperature": [("readings", "08:00,21", "08:00,99.5"), ("feeds", "39.5", "104")],
    "unknown-who": [("signs", "K1", "K77")],
    "unknown-name": [("pairs", "Hazel", "Hazle"), ("pairs", "P2,cockatiel", "P2,cockateil")],
    "species-unknown": [("hatches", "P2,1,2,", "P3,1,2,")],
    "egg-without-pair": [("hatches", "P2,1,2,", ",1,2,")],
    "no-hatch-date": [("hatches", "2026-03-22,0,K3", ",,K3")],
    "hatched-without-name": [("hatches", "0,K3", "0,")],
    "named-but-not-hatched": [("hatches", "clear,,,,", "clear,,,K4,")],
    "outcome-unknown": [("hatches", "broken", "")],
    "only-hatched-written": [("hatches", ",clear,,", ",,,"), ("hatches", "broken", ""), ("clutches", "3,1,0", "3,,0")],
    "no-losses-written": [("losses", "")],
    "no-days-known": [
        ("hatches", "pair,egg,species,set_on,outcome\nP1,1,night parrot,2026-03-20,\nP1,2,night parrot,2026-03-21,\n")
    ],
    "hatched-but-clear": [("hatches", "03,fertile,hatched", "03,clear,hatched")],
    "hatched-but-other": [("hatches", "03,fertile,hatched", "03,fertile,late death")],
    "weaned-after-loss": [("hatches", "K2,,", "K2,,2026-05-01")],
    "seen-well-after-found": [("losses", "2026-03-31", "2026-04-05")],
    "loss-before-hatch": [("losses", "2026-04-01", "2026-03-12")],
    "second-loss": [("losses", "cold night\n", "cold night\nK2,,2026-04-03,,again\n")],
    "weight-not-positive": [("weights", "24,7\n", "24,0\n"), ("weights", "24,7", "24,-7"), ("egg_weights", "5.5", "0")],
    "weight-before-hatch": [("weights", "K1,2026-03-22", "K1,2026-03-02")],
    "weight-after-loss": [("weights", "K1,2026-03-24,7\n", "K1,2026-03-24,7\nK2,2026-04-20,30\n")],
    "weighed-twice": [("weights", "K1,2026-03-24,7\n", "K1,2026-03-24,7\nK1,2026-03-24,7.5\n")],
    "ten-fold": [("weights", "24,7\n", "24,70\n")],
    "another-unit": [("weights", "K1,2026-03-24,7\n", "K1,2026-03-24,.25\n"), ("weights", "24,6\n", "24,.21\n")],
    "too-heavy": [("species", "7,130", "7,8")],
    "two-cages-at-once": [("moves", "K3,2026-04-02,hand\n", "P1,2026-04-02,C3\nP1,2026-04-02,C4\n")],
    "two-pairs-one-cage": [("pairs", "C2", "C1")],
    "parent-too-young": [("birds", "2023-04-01,,", "2023-04-01,Oak,")],
    "own-ancestor": [("birds", "2023-04-01,,", "2023-04-01,Oak,"), ("birds", "2023-05-01,,", "2023-05-01,Pip,")],
    "impossible-parents": [("birds", "2023-05-01,,", "2023-05-01,Fern,Hazel")],
    "large-clutch": [("species", "21,7", "21,2")],
    "eggs-too-fast": [("hatches", "2,2026-03-03", "2,2026-03-01"), ("hatches", "3,2026-03-05", "3,2026-03-01")],
    "more-chicks-than-hatched": [("clutches", "2,1\n", "1,1\n")],
    "more-weaned-than-hatched": [("clutches", "2,1\n", "2,3\n")],
    "counts-disagree": [("clutches", "P1,1,3,1", "P1,1,4,2")],
    "counts-do-not-add-up": [("clutches", "P1,1,3,1", "P1,1,3,2")],
    "moves-disagree": [("hatches", "K3,,", "K3,P2,")],
    "burning-hot": [("feeds", "39.5", "46")],
}  # fmt: skip

SAID_AT = {
    "only-hatched-written": "hatches",
    "no-losses-written": "hatches",
    "too-heavy": "weights",
    "two-cages-at-once": "pairs",
    "large-clutch": "hatches",
}  # not where it was changed

OTHERS = {  # rules about whole files and several seasons: the test that shows each fire and stay silent
    "cannot-open": "test_text",
    "workbook-broken": "test_book",
    "workbook-locked": "test_book",
    "workbook-too-big": "test_book",
    "workbook-unsafe": "test_book",
    "mixed-encodings": "test_text",
    "same-season-twice": "test_same_log",
    "log-twice": "test_same_log",
    "later-than-asked": "test_rules",
    "share": "test_book",
}
