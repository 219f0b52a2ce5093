"""How each check moved from visit to visit."""

from __future__ import annotations

from kit.views.report.history import history_sheet
from tests.views import made
from tests.views.reader import rows, titles


def test_each_check_has_a_value_a_stage_newest_first():
    older = {"visit": "1", "date": "2026-03-02"}
    newest = made.stage(
        made.result("hysteretic_error", 0.4, "stale", **older),
        made.result("inaccuracy", 0.2, visit="2"),
        visit="2",
        date="2026-04-01",
        goes_on_from=("1",),
    )
    oldest = made.stage(
        made.result("inaccuracy", -0.9), made.result("dead_band", None), stage="as_found", verdict="fail"
    )
    overview, moved = history_sheet(made.assessment(newest, oldest)).tables
    assert rows(overview) == [
        ["2", "as left", "2026-04-01", "1", "Pass"],
        ["1", "as found", "2026-03-02", "–", "Fail"],
    ]
    assert titles(moved) == ["Check", "2, as left", "1, as found"]
    assert rows(moved) == [
        ["Inaccuracy", "+0.20 %", "−0.90 %"],
        ["Hysteretic error", "0.40 % [Stale, of visit 1, 2026-03-02, 30 days before]", "–"],
    ]


def test_one_stage_is_no_history():
    assert history_sheet(made.assessment(made.stage())).missing == "There is one visit with one stage, and no history."
