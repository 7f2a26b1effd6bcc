"""Advice for each pair, with its reasons: may it breed, and what does the record say?"""

from analysis.review.by_place import places
from analysis.review.hatch_by_hen import hens
from analysis.review.record import Record, read_record
from analysis.review.review import review_pairs

__all__ = ["Record", "hens", "places", "read_record", "review_pairs"]
