"""How the birds of a pair did with others: on pooled rates, without what was set aside."""

import pytest

from analysis.logs import Settings
from analysis.pairs.limits import Limits
from analysis.pairs.record import read_record
from analysis.pairs.with_others import birds_elsewhere, how_with_others, in_question
from analysis.say import in_words

LIMITS = Limits.of(Settings())
PAIRS = {"P1": ("Ash", "Ivy"), "P2": ("Ash", "Fern"), "P3": ("Oak", "Ivy")}
FINE = [f"P{n}" for n in range(4, 10)]  # pairs that are what is usual here
PAIRS |= {pair: (f"cock of {pair}", f"hen of {pair}") for pair in FINE}
GOOD, BAD, CLEAR = ["hatched"] * 4 + ["clear"], ["dead in shell"] * 4 + ["hatched"], ["clear"] * 5
SPOILT = ["dead in shell"] * 4 + ["clear"]


def clutches(pair, *eggs, incubated_by="", first=1):
    """Rows of hatches: so many clutches with these outcomes, two months apart."""
    rows = []
    for number, outcomes in enumerate(eggs, first):
        for n, outcome in enumerate(outcomes, 1):
            hatched = f"2026-{2 * number:02d}-28,{pair}{number}-{n}" if outcome == "hatched" else ","
            rows.append(f"{pair},{number},{n},2026-{2 * number:02d}-0{n},{outcome},{hatched},{incubated_by}\n")
    return "".join(rows)


def record_of(open_logs, *hatches, **logs):
    pairs = "".join(f"{pair},cockatiel,{cock},{hen},C1\n" for pair, (cock, hen) in PAIRS.items())
    eggs = "pair,clutch,egg,laid_on,outcome,hatched_at,chick,incubated_by\n" + "".join(hatches)
    return read_record(open_logs(pairs="pair,species,cock,hen,cage\n" + pairs, hatches=eggs, **logs))


def others(ash, ivy):
    return [clutches("P2", *ash), clutches("P3", *ivy), *(clutches(pair, GOOD, GOOD, GOOD) for pair in FINE)]


@pytest.mark.parametrize(
    ("ash", "ivy", "how"),
    [
        ([CLEAR] * 3, [CLEAR] * 3, "badly"),
        ([BAD] * 3, [BAD] * 3, "badly"),
        ([CLEAR] * 3, [GOOD] * 3, "well"),
        ([CLEAR] * 3, [GOOD], ""),  # under eight eggs
        ([CLEAR] * 3, [["hatched"] * 2 + ["dead in shell"] * 3] * 2, ""),  # neither for sure
    ],
)
def test_badly_takes_both_birds_and_a_rate_that_is_surely_low(open_logs, ash, ivy, how):
    record = record_of(open_logs, clutches("P1", CLEAR, CLEAR, CLEAR), *others(ash, ivy))
    assert how_with_others(record, "P1", LIMITS) == how


def test_whose_eggs_did_well_with_another_puts_the_mate_in_question(open_logs):
    record = record_of(open_logs, clutches("P1", CLEAR, CLEAR, CLEAR), *others([CLEAR], [GOOD] * 3))
    assert in_question(record, "P1", LIMITS).code == "pairs.cock-in-question"


def test_what_an_incubator_spoilt_speaks_against_no_bird(open_logs):
    hatches = [clutches("P1", CLEAR, CLEAR, CLEAR), *(clutches(pair, GOOD) for pair in ("P2", "P3"))]
    hatches += [clutches(pair, GOOD, GOOD, incubated_by="drawer") for pair in FINE]
    hatches += [clutches(pair, SPOILT, SPOILT, SPOILT, first=3, incubated_by="drawer") for pair in ("P2", "P3")]
    hatches += [clutches(pair, BAD, first=3, incubated_by="drawer") for pair in FINE[:3]]
    days = [f"2026-{month}-10" for month in ("06", "08", "10")]
    cool, hot = (
        "place,read_at,temperature\n" + "".join(f"drawer,{day},{celsius}\n" for day in days) for celsius in (37.5, 39.4)
    )
    as_it_was, aside = (record_of(open_logs, *hatches, readings=read) for read in (cool, hot))
    assert how_with_others(as_it_was, "P1", LIMITS) == ""
    assert how_with_others(aside, "P1", LIMITS) == "well"
    (_, with_heat), (_, without) = (birds_elsewhere(one, "P1")[0].facts["stages"] for one in (as_it_was, aside))
    assert [with_heat.facts["tried"], without.facts["tried"]] == [16, 4]
    assert with_heat.facts["mean"] < without.facts["mean"] - 0.1


def test_each_bird_is_told_by_its_eggs_with_others_drawn_towards_the_usual(open_logs):
    hatches = [clutches("P1", CLEAR, CLEAR, CLEAR), *others([CLEAR] * 3, [GOOD] * 3)]
    record = record_of(open_logs, *hatches)
    ash, ivy = birds_elsewhere(record, "P1")
    assert [ash.facts["bird"], ash.facts["mate"], ivy.facts["bird"]] == ["Ash", "Ivy", "Ivy"]
    (clear,), (fertile, hatch) = ash.facts["stages"], ivy.facts["stages"]
    assert [clear.facts["tried"], fertile.facts["tried"], hatch.facts["tried"]] == [15, 15, 12]
    assert clear.facts["mean"] < clear.facts["likely"].high < 0.3 < fertile.facts["likely"].low
    raw, typical = 12 / 15, fertile.facts["typical"]
    assert min(raw, typical) - 0.02 < fertile.facts["mean"] < max(raw, typical) + 0.02
    said = "Ash with others than Ivy, as far as all clutches tell: showed fertile, likely "
    assert in_words(ash).startswith(said)
    assert not birds_elsewhere(record, "P4")  # neither had another partner
