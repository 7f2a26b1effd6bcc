"""What next season would give with the pairs that are kept."""

from analysis.outlook.lines import CAUTION, in_hand_words, outlook_lines
from analysis.outlook.outlook import Outlook, outlook

__all__ = ["CAUTION", "Outlook", "in_hand_words", "outlook", "outlook_lines"]
