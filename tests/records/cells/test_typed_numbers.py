"""How cells are understood: numbers, words, dates."""

from __future__ import annotations

import numpy as np
import pytest

from kit.records.cells.typed_numbers import read_numbers
from kit.records.files.raw import as_texts


def read(
    *cells: str, unit: str = "mA", comma_separated: bool = True, may_be_open: bool = False
) -> tuple[list[float], list[int]]:
    """Values, and the positions of the faulty cells."""
    column = read_numbers(
        {"x": as_texts(cells)},
        {"x": unit},
        comma_separated=comma_separated,
        may_be_open=frozenset({"x"} if may_be_open else ()),
    )["x"]
    return column.values.tolist(), sorted(column.faults)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("12.04", 12.04),
        (" 12.04 ", 12.04),
        ("12,04", 12.04),
        ("\u22120.5", -0.5),
        ("12.04 mA", 12.04),
        ("12.04mA", 12.04),
        ("12,04\u00a0MA", 12.04),
        ("1e1", 10.0),
        ("+4", 4.0),
        ("0,500", 0.5),
        ("1.204,5", 1204.5),
        ("1,204.5", 1204.5),
    ],
)
def test_a_number_is_read_as_people_type_it(cell: str, value: float) -> None:
    assert read(cell) == ([value], [])


@pytest.mark.parametrize(
    ("cell", "unit"),
    [
        ("45 °", "deg"),
        ("45°", "deg"),
        ("45 %", "% of travel"),
        ("45 Ω", "Ω"),
        ("45 ohm", "Ω"),
        ("45 MΩ", "MΩ"),
        ("45 s", "s"),
    ],
)
def test_the_columns_own_unit_in_a_cell_is_understood(cell: str, unit: str) -> None:
    assert read(cell, unit=unit) == ([45.0], [])


@pytest.mark.parametrize("cell", ["", "-", "–", "—", "n/a", "N/A", "not tested", " nan "])
def test_a_placeholder_means_blank_and_is_no_fault(cell: str) -> None:
    values, faults = read(cell)
    assert np.isnan(values).all()
    assert faults == []


@pytest.mark.parametrize(
    "cell",
    [
        "OK",
        "<0.1",
        "~5",
        "#REF!",
        "=A1",
        "12 V",
        "5 kΩ",
        "inf",
        "-inf",
        "1e999",
        "12.0.4",
        "twelve",
        "2026-03-04",
        "TRUE",
        "1 204",
        "OL",
    ],
)
def test_what_is_no_reading_is_a_fault_and_never_zero(cell: str) -> None:
    values, faults = read(cell)
    assert np.isnan(values).all()
    assert faults == [0]


def test_milliohm_is_not_megohm() -> None:
    assert read("45 mΩ", unit="MΩ")[1] == [0]


@pytest.mark.parametrize("cell", ["OL", "open", "inf"])
def test_an_open_circuit_is_infinite_where_the_column_takes_it(cell: str) -> None:
    assert read(cell, may_be_open=True) == ([np.inf], [])


def test_a_point_that_may_mark_thousands_is_ambiguous_among_decimal_commas() -> None:
    """1.204 among 12,04 may mean 1204 as well as 1.204."""
    values, faults = read("12,04", "1.204", "4")
    assert faults == [1]
    assert values[0] == 12.04


def test_a_point_with_three_decimals_is_a_point_where_nothing_says_otherwise() -> None:
    assert read("12.041", "4.000") == ([12.041, 4.0], [])


def test_a_comma_that_may_mark_thousands_is_ambiguous_where_points_mark_decimals() -> None:
    assert read("12.04", "1,204")[1] == [1]
    assert read("1,204")[1] == [0]


def test_a_comma_with_three_decimals_is_decimal_in_a_file_that_commas_do_not_separate() -> None:
    assert read("1,204", comma_separated=False) == ([1.204], [])


def test_one_columns_decimal_commas_throw_doubt_on_anothers_points() -> None:
    columns = {"a": as_texts(["12,04", "4,00"]), "b": as_texts(["1.204", "2.500"]), "c": as_texts(["1.20", "2.500"])}
    read_columns = read_numbers(columns, dict.fromkeys(columns, "mA"), comma_separated=False, may_be_open=frozenset())
    assert sorted(read_columns["b"].faults) == [0, 1]
    assert not read_columns["c"].faults


def test_numbers_are_read_to_the_last_bit() -> None:
    """The fast path must not differ from Python's own reading of a number."""
    cells = [repr(value) for value in np.random.default_rng(1).uniform(-100, 100, 2000).tolist()]
    assert read(*cells)[0] == [float(cell) for cell in cells]


def test_what_a_decimal_comma_leaves_behind_is_a_fault_where_commas_separate_cells() -> None:
    """12,04 typed into a comma-separated file becomes 12 and 04."""
    assert read("04")[1] == [0]
    assert read("04.00") == ([4.0], [])
    assert read("0") == ([0.0], [])
    assert read("04", comma_separated=False) == ([4.0], [])
