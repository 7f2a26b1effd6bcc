"""What next season would give with the pairs that are kept."""

from analysis.outlook.lines import CAUTION, most_in_hand, outlook_lines
from analysis.outlook.outlook import Outlook, outlook

__all__ = ["CAUTION", "Outlook", "most_in_hand", "outlook", "outlook_lines"]
