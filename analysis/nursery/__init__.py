"""The morning's round and the eggs: who is fed by hand, what each should weigh, who needs a veterinarian, what is due.

who        chicks fed by hand: ages, last weights, what was seen
expected   what each should weigh today
care       what asks for a veterinarian, or a second look
elsewhere  the same of others: chicks with their parents, birds, losses, hot food, places out of range
incubators what one out of range asks for
amounts    how much at most
round      the round of a day, all of this together
before     what stands before the first feed
brooders   how warm the chicks in each want it
pressing   how soon what is read first asks for somebody
attention  what needs attention on page, screen and command line: the round's first, and the rest
eggs       eggs: water lost, days to pip and hatch
eggs_said  what they ask for
lost       losses looked back at
laid_out   rows to read and to write on
"""

from analysis.nursery.attention import attention
from analysis.nursery.before import before_feeding, no_amounts, still_here
from analysis.nursery.eggs import Eggs
from analysis.nursery.eggs_said import (
    hatch_said,
    lines_said,
    past_said,
    places_said,
    shells_said,
    unknown_said,
    water_asks,
    water_said,
)
from analysis.nursery.laid_out import NOBODY, egg_rows, round_rows, weights_form
from analysis.nursery.lost import RULES, looked_back, looked_back_said
from analysis.nursery.round import Round, round_of

__all__ = [
    "NOBODY",
    "RULES",
    "Eggs",
    "Round",
    "attention",
    "before_feeding",
    "egg_rows",
    "hatch_said",
    "lines_said",
    "looked_back",
    "looked_back_said",
    "no_amounts",
    "past_said",
    "places_said",
    "round_of",
    "round_rows",
    "shells_said",
    "still_here",
    "unknown_said",
    "water_asks",
    "water_said",
    "weights_form",
]
