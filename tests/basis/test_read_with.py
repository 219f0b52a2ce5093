"""Which columns were read with an instrument."""

from __future__ import annotations

from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.tables.read_with import NOT_READ, READ_WITH


def test_every_number_of_a_measurement_is_read_with_an_instrument_or_said_not_to_be() -> None:
    """A new column that is in neither would be missed when its instrument is found to be wrong."""
    for name in MEASUREMENTS:
        numbers = {column for column in TABLES[name].columns if TABLES[name].kind(column) == "number"}
        assert numbers == set(READ_WITH.get(name, {})) | set(NOT_READ.get(name, ())), name
        assert not set(READ_WITH.get(name, {})) & set(NOT_READ.get(name, ()))
