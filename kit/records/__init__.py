"""Reading a unit's folder: every row is used, or set aside with its reason.

``read_unit`` comes with pandas and all that reads files, so it is imported when it is first asked for:
the kernel of a report, which gets its tag's records as a slice, starts without them.
"""

from typing import TYPE_CHECKING, Any

from kit.records.folder.inputs import hash_inputs
from kit.records.folder.unit_folder import UnitError, find_unit
from kit.records.shares.slices import from_slice, instrument_from, problem_from, settings_from, to_slice
from kit.records.shares.tag_share import read_tag, tag_mark, tag_records

if TYPE_CHECKING:
    from kit.records.unit import read_unit

__all__ = [
    "UnitError",
    "find_unit",
    "from_slice",
    "hash_inputs",
    "instrument_from",
    "problem_from",
    "read_tag",
    "read_unit",
    "settings_from",
    "tag_mark",
    "tag_records",
    "to_slice",
]


def __getattr__(name: str) -> Any:
    if name != "read_unit":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from kit.records.unit import read_unit

    return read_unit
