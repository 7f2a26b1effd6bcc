"""Hand-feeding by the trade's own ranges: reminders, never prescriptions. Numbers in, findings and frames out.

formula   how warm, and for how long a mix is used
cooling   whether a cup stays warm for the whole round
amounts   how much at most, how often, how much to mix
brooder   how warm at which age
order     who is fed first
cautions  what stands on every page
"""

from analysis.feeding.amounts import (
    ASK,
    CAP,
    CROP_DECIDES,
    FEED_ON,
    FIRST_ASK_H,
    HATCHLING_D,
    HATCHLINGS,
    OVER_CAP,
    VET,
    WEIGH_FIRST,
    Amount,
    feed_amount,
    feed_hours,
    feed_times,
    total_to_mix,
)
from analysis.feeding.brooder import (
    FAR_OVER_C,
    FEATHERED_D,
    HUMIDITY,
    PINS_D,
    TOO_COLD,
    TOO_HOT,
    TURN_DOWN,
    Need,
    brooder_need,
    brooders_said,
    too_cold,
    too_warm,
)
from analysis.feeding.cautions import CAUTIONS, FUMES, TO_WHO_FEEDS
from analysis.feeding.cooling import cooling_rate, lots_said, minutes_until, temperature_after
from analysis.feeding.formula import (
    COLDEST_C,
    FEED_TO_C,
    REFUSE_FROM_C,
    THERMOMETER,
    USABLE,
    WAIT,
    WINDOW,
    judge_formula,
)
from analysis.feeding.order import ORDER_WHY, feeding_order

__all__ = [
    "ASK",
    "CAP",
    "CAUTIONS",
    "COLDEST_C",
    "CROP_DECIDES",
    "FAR_OVER_C",
    "FEATHERED_D",
    "FEED_ON",
    "FEED_TO_C",
    "FIRST_ASK_H",
    "FUMES",
    "HATCHLINGS",
    "HATCHLING_D",
    "HUMIDITY",
    "ORDER_WHY",
    "OVER_CAP",
    "PINS_D",
    "REFUSE_FROM_C",
    "THERMOMETER",
    "TOO_COLD",
    "TOO_HOT",
    "TO_WHO_FEEDS",
    "TURN_DOWN",
    "USABLE",
    "VET",
    "WAIT",
    "WEIGH_FIRST",
    "WINDOW",
    "Amount",
    "Need",
    "brooder_need",
    "brooders_said",
    "cooling_rate",
    "feed_amount",
    "feed_hours",
    "feed_times",
    "feeding_order",
    "judge_formula",
    "lots_said",
    "minutes_until",
    "temperature_after",
    "too_cold",
    "too_warm",
    "total_to_mix",
]
