"""Which checks are made of an earlier visit, and how old they are."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment.shown.ages import failed_before, gone_on_from, of_earlier_visit
from tests.assessment.builders import result, stage
from tests.views import made


def of(name, day):
    return dataclasses.replace(result("inaccuracy", "pass", 0.2), visit=name, date=day)


@pytest.mark.parametrize(
    ("name", "day", "said"),
    [
        ("0", "2026-03-09", "of visit 0, 2026-03-09, 1 day before"),
        ("0", "2026-03-10", "of visit 0, 2026-03-10, of the same day"),
        ("0", "2025-03-10", "of visit 0, 2025-03-10, 365 days before"),
        ("0", "", "of visit 0"),
        ("1", "2026-03-10", ""),
        ("", "", ""),
    ],
)
def test_a_check_of_an_earlier_visit_says_how_old_it_is(name, day, said):
    assert of_earlier_visit(of(name, day), stage()) == said


def test_the_checks_of_each_earlier_visit_are_counted_nearest_first():
    checks = (of("0", "2026-03-09"), of("x", "2026-03-01"), of("0", "2026-03-09"), of("1", "2026-03-10"))
    assert gone_on_from(stage(*checks, goes_on_from=("0", "x"))) == (
        "Visit 1 goes on from visits 0 and x: 2 checks are of visit 0, 2026-03-09, 1 day before; "
        "1 check is of visit x, 2026-03-01, 9 days before."
    )
    assert gone_on_from(stage(of("1", "2026-03-10"))) == ""


def test_earlier_visits_that_failed_as_left_are_told_newest_first_and_no_other():
    def of_stage(visit, day, verdict, which="as_left"):
        return dataclasses.replace(stage(), visit=visit, date=day, verdict=verdict, stage=which)

    stages = (
        of_stage("4", "2026-03-10", "pass"),
        of_stage("4", "2026-03-10", "fail", "as_found"),
        of_stage("3", "2026-03-10", "conditional_fail"),
        of_stage("2", "2026-03-09", "incomplete"),
        of_stage("1", "2026-03-02", "fail"),
        of_stage("1", "2026-03-02", "fail", "as_found"),
        of_stage("undated", "", "fail"),
    )
    assert [each.visit for each in failed_before(made.assessment(*stages))] == ["3", "1"]
    assert failed_before(made.assessment(dataclasses.replace(stages[0], date=""), *stages[1:])) == ()
    assert failed_before(made.assessment()) == ()
