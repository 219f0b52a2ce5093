"""Drift and the day when a tag is due again, as they are printed."""

from __future__ import annotations

from math import inf

from kit.assessment.history.drifts import Drift
from kit.assessment.history.due import CheckDue, Due
from kit.assessment.history.history import History
from kit.basis.retest import DUE_RULE
from kit.views.report.drift_tables import drift_sheet, due_lines
from tests.views.reader import rows, titles

_MOVED = Drift("zero_error", "", "", "1", "2", 365, 0.2, 0.512, 0.21)
_SIDE = Drift("inaccuracy", "", "greatest_positive", "1", "2", 365, 0.2, 0.5, None, "as found: no instrument")
_NONE = Drift("hysteretic_error", "", "", "", "2", why_not="no visit before it left this check")


def test_each_drift_has_its_uncertainty_or_the_reason_why_not():
    due = Due("2026-03-09", checks=(CheckDue("zero_error", "", 2, inf, "2025-03-09"),), without=1)
    drifted, own = drift_sheet(History((_MOVED, _SIDE, _NONE), due)).tables
    assert titles(drifted)[-5:] == ["As left", "As found", "Drift", "U of the drift", "Remark"]
    moved = ["1", "2", "365", "+0.20 %"]
    assert rows(drifted) == [
        ["Zero error", *moved, "+0.51 %", "+0.31 %", "0.21 %", "–"],
        ["Inaccuracy [greatest positive]", *moved, "+0.50 %", "+0.30 %", "–", "as found: no instrument"],
        ["Hysteretic error", "–", "2", "–", "–", "–", "–", "–", "no visit before it left this check"],
    ]
    assert "taken as independent" in drifted.notes[0]
    assert rows(own) == [["Zero error", "2025-03-09", "2", "none by drift"]]


def test_a_day_is_a_proposal_with_its_rule_and_what_it_goes_by():
    own = CheckDue("zero_error", "", 2, 628.5, "2025-03-09")
    assert due_lines(Due("2026-11-27", own, "", (own,), 3)) == (
        "Due again on 2026-11-27 (proposal), by the drift of Zero error. "
        "Checks with a limit and fewer than two intervals: 3.",
        DUE_RULE,
    )
    assert due_lines(Due("2026-03-09", None, "no check has 2 intervals"))[0] == (
        "Due again on 2026-03-09 (proposal), by retest_days of unit.toml. "
        "By its own drift no day is proposed: no check has 2 intervals."
    )


def test_without_a_day_the_reason_stands_alone():
    sheet = drift_sheet(History((), Due(why_not="the verdict is fail, so that what is open comes first")))
    assert sheet.lines == ("Due again: no day is proposed: the verdict is fail, so that what is open comes first.",)
    assert sheet.tables == ()
