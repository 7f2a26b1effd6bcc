"""What stands on every page that has to do with feeding, and on the paper of a chick that somebody else must feed."""

from analysis.feeding.formula import FEED_TO_C, WINDOW
from analysis.finding import ACT, LOOK, found

# Heated non-stick coatings, smoke: "Fatal Fumes", Los Angeles Times, 24 November 1985; PTFE toxicosis, poultrydvm.com
# (read). Sprays, candles, cleaners: practice.
FUMES = found("feeding.fumes-kill", level=ACT)
CAUTIONS = (found("feeding.caution-chick", level=ACT), found("feeding.caution-people", level=LOOK, fumes=FUMES))
TO_WHO_FEEDS = (
    # the window and its sources: see formula
    found("feeding.warm-so", about=found("feeding.how-warm"), level=LOOK, window=WINDOW, to_c=FEED_TO_C),
    # birdrescueguide.com, "Can a bird recover from aspiration?" (read)
    found("feeding.stop-choking", about=found("feeding.choking"), level=ACT),
)
