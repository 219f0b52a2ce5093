"""Every check is told of in one place, and that place fits the tables."""

from __future__ import annotations

from collections import Counter
from typing import get_args

from kit.assessment.subjects import MISSING, SUBJECTS, action_of, table_of
from kit.basis.checks import CHECKS, CheckName
from kit.basis.registers import ROLES, Visit
from kit.basis.tables import MEASUREMENTS, TABLES, TESTS
from kit.basis.tables.registers import VISITS


def test_every_check_name_is_a_check_and_every_check_has_one_subject() -> None:
    assert tuple(CHECKS) == get_args(CheckName)
    told = Counter(check for subject in SUBJECTS for check in subject.checks)
    assert set(told) == set(CHECKS)
    assert set(told.values()) == {1}
    assert {subject.table for subject in SUBJECTS} <= {*MEASUREMENTS, "logs"}


def test_what_feeds_a_check_are_columns_of_its_table() -> None:
    for subject in SUBJECTS:
        for feed in subject.feeds:
            assert feed.columns
            assert set(feed.columns) <= set(TABLES[subject.table].columns), feed.check
            assert set(feed.roles) <= set(ROLES)
            assert feed.needs
            assert not feed.needs.endswith(".")


def test_a_check_without_an_instrument_counts_something() -> None:
    bare = {feed.check for subject in SUBJECTS for feed in subject.feeds if not feed.roles}
    assert bare == {name for name, check in CHECKS.items() if check.is_count or check.measure == "1/h"}


def test_every_test_that_a_limit_set_may_ask_for_reports_checks_of_its_own_table() -> None:
    assert set(MISSING) == set(TESTS)
    for test, asked in MISSING.items():
        for check, detail in asked:
            assert table_of(check) == test.partition(":")[0]
            assert detail in ("", *CHECKS[check].details)


def test_every_check_has_something_to_look_at_first() -> None:
    assert all(action_of(check).endswith(".") for check in CHECKS)


def test_every_role_has_its_column_of_visits() -> None:
    for role in ROLES:
        assert f"{role}_instrument" in VISITS.columns
        assert Visit("1", "2026-01-02", **{f"{role}_instrument": "X"}).instrument_of(role) == "X"
