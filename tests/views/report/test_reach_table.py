"""The block of what zero and span can reach."""

from __future__ import annotations

from kit.assessment import assess_tag
from kit.views.report.reach_table import reach_sheet
from tests.assessment.builders import GOOD, limit, records, stroke
from tests.views.reader import rows, titles

LIMITS = (limit("inaccuracy", plus_minus=1.5), limit("independent_linearity", maximum=1.0))


def sheet(*errors):
    made = records({"readings": stroke(*errors)}, *LIMITS, instruments=GOOD)
    return reach_sheet(assess_tag(made).reach)


def test_before_after_limit_uncertainty_and_the_verdict_expected():
    shown = sheet(0.5, 6.0, 8.0, 6.0, -0.5)
    (table,) = shown.tables
    assert titles(table) == ["Check", "Now", "Expected", "Limit", "U", "Verdict expected"]
    first, *others = rows(table)
    assert first[0].startswith("Inaccuracy")
    assert (first[1], first[3], first[5]) == ("8.00 %", "±1.5 %", "Fail")
    assert [(each[0], each[5]) for each in others] == [("Independent linearity", "outside")]
    assert any("It changes no verdict" in each for each in shown.lines)


def test_what_stands_on_a_stop_is_named():
    assert any("Left out" in each and "100.0 % command, up" in each for each in sheet(2.0, 2.0, 2.0, 2.0, 0.0).lines)


def test_without_a_trim_the_reason_stands_alone():
    shown = sheet(100.0, 50.0, 0.0, -50.0, -100.0)
    assert shown.tables == ()
    assert len(shown.lines) == 1
