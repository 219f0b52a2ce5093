"""Bounds, and what never happened, as people type them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.basis.tables.columns import Takes
from kit.records.cells.typed_bounds import bound_of, is_open_circuit
from kit.records.cells.typed_numbers import NumberColumn, read_numbers
from kit.records.files.raw import as_texts


def read(*cells: str, unit: str = "s", takes: Takes = "no_arrival") -> NumberColumn:
    return read_numbers({"x": as_texts(cells)}, {"x": unit}, comma_separated=False, takes={"x": takes})["x"]


@pytest.mark.parametrize(
    ("cell", "bound", "value"),
    [
        (">60", "above", 60.0),
        ("> 60 s", "above", 60.0),
        ("≥60", "above", 60.0),
        (">= 60,5 s", "above", 60.5),
        ("60+", "above", 60.0),
        ("60 + s", "above", 60.0),
        ("more than 60 s", "above", 60.0),
        ("Over 60 sec", "above", 60.0),
        ("<0.1", "below", 0.1),
        ("≤ 0,1 s", "below", 0.1),
        ("less than 5", "below", 5.0),
    ],
)
def test_a_bound_is_read_with_its_number(cell: str, bound: str, value: float) -> None:
    column = read(cell)
    assert (column.values.tolist(), dict(column.bounds), dict(column.faults)) == ([value], {0: bound}, {})


@pytest.mark.parametrize(
    "cell",
    [
        "did not open",
        "Did not close.",
        "didn't move",
        "didn\u2019t open",
        "didnt open",
        "does not close fully",
        "no movement",
        "No motion",
        "never",
        "never arrived",
        "stuck",
        "stalled at 40 %",
        "would not open",
        "not reached",
        "timed out",
        "failed to open",
        "cannot move",
    ],
)
def test_a_valve_that_did_not_arrive_is_evidence(cell: str) -> None:
    column = read(cell)
    assert (column.values.tolist(), dict(column.bounds), dict(column.faults)) == ([np.inf], {0: "never"}, {})


@pytest.mark.parametrize("cell", ["did not make", "none", "None", "never", "does not make", "not made", "no contact"])
def test_a_switch_that_did_not_make_is_evidence(cell: str) -> None:
    column = read(cell, unit="% of travel", takes="no_make")
    assert (dict(column.bounds), dict(column.faults)) == ({0: "never"}, {})


@pytest.mark.parametrize("cell", ["OL", "ol", "O.L.", "over range", "open", "∞"])
def test_over_the_range_is_evidence_where_a_resistance_is_measured(cell: str) -> None:
    column = read(cell, unit="MΩ", takes="over_range")
    assert (column.values.tolist(), dict(column.bounds), dict(column.faults)) == ([np.inf], {0: "over"}, {})


@pytest.mark.parametrize(
    ("cell", "takes"),
    [
        (">60", ""),
        ("<0.1", "open_circuit"),
        ("OL", "no_arrival"),
        ("did not open", "bounds"),
        ("did not open", "no_make"),
        ("> about 60", "bounds"),
        ("> 1 min", "no_arrival"),
        ("~60", "no_arrival"),
        (">", "bounds"),
        (">>60", "bounds"),
        ("60+1", "bounds"),
    ],
)
def test_what_says_nothing_certain_in_its_column_is_a_fault(cell: str, takes: Takes) -> None:
    column = read(cell, takes=takes)
    assert (list(column.faults), dict(column.bounds)) == ([0], {})
    assert np.isnan(column.values).all()


@pytest.mark.parametrize("cell", ["none", "n/a", "?", "-", "not done"])
def test_what_means_blank_is_no_evidence_of_a_stroke(cell: str) -> None:
    column = read(cell)
    assert (dict(column.faults), dict(column.bounds)) == ({}, {})
    assert np.isnan(column.values).all()


@given(value=st.decimals(0, 10_000, places=2), sign=st.sampled_from([">", "≥", "<", "≤"]))
def test_a_bound_keeps_its_number_and_its_side(value: object, sign: str) -> None:
    column = read(f"{sign} {value} s")
    assert column.values.tolist() == [float(str(value))]
    assert dict(column.bounds) == {0: "above" if sign in ">≥" else "below"}


def test_an_open_circuit_is_told_from_a_number() -> None:
    assert is_open_circuit("O/L")
    assert not is_open_circuit("0")
    assert bound_of("O/L", "open_circuit") == (None, "")
