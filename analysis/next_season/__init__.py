"""What next season would give with the pairs that are kept."""

from analysis.next_season.lines import CAUTION, most_in_hand, outlook_lines
from analysis.next_season.season_ahead import Outlook, outlook

__all__ = ["CAUTION", "Outlook", "most_in_hand", "outlook", "outlook_lines"]
