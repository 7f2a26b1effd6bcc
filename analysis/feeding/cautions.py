"""What stands on every page that has to do with feeding, and on the paper of a chick that somebody else must feed."""

from analysis.feeding.formula import FEED_TO_C, WINDOW

# Heated non-stick coatings, smoke: "Fatal Fumes", Los Angeles Times, 24 November 1985; PTFE toxicosis, poultrydvm.com
# (read). Sprays, candles, cleaners: practice.
FUMES = (
    "Fumes kill birds in minutes: no coated (PTFE, non-stick) bulb or pan, spray, scented candle, smoke, cleaner not "
    "washed off. If it happened: people out first, birds to fresh air, an avian veterinarian at once."
)
CAUTIONS = (
    "A sick, losing, straining or not-begging chick is kept warm and quiet (one that pants: cooled), and an avian "
    "veterinarian sees it today. No page can look at a bird: what you see holds. A cold chick is never fed. Formula "
    "that is too hot burns the crop; too much, or too fast, gets into the airway. Amounts are reminders, never a "
    "prescription; your veterinarian's word goes before them. Clean hands and tools, a fresh mix.",
    "Droppings and feather dust can make people ill (psittacosis): air the room, tell your doctor. Home-made heat: "
    f"electrical and fire safety first, local codes hold, a qualified electrician checks it. {FUMES}",
)
TO_WHO_FEEDS = (
    (
        "How warm",  # the window and its sources: see formula
        f"{WINDOW}, stirred and measured before every feed: never cold, never over {FEED_TO_C:.0f} °C. A chick that is "
        "cold is warmed first.",
    ),
    (
        "Choking",  # birdrescueguide.com, "Can a bird recover from aspiration?" (read)
        "Formula at the nose, coughing, gasping: stop, wipe beak and nostrils, let it cough, keep it warm and still; "
        "an avian veterinarian at once, even if it seems well again. Never shake it or hang it by the feet.",
    ),
)
