"""What a paper that goes with a chick says beside what was written: cautions for its new keeper, and no promise."""

from analysis.findings.overview import Item

TODAY = "Keep it warm and quiet (one that pants: cooled first, not fed); an avian veterinarian, today."
CAUTIONS: tuple[Item, ...] = (
    ("Veterinarian", "A health check by an avian veterinarian within a few days of coming home."),  # practice
    (
        "Apart",
        "In a room without other birds, with bowls of its own, looked after last each day, until the veterinarian says "
        "it may join them.",
    ),  # practice
    (
        "Food",
        "The same food at the same hours at first; another only once it eats and holds its weight, bit by bit.",
    ),  # practice
    (
        "Weight",  # a drop: Duerr & Gage, Hand-Rearing Birds, 2020, p. 617; mornings, same scale: p. 450
        "Weigh it every morning before it eats, on the same scale, and write it down. A bird that is sick, cold, "
        "losing weight, straining or not eating: keep it warm and quiet; an avian veterinarian, today.",
    ),
    (
        "At home",
        "Doors and windows shut, ceiling fans off, cats, dogs and other animals away. Warm and out of draughts; a "
        "young bird that has just moved chills easily.",
    ),  # practice
    (
        "Hygiene",
        "Droppings and feather dust can make people ill (psittacosis). Wash hands, wipe with a damp cloth and never "
        "sweep dry, air the room; tell your doctor that you keep birds.",
    ),  # practice; what can be caught: (memory)
    ("Law", "Local law on rings, papers, sale and travel with birds holds. Ask before it moves."),  # practice
)
PROMISE = (
    "This paper repeats what was written down while the bird was reared. It does not guarantee health or sex and does "
    "not replace an examination."
)
