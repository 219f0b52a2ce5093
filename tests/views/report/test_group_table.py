"""One line a test group on page one."""

from __future__ import annotations

import dataclasses

from kit.assessment.finding import WORST_RUN
from kit.views.report.group_table import group_table
from tests.views import made
from tests.views.reader import rows, titles

ZERO = made.result("zero_error", 0.3, "conditional_pass", lower=-1.0, upper=1.0)
WORST = made.result("inaccuracy", -1.4, at="50 % command, down", lower=-1.5, upper=1.5)


def test_a_group_shows_its_gravest_check_and_counts_plain_passes_alone() -> None:
    table = group_table(made.stage(WORST, ZERO))
    assert titles(table) == ["Test group", "Pass", "Worst check", "As left", "Where", "Limit", "Verdict"]
    assert rows(table) == [["Position", "1 of 2", "Zero error", "+0.30 %", "\u2013", "\u00b11 %", "Conditional pass"]]


def test_of_equal_verdicts_the_nearest_to_its_limit_is_shown_with_its_place() -> None:
    near, far = WORST, made.result("zero_error", 0.3, lower=-1.0, upper=1.0)
    assert rows(group_table(made.stage(far, near))) == [
        ["Position", "2 of 2", "Inaccuracy", "\u22121.40 %", "50 % command, down", "\u00b11.5 %", "Pass"]
    ]


def test_the_worst_of_several_runs_is_the_value() -> None:
    stroke = made.result("stroke_time_open", 15.0, "fail", lower=13.5, upper=16.5, beside={WORST_RUN: 17.2})
    ((_, _, _, value, *_),) = rows(group_table(made.stage(stroke)))
    assert value == "17.2 s"


def test_a_group_that_was_asked_for_and_not_tested_has_its_line_and_one_for_information_has_none() -> None:
    gap = made.result("loop_command_error", None, "not_tested", reason="no rows")
    told = made.result("dead_band", 0.4, "information")
    assert [(row[0], row[-1]) for row in rows(group_table(made.stage(gap, told)))] == [("Loop checks", "Not tested")]


def test_checks_of_an_earlier_visit_are_named_with_their_age_unless_all_are() -> None:
    older = dataclasses.replace(WORST, visit="1", date="2026-03-01")
    own = dataclasses.replace(ZERO, visit="2", date="2026-03-02")
    stage = made.stage(older, own, visit="2", date="2026-03-02")
    assert rows(group_table(stage))[0][0] == "Position [Inaccuracy of visit 1, 2026-03-01, 1 day before]"
    alone = made.stage(older, visit="2", date="2026-03-02")
    assert rows(group_table(alone))[0][0] == "Position [of visit 1, 2026-03-01, 1 day before]"


def test_a_tag_without_records_has_no_group() -> None:
    assert rows(group_table(None)) == []


def test_a_group_says_how_many_of_its_checks_rest_on_flagged_readings() -> None:
    doubted = dataclasses.replace(ZERO, flagged=("readings.csv row 3",))
    table = group_table(made.stage(dataclasses.replace(WORST, verdict="fail"), doubted))
    assert rows(table)[0][0] == "Position [1 of 2 flagged]"
    assert rows(group_table(made.stage(doubted)))[0][3] == "+0.30 % (flagged)"
