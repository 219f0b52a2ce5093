"""How cells are understood: numbers, words, dates."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.basis.tables.columns import Takes
from kit.records.cells.typed_numbers import read_numbers
from kit.records.files.raw import as_texts


def read(
    *cells: str, unit: str = "mA", comma_separated: bool = True, takes: Takes = ""
) -> tuple[list[float], list[int]]:
    """Values, and the positions of the faulty cells."""
    column = read_numbers(
        {"x": as_texts(cells)},
        {"x": unit},
        comma_separated=comma_separated,
        takes={"x": takes},
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
    assert read(cell, takes="open_circuit") == ([np.inf], [])


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
    read_columns = read_numbers(columns, dict.fromkeys(columns, "mA"), comma_separated=False, takes={})
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


SPELLINGS = {
    "as it is": lambda text: text,
    "blanks": lambda text: f" {text}\u00a0",
    "unit": lambda text: f"{text} mA",
    "unit at once": lambda text: f"{text}MA",
    "comma": lambda text: text.replace(".", ","),
    "comma and unit": lambda text: f"{text.replace('.', ',')}\u202fmA",
    "smart minus": lambda text: text.replace("-", "\u2212"),
    "plus": lambda text: text if text.startswith("-") else f"+{text}",
    "no leading zero": lambda text: text.replace("0.", ".", 1) if text.lstrip("-").startswith("0.") else text,
    "exponent": lambda text: f"{text}e0",
}


@given(
    whole=st.integers(-99_999, 99_999),
    decimals=st.text("0123456789", min_size=1, max_size=6).filter(lambda text: len(text) != 3),
    spelling=st.sampled_from(sorted(SPELLINGS)),
)
def test_a_number_survives_any_of_its_spellings(whole: int, decimals: str, spelling: str) -> None:
    """Three decimals are left out: they may be thousands, and other tests hold them."""
    text = f"{whole}.{decimals}"
    assert read(SPELLINGS[spelling](text)) == ([float(text)], [])


@given(value=st.floats(0, 1e9, allow_subnormal=False), comma_separated=st.booleans())
def test_thousands_are_understood_where_decimals_show_which_mark_is_which(value: float, comma_separated: bool) -> None:
    text = f"{value:,.2f}"
    wanted = [float(text.replace(",", ""))]
    assert read(text, comma_separated=comma_separated)[0] == wanted
    swapped = text.replace(",", "_").replace(".", ",").replace("_", ".")
    assert read(swapped, comma_separated=comma_separated)[0] == wanted


@pytest.mark.parametrize("unit", ["mA", "V", "deg", "mm", "%", "s", "Ω", "°C", "1/h", "% of travel"])
def test_another_columns_unit_is_a_fault_that_names_both(unit: str) -> None:
    column = read_numbers({"x": as_texts(["5 bar"])}, {"x": unit}, comma_separated=True, takes={})["x"]
    assert column.faults == {0: f"'5 bar' is in 'bar', the column in {unit}. Enter it in the column of its unit."}


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("#REF!", "spreadsheet error"),
        ("=A1", "formula without a stored value"),
        ("<0.1", "bound or an estimate"),
        ("\u2265 5", "bound or an estimate"),
        ("2026-03-04", "turned the reading into one"),
        ("OK", "is not a number. Enter the number"),
        ("1e999", "is not a number"),
        ("1.2.3", "is not a number"),
    ],
)
def test_a_fault_says_what_it_is(cell: str, words: str) -> None:
    column = read_numbers({"x": as_texts([cell])}, {"x": "V"}, comma_separated=True, takes={})["x"]
    assert words.casefold() in column.faults[0].casefold()


@pytest.mark.parametrize(("cell", "mark"), [("1,204", "comma"), ("1.204", "point")])
def test_an_ambiguous_mark_is_named(cell: str, mark: str) -> None:
    columns = {"x": as_texts([cell]), "y": as_texts(["1,5" if mark == "point" else "1.5"])}
    comma_separated = mark == "comma"
    read_columns = read_numbers(columns, dict.fromkeys(columns, "mA"), comma_separated=comma_separated, takes={})
    assert f"the {mark} may mark decimals or thousands" in read_columns["x"].faults[0]


def test_a_column_of_numbers_is_taken_as_it_is() -> None:
    """Out of a Parquet file: a blank is a nan, an infinite number no reading."""
    given_numbers = np.array([1.204, np.nan, np.inf, 5.0])
    column = read_numbers({"x": given_numbers}, {"x": "mA"}, comma_separated=True, takes={})["x"]
    np.testing.assert_array_equal(column.values, [1.204, np.nan, np.nan, 5.0])
    assert sorted(column.faults) == [2]


def test_numbers_beside_texts_with_commas_throw_doubt_on_nothing_of_their_own() -> None:
    columns = {"a": as_texts(["12,04"]), "b": np.array([1.204])}
    found = read_numbers(columns, dict.fromkeys(columns, "mA"), comma_separated=False, takes={})
    assert (found["b"].values.tolist(), found["b"].faults) == ([1.204], {})


@pytest.mark.parametrize(("cell", "split"), [("04", True), ("00", True), ("0", False), ("10", False), ("0.4", False)])
def test_only_a_zero_before_a_digit_is_half_a_number(cell: str, split: bool) -> None:
    column = read_numbers({"x": as_texts([cell])}, {"x": "mA"}, comma_separated=True, takes={})["x"]
    assert bool(column.faults) == split
    assert bool(np.isnan(column.values[0])) == split
    assert not split or "split a number in two" in column.faults[0]


def test_a_split_number_does_not_hide_the_faults_of_others() -> None:
    column = read_numbers({"x": as_texts(["04", "OK"])}, {"x": "mA"}, comma_separated=True, takes={})["x"]
    assert sorted(column.faults) == [0, 1]


@pytest.mark.parametrize("cells", [("12,5", "1.5", "1,204"), ("1.5", "12,5", "1,204")])
def test_a_column_with_both_marks_decides_nothing_for_a_doubtful_comma(cells: tuple[str, ...]) -> None:
    assert read(*cells)[1] == [2]
    assert read(*cells, comma_separated=False)[1] == [2]


POINTS = ["15.998", "4.031", "8.007", "12.015", "20.003", "16.002", "12.001", "8.004"]


@pytest.mark.parametrize(("slip", "faulty"), [("16,266", [8]), ("67,34", [])])
@pytest.mark.parametrize("comma_separated", [True, False])
def test_one_comma_among_many_points_is_a_slip_and_makes_no_other_cell_doubtful(slip, faulty, comma_separated):
    """Alone it is as doubtful as ever where it may mark thousands."""
    values, found = read(*POINTS, slip, comma_separated=comma_separated)
    assert values[:8] == [float(each) for each in POINTS]
    assert found == faulty


def test_one_point_among_many_commas_is_a_slip_too():
    commas = [each.replace(".", ",") for each in POINTS]
    values, found = read(*commas, "16.26", "12,5", comma_separated=False)
    assert (values, found) == ([*(float(each) for each in POINTS), 16.26, 12.5], [])


def test_a_figure_that_cannot_be_read_is_not_called_a_unit():
    column = read_numbers({"x": as_texts(["2?.4"])}, {"x": "s"}, comma_separated=True, takes={})["x"]
    assert "'2?.4' is not a number" in column.faults[0]
