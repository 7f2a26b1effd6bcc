"""What a keeper wrote → typed rows and one account of everything that could not be used."""

from analysis.logs.blank import write_blank_logs
from analysis.logs.ledger import Ledger, Place, Row
from analysis.logs.read import read_folder
from analysis.logs.settings import Settings, read_settings
from analysis.logs.sheets import RawTable, Sheet
from analysis.logs.tables import GOOD_SIGNS, LOGS, STAGES
from analysis.logs.typed import TypedRows, check_tables
from analysis.logs.understand import settings_sheets, understand

__all__ = [
    "GOOD_SIGNS",
    "LOGS",
    "STAGES",
    "Ledger",
    "Place",
    "RawTable",
    "Row",
    "Settings",
    "Sheet",
    "TypedRows",
    "check_tables",
    "read_folder",
    "read_settings",
    "settings_sheets",
    "understand",
    "write_blank_logs",
]
