"""Which checks are made of an earlier visit, and how old they are."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment.shown.ages import gone_on_from, of_earlier_visit
from tests.assessment.builders import result, stage


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
