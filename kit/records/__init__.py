"""Reading a unit's folder: every row is used, or set aside with its reason."""

from kit.records.errors import UnitError
from kit.records.find import find_unit
from kit.records.model import TagRecords, UnitRecords
from kit.records.order import visit_key
from kit.records.shares import read_tag, tag_records
from kit.records.signals import parse_range
from kit.records.slices import from_slice, settings_from, to_slice
from kit.records.unit import hash_inputs, read_unit

__all__ = [
    "TagRecords",
    "UnitError",
    "UnitRecords",
    "find_unit",
    "from_slice",
    "hash_inputs",
    "parse_range",
    "read_tag",
    "read_unit",
    "settings_from",
    "tag_records",
    "to_slice",
    "visit_key",
]
