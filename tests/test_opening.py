"""Opening a season step by step: each step returns its rows and leaves those it was given as they are."""

from inspect import signature

import pytest

from analysis.season import open_season, opening

# The steps that are given rows, in their order; those that return rows change some of `LOGS`.
RETURN_ROWS = (
    *("without_copied_rows", "date_by_age", "keep_in_bounds", "forget_after", "number_clutches"),
    *("drop_repeated_hatches", "read_moves", "read_losses", "weights_frame", "egg_weights_frame"),
    *("drop_other_unit_temperatures", "mark_known_birds"),
)
ONLY_READ = (
    *("last_day", "build_aviary", "read_hatches", "counted_clutches", "chicks_frame", "cross_check", "cages_frame"),
)

LOGS = {
    "pairs": "pair,species,cage\nP1,cockatiel,C1\n",
    "hatches": (  # no number of a clutch, an egg written twice, what became of it is not yet known
        "pair,egg,laid_on,hatched_at,chick\nP1,1,2026-04-01,2026-04-22,K1\nP1,2,2026-04-03,2026-04-24,K2\n"
        "P1,2,2026-04-03,2026-04-24,K2\nP1,3,2026-05-01,2026-05-22,K3\n"
    ),
    "weights": "chick,weighed_at,weight\nK1,2026-04-24,about 7\nK9,2026-04-24,about 7\nK1,2126-04-25,7\n",
    "weights by age": "chick,day 1,day 2\nK1,6,7\n",
    "losses": "chick,found_on\nK2,2026-05-02\nK9,2026-05-02\n",
    "moves": "what,on,to\nK1,2026-05-02,hand\nK9,2026-05-02,hand\n",
    "egg_weights": "egg,weighed_on,weight\n1,2026-04-02,5\nX,2026-04-02,5\n",
    "readings": "place,read_at,temperature\nbrooder,2026-05-01,99.5\nbrooder,2026-05-02,36\n",
    "readings copy": "place,read_at,temperature\nbrooder,2026-05-01,99.5\nbrooder,2026-05-02,36\n",
    "signs": "who,seen_at,sign\nK1,2026-05-01,panting\n",
}


def cells(rows):
    """All that stands in rows, by value."""
    logs = {log: [(row.place, dict(row.values)) for row in mine] for log, mine in rows.items()}
    tables = [
        (len(one), one.weighed_at.tolist(), one.weight.tolist(), one.chick.codes.tolist()) for one in rows.weighings
    ]
    return logs, tables, [(row.place, dict(row.values)) for row in rows.crops]


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    """Of each step of opening what its rows held before it and after it, and what those it returned hold."""
    folder, seen = tmp_path_factory.mktemp("season"), {}
    for log, text in LOGS.items():
        (folder / f"{log}.csv").write_text(text, encoding="utf-8")

    def watched(name):
        step = getattr(opening, name)

        def run(*args):
            rows = args[list(signature(step).parameters).index("rows")]
            before = cells(rows)
            result = step(*args)
            returned = result[0] if isinstance(result, tuple) else result
            seen[name] = (before, cells(rows), cells(returned) if name in RETURN_ROWS else None)
            return result

        return run

    with pytest.MonkeyPatch.context() as patch:
        for name in (*RETURN_ROWS, *ONLY_READ):
            patch.setattr(opening, name, watched(name))
        open_season(folder, up_to="2026-05-20")
    return seen


@pytest.mark.parametrize("step", [*RETURN_ROWS, *ONLY_READ])
def test_a_step_leaves_its_rows_as_they_are(opened, step):
    before, after, _ = opened[step]
    assert before == after


@pytest.mark.parametrize("step", RETURN_ROWS)
def test_a_step_returns_other_rows(opened, step):
    before, _, returned = opened[step]
    assert before != returned
