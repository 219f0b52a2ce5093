"""Reading a unit's folder: every row is used, or set aside with its reason."""

from kit.records.errors import UnitError
from kit.records.find import find_unit
from kit.records.log_files import LogReading, read_log
from kit.records.model import LogFile, TagRecords, UnitRecords
from kit.records.order import visit_key
from kit.records.shares import read_tag, tag_records
from kit.records.signals import parse_range
from kit.records.slices import from_slice, to_slice
from kit.records.unit import read_unit

__all__ = [
    "LogFile",
    "LogReading",
    "TagRecords",
    "UnitError",
    "UnitRecords",
    "find_unit",
    "from_slice",
    "parse_range",
    "read_log",
    "read_tag",
    "read_unit",
    "tag_records",
    "to_slice",
    "visit_key",
]
