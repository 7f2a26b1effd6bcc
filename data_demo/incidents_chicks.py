"""What is planted in 2026 once the chicks have their numbers. One function an incident."""

from datetime import date, datetime, timedelta

from pages import as_shown, eggs_of, hatch_of, lose, on_age, on_day, weigh, weighings

from analysis.simulate.write import Logs

_OZ = 28.349523125
OUNCE_MORNINGS = tuple(date(2026, 3, day) for day in range(16, 22))


def draughty_cage(logs: Logs) -> None:
    """C7 stands in a draught: P08 and P11 each had one clutch in it, and one in C3, which they swapped on 6 April."""
    logs["moves"] = [m for m in logs["moves"] if m["what"] not in ("P08", "P11")]
    day = date(2026, 4, 6)
    logs["moves"].append({"what": "P08", "on": day, "to": "C3", "notes": "out of C7, swapped with P11"})
    logs["moves"].append({"what": "P11", "on": day, "to": "C7", "notes": ""})


def power_cut(logs: Logs) -> None:
    """The power was out in the night to 6 June: five chicks of P01, P08, P09 and P12 were found dead."""
    chosen = [*eggs_of(logs, "P01", "3")[1:3], eggs_of(logs, "P08", "2")[2]]
    chosen += [eggs_of(logs, "P09", "1")[0], eggs_of(logs, "P12", "1")[2]]
    for row in chosen:
        cause = "power cut, brooder stone cold"
        lose(logs, row["chick"], date(2026, 6, 6), cause, last_seen_well_on=date(2026, 6, 5))


def k21_fostered_slow(logs: Logs) -> None:
    """K21, laid by P13, went under P05 on day 3 and grew at four fifths of the pace."""
    hatched, before = hatch_of(logs, "K21")["hatched_at"], [dict(r) for r in weighings(logs, "K21")]
    note = "P05 lost her only one, sits on nothing"
    logs["moves"].append({"what": "K21", "on": hatched + timedelta(days=3), "to": "P05", "notes": note})
    for row in weighings(logs, "K21"):
        age = (row["weighed_at"] - hatched).days
        if age > 3:
            row["weight"] = as_shown(on_day(before, "K21", hatched + timedelta(days=3 + round(0.8 * (age - 3)))) * 0.93)
    weighings(logs, "K21")[6]["notes"] = "small for his age, but begs"


def k14_crop(logs: Logs) -> None:
    """K14: crop left over, no gain on day 17, lighter on days 18 and 19, found dead on day 20."""
    level = on_day(logs["weights"], "K14", on_age(logs, "K14", 16))
    logs["weights"] = [r for r in logs["weights"] if r["chick"] != "K14" or r["weighed_at"] <= on_age(logs, "K14", 16)]
    weigh(logs, "K14", on_age(logs, "K14", 16), level)
    for age, share, note in (
        (17, 1.0, "food still in there from last night"),
        (18, 0.93, ""),
        (19, 0.87, "going light"),
    ):
        weigh(logs, "K14", on_age(logs, "K14", age), level * share, crop="part", notes=note)
    vet = {"examined": "vet: yeast in the crop", "last_seen_well_on": on_age(logs, "K14", 16)}
    lose(logs, "K14", on_age(logs, "K14", 20), "crop stopped, thin", **vet)
    seen = {"who": "K14", "seen_at": on_age(logs, "K14", 17), "sign": "crop not emptying"}
    logs["signs"].append(seen | {"notes": "half full at six in the morning"})


def k15_sudden(logs: Logs) -> None:
    """K15 was found dead on day 24, gaining to the last morning and without a sign."""
    lose(logs, "K15", on_age(logs, "K15", 24), "no idea, ate well last night", examined="")


def k18_last_and_small(logs: Logs) -> None:
    """K18 hatched last of P01's second clutch: an eighth lighter all along, growing like the others."""
    for row in weighings(logs, "K18"):
        row["weight"] = as_shown(row["weight"] * 0.88)
    hatch_of(logs, "K18")["notes"] = "the baby of the nest"


def k11_is_small(logs: Logs) -> None:
    """K11 is a tenth lighter than its brood, so that the swap with K10 can be seen at all."""
    for row in weighings(logs, "K11"):
        row["weight"] = as_shown(row["weight"] * 0.9)


def falls_before_weaning(logs: Logs) -> None:
    """K03 fell 11 % from its peak before weaning, eating alone; K04 fell 17 %."""
    for chick, share in (("K03", 0.11), ("K04", 0.17)):
        rows = weighings(logs, chick)
        high = sorted(r["weight"] for r in rows)[-4]
        at = max(r["weighed_at"] for r in rows if r["weight"] >= high and r["weighed_at"] <= on_age(logs, chick, 40))
        end = hatch_of(logs, chick)["weaned_on"]
        for row in rows:
            if row["weighed_at"] > at:
                done = (row["weighed_at"] - at) / (end - at)
                row["weight"] = float(round(high * (1 - share * min(1.0, 1.25 * done))))
        weigh(logs, chick, end, high * (1 - share))
    seen = {"who": "K03", "seen_at": on_age(logs, "K03", 47), "sign": "eating alone"}
    logs["signs"].append(seen | {"notes": "millet, and cracking seed"})
    hatch_of(logs, "K04")["notes"] = "went very light, back on two feeds for a week"


def morning_seven_up(logs: Logs) -> None:
    """On 30 April the scale stood 7 g too high for every chick."""
    for row in logs["weights"]:
        if row["weighed_at"] == date(2026, 4, 30):
            row["weight"] = as_shown(row["weight"] + 7)


def digits_exchanged(logs: Logs) -> None:
    """K24, a lovebird of 48 g on 31 May, was written as 84."""
    row = [r for r in weighings(logs, "K24") if r["weight"] == 48][-1]
    row["weight"] = 84.0


def k10_k11_swapped(logs: Logs) -> None:
    """K10 and K11 were written for each other on one morning, the one on which they differed most."""
    both = {r["weighed_at"]: r for r in weighings(logs, "K10")}
    far = max(
        (r for r in weighings(logs, "K11") if r["weighed_at"] in both and r["weighed_at"] > date(2026, 3, 24)),
        key=lambda r: abs(r["weight"] / both[r["weighed_at"]]["weight"] - 1),
    )
    other = both[far["weighed_at"]]
    far["weight"], other["weight"] = other["weight"], far["weight"]


def k05_full_crop(logs: Logs) -> None:
    """K05 was weighed after the feed from day 24 to 30: a tenth heavier each time, crop full."""
    for row in weighings(logs, "K05"):
        if 24 <= (row["weighed_at"] - hatch_of(logs, "K05")["hatched_at"]).days <= 30:
            row |= {"weight": as_shown(row["weight"] * 1.1), "crop": "full"}


def six_ounce_mornings(logs: Logs) -> None:
    """From 16 to 21 March a helper weighed, on a scale that shows ounces."""
    for row in logs["weights"]:
        if row["weighed_at"] in OUNCE_MORNINGS:
            row["weight"] = max(round(row["weight"] / _OZ, 2), 0.01)


def sold(logs: Logs) -> None:
    """One chick of P08 was sold on 20 June, before it was weaned."""
    row = next(r for r in eggs_of(logs, "P08", "2") if r.get("weaned_on"))
    row |= {"weaned_on": None, "left_on": date(2026, 6, 20), "notes": "sold to a lady who hand feeds, went with papers"}
    chick = row["chick"]
    logs["weights"] = [w for w in logs["weights"] if w["chick"] != chick or w["weighed_at"] <= row["left_on"]]


def nobody_weighed(logs: Logs) -> None:
    """Nobody weighed on Saturday 9 May; in the week of 22 June only on Monday, Thursday and Saturday."""
    missed = {date(2026, 5, 9), *(date(2026, 6, day) for day in (23, 24, 26, 28))}
    logs["weights"] = [r for r in logs["weights"] if r["weighed_at"] not in missed]


def the_day_of_the_round(logs: Logs) -> None:
    """On 20 May: one chick with food left, one two mornings without gain, one hatched in the night, one unringed."""
    day = date(2026, 5, 20)
    left = eggs_of(logs, "P09", "1")[1]["chick"]
    grams = on_day(logs["weights"], left, day)
    weigh(logs, left, day, grams, crop="part", notes="a bit left from the late feed")
    logs["signs"].append(
        {"who": left, "seen_at": day, "sign": "crop not emptying", "notes": "gave water, will look at ten"}
    )
    still = next(r["chick"] for r in eggs_of(logs, "P07") if r.get("chick"))
    grams = on_day(logs["weights"], still, date(2026, 5, 18))
    for number in (18, 19, 20):
        weigh(logs, still, date(2026, 5, number), grams, crop="")
    hatch_of(logs, eggs_of(logs, "P09", "1")[3]["chick"])["ring"] = None
    night = eggs_of(logs, "P12", "1")[2]
    night |= {"hatched_at": datetime(2026, 5, 20, 2, 40), "sure_to_days": None}


def end_of_the_logs(logs: Logs) -> None:
    """The logs end on 9 August: what came later is not written, so some chicks are still being reared."""
    last = date(2026, 8, 9)
    logs["weights"] = [r for r in logs["weights"] if r["weighed_at"] <= last]
    for row in logs["hatches"]:
        if row.get("weaned_on") and row["weaned_on"] > last:
            row["weaned_on"] = None


def remarks(logs: Logs) -> None:
    """Write what a keeper writes beside her numbers: short, and not about anything planted."""
    for chick, at, note in _REMARKS:
        weighings(logs, chick)[at]["notes"] = note
    for chick, age, note in (
        ("K06", 38, "found the millet"),
        ("K10", 52, ""),
        ("K26", 44, "and fights me off the spoon"),
    ):
        seen = {"who": chick, "seen_at": on_age(logs, chick, age), "sign": "eating alone", "notes": note}
        logs["signs"].append(seen)
    next(m for m in logs["moves"] if m["what"] == "K22")["notes"] = "Ember was plucking her"


_REMARKS = (
    ("K01", 3, "eyes still shut"),
    ("K06", 14, "first pin feathers"),
    ("K08", 9, "very lively, hard to hold"),
    ("K12", 30, "on the new scale from today"),
    ("K13", 4, "crop nice and round last night"),
    ("K16", 25, "off the spoon twice, has other ideas"),
    ("K22", 10, ""),
    ("K24", 20, "climbed out on her own"),
    ("K31", 2, "tiny but loud"),
    ("K43", 12, "doing well after the cold night"),
    ("K48", 6, "only one of Sunniva's"),
)
