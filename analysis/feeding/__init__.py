"""Hand-feeding by the trade's own ranges: reminders, never prescriptions. Numbers in, words and frames out.

formula   how warm, and for how long a mix is used
cooling   whether a cup stays warm for the whole round
amounts   how much at most, how often, how much to mix
brooder   how warm at which age
order     who is fed first
cautions  what stands on every page
"""

from analysis.feeding.amounts import CROP_DECIDES, VET, Amount, feed_amount, feed_hours, feed_times, total_to_mix
from analysis.feeding.brooder import HUMIDITY, brooder_range_c, brooders_said
from analysis.feeding.cautions import CAUTIONS, FUMES, TO_WHO_FEEDS
from analysis.feeding.cooling import cooling_rate, lots_said, minutes_until, temperature_after
from analysis.feeding.formula import THERMOMETER, USABLE, WAIT, WINDOW, judge_formula
from analysis.feeding.order import ORDER_WHY, feeding_order

__all__ = [
    "CAUTIONS",
    "CROP_DECIDES",
    "FUMES",
    "HUMIDITY",
    "ORDER_WHY",
    "THERMOMETER",
    "TO_WHO_FEEDS",
    "USABLE",
    "VET",
    "WAIT",
    "WINDOW",
    "Amount",
    "brooder_range_c",
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
    "total_to_mix",
]
