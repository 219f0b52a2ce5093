"""The schemas of the tables."""

from __future__ import annotations

import pytest

from kit.basis.tables import MEASUREMENTS, OF_NO_MEASUREMENT, RECORD_TABLES, TABLES


@pytest.mark.parametrize("name", TABLES)
def test_every_column_has_a_sentence_and_a_number_has_a_unit(name: str) -> None:
    """The schema is the documentation, so nothing of it may be blank."""
    table = TABLES[name]
    for column in table.columns:
        assert table.about(column).endswith(".")
        assert (table.kind(column) == "number") == bool(table.unit(column))
        assert (table.kind(column) == "word") == bool(table.words(column))


@pytest.mark.parametrize("name", [name for name in RECORD_TABLES if name not in OF_NO_MEASUREMENT])
def test_every_table_of_the_records_begins_with_tag_and_visit(name: str) -> None:
    assert TABLES[name].columns[:2] == ("tag", "visit")


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_every_measurement_table_may_carry_the_time_of_a_row(name: str) -> None:
    assert TABLES[name].kind("at") == "time"


def test_a_reading_needs_one_command_and_one_position() -> None:
    groups = TABLES["readings"].needed
    assert ("command_mA", "command_V", "command_pct") in groups
    assert ("position_pct", "position_deg", "position_mm") in groups
