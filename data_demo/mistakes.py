"""Honest mistakes of 2026, and what was written late. Each is a row or cell that `season check` must name."""

from datetime import date, datetime, timedelta

from pages import hatch_of, weighings

from analysis.simulate.write import Logs


def unreadable_weight(logs: Logs) -> None:
    """K12 on day 20: the paper had got wet."""
    weighings(logs, "K12")[20]["weight"] = "6?"


def unknown_chick(logs: Logs) -> None:
    """K99 was weighed; there is no K99."""
    logs["weights"].append({"chick": "K99", "weighed_at": date(2026, 5, 26), "weight": 41.0})


def ten_fold(logs: Logs) -> None:
    """K13 on day 10: the point slipped."""
    row = weighings(logs, "K13")[10]
    row["weight"] = round(row["weight"] * 10, 1)


def year_2062(logs: Logs) -> None:
    """One weighing of K20 is dated 2062."""
    row = weighings(logs, "K20")[15]
    row["weighed_at"] = row["weighed_at"].replace(year=2062)


def crop_in_other_words(logs: Logs) -> None:
    """The crop of K16 was "half"; that cell alone is not used."""
    weighings(logs, "K16")[12]["crop"] = "half"


def weighed_after_death(logs: Logs) -> None:
    """A weighing of K16 was written in the line of K15, two days after K15 was lost."""
    lost = next(r for r in logs["losses"] if r["chick"] == "K15")
    row = next(r for r in weighings(logs, "K16") if r["weighed_at"] > lost["found_on"] + timedelta(days=1))
    row["chick"] = "K15"


def weighed_twice(logs: Logs) -> None:
    """K08 stands twice on one morning, two grams apart."""
    row = weighings(logs, "K08")[25]
    logs["weights"].append(row | {"weight": row["weight"] + 2})


def hatched_and_clear(logs: Logs) -> None:
    """K02's egg was candled clear, and hatched."""
    hatch_of(logs, "K02")["candled"] = "clear"


def weaned_in_the_wrong_month(logs: Logs) -> None:
    """K01 was weaned before it hatched: the month is wrong."""
    row = hatch_of(logs, "K01")
    row["weaned_on"] = row["weaned_on"].replace(month=1)


def misspelt_bird(logs: Logs) -> None:
    """A sign of Sorrel is written for Sorel."""
    sign = "plucking", "a few feathers on her neck"
    logs["signs"].append({"who": "Sorel", "seen_at": date(2026, 5, 2), "sign": sign[0], "notes": sign[1]})


def formula_at_42(logs: Logs) -> None:
    """The formula of 20 May was 42 °C, and she waited."""
    at = datetime(2026, 5, 20, 6, 50)
    logs["feeds"].append({"fed_at": at, "food": "formula", "temperature": 42.0, "notes": "too warm, waited"})


def repeated_row(logs: Logs) -> None:
    """One weighing of K19 stands twice, one under the other."""
    at = logs["weights"].index(weighings(logs, "K19")[8])
    logs["weights"].insert(at + 1, dict(logs["weights"][at]))


def late_entries(logs: Logs) -> None:
    """Three weighings of 11 and 12 April were found on the kitchen calendar and written in May."""
    late = [r for r in logs["weights"] if r["weighed_at"] in (date(2026, 4, 11), date(2026, 4, 12))][1:4]
    logs["weights"] = [r for r in logs["weights"] if all(r is not one for one in late)]
    late[0]["notes"] = "from the kitchen calender, forgot these"
    at = next(i for i, r in enumerate(logs["weights"]) if r["weighed_at"] == date(2026, 5, 4))
    logs["weights"][at:at] = late
