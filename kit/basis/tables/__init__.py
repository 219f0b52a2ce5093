"""Every table of a unit by name. The schemas are the documentation: notebooks/guide/records.md is made from them."""

from __future__ import annotations

from typing import Final

from kit.basis.tables.columns import Table
from kit.basis.tables.logs import LOGS
from kit.basis.tables.measurements import (
    ADJUSTMENTS,
    DISPOSITIONS,
    ELECTRICAL,
    FAIL_TESTS,
    LOOP_CHECKS,
    POTENTIOMETER,
    PRECHECKS,
    PUNCH,
    READINGS,
    SEGMENTS,
    SETTINGS,
    STROKES,
    SWITCHES,
)
from kit.basis.tables.registers import INSTRUMENTS, TAGS, VISITS

_TABLES: Final = (
    TAGS,
    INSTRUMENTS,
    VISITS,
    READINGS,
    STROKES,
    FAIL_TESTS,
    SWITCHES,
    POTENTIOMETER,
    ELECTRICAL,
    LOOP_CHECKS,
    SETTINGS,
    ADJUSTMENTS,
    PRECHECKS,
    SEGMENTS,
    DISPOSITIONS,
    PUNCH,
    LOGS,
)
TABLES: Final[dict[str, Table]] = {one.name: one for one in _TABLES}
RECORD_TABLES: Final = tuple(one.name for one in _TABLES if one.place == "records")
OF_NO_MEASUREMENT: Final = ("dispositions", "punch")  # what people decide on records and on items
MEASUREMENTS: Final = tuple(name for name in RECORD_TABLES if name not in ("visits", *OF_NO_MEASUREMENT))
TESTS: Final = tuple(test for one in _TABLES for test in one.tests)  # what a limit set may ask for
