"""The known name that an unknown one most likely stands for."""

from __future__ import annotations

import pytest

from kit.records.cells.nearest import NameFinder, nearest

KNOWN = ["FV-101", "FV-102", "Pump 3", "as_left"]


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("FV-1O1", "FV-101"),
        ("fv 102", "FV-102"),
        ("F_V.1/02", "FV-102"),
        ("FV\u2013102", "FV-102"),
        ("FV-lOI", "FV-101"),
        ("pump3", "Pump 3"),
        ("asleft", "as_left"),
        ("as_lefd", "as_left"),
        ("ABC", None),
        ("", None),
    ],
)
def test_a_name_that_looks_or_is_spelt_alike_is_found(written: str, found: str | None) -> None:
    assert nearest(written, KNOWN) == found


def test_one_that_looks_the_same_comes_before_one_that_is_spelt_alike() -> None:
    assert NameFinder(["AB-10l2", "AB-1012X", "AB-1O12"]).find("ab-1012") == "AB-10l2"


@pytest.mark.parametrize(("known", "near"), [("abcdefgxyz", True), ("abcdefwxyz", False)])
def test_seven_tenths_alike_is_near(known: str, near: bool) -> None:
    """Seven of ten letters in common, and six of ten."""
    assert (nearest("abcdefg123", [known]) is not None) == near


def test_of_no_names_none_is_near() -> None:
    assert nearest("FV-101", []) is None
