"""A small run of the rules of record quality: hardly a false alarm, and every error of the trade is asked about."""

from __future__ import annotations

import pytest

from kit.records.suspicions.suspicions import RULES
from tests.making.guide.record_quality import PAGE, catch_table, clean_units, false_alarm_table
from tests.making.records.errors import ERRORS, Error
from tests.making.records.tried import Caught, Clean, catch

RECORDS = 12
# Errors that leave some readings where a valve may well stand, and the least share to be seen.
HARDER = {
    "two digits exchanged": 0.5,
    "slipped": 0.6,
    "left out": 0.6,
    "typed twice": 0.7,
    "fives": 0.6,
    "first (P6)": 0.5,
}


def test_careful_records_raise_hardly_a_flag() -> None:
    """The page has 5,000 of them; of 150 three may be flagged where one in a hundred is."""
    assert clean_units(150).in_all <= 3


@pytest.mark.parametrize("error", ERRORS, ids=lambda each: each.name)
def test_every_error_is_asked_about(error: Error) -> None:
    wanted = next((share for words, share in HARDER.items() if words in error.name), 1.0)
    records = 2 * RECORDS if error.peers > 1 else RECORDS  # a rule that compares records needs more of them
    assert catch(error, records).by_its_rule >= wanted * records


def test_each_error_names_a_rule_that_there_is() -> None:
    assert {each.rule for each in ERRORS} <= RULES.keys()


def test_the_page_has_a_line_for_every_rule_and_every_error() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert [rule for rule in RULES if f"\n| {rule} | " not in page] == []
    assert [each.name for each in ERRORS if f"\n| {each.name} | " not in page] == []


def test_tables_give_shares_of_the_records() -> None:
    clean = Clean(200)
    clean.by_rule.update({"last digits": 1})
    assert false_alarm_table(clean) == "| last digits | 1 | 0.50% |\n"
    (error, *_) = ERRORS
    assert catch_table([Caught(error, 8, 6, 7)]) == f"| {error.name} | 75% | 88% |\n"
