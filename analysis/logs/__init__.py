"""What a keeper wrote → typed rows and one account of everything that could not be used."""

from analysis.logs.blank import write_blank_logs
from analysis.logs.check import check_tables
from analysis.logs.ledger import Ledger, Place, Row
from analysis.logs.read import RawTable, read_folder
from analysis.logs.settings import Settings, read_settings
from analysis.logs.tables import LOGS

__all__ = [
    "LOGS",
    "Ledger",
    "Place",
    "RawTable",
    "Row",
    "Settings",
    "check_tables",
    "read_folder",
    "read_settings",
    "write_blank_logs",
]
