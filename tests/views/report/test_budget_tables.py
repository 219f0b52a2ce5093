"""How an expanded uncertainty comes about."""

from __future__ import annotations

from math import inf

import pytest

from kit.basis.quantity import Component
from kit.calculations.uncertainty import Budget
from kit.views.report import budget_tables
from kit.views.report.budget_tables import budget_parts, no_uncertainty_lines
from tests.views import made
from tests.views.reader import rows, titles

PARTS = (
    Component("accuracy", "D-1", 0.1, "deg", "rectangular", 1.7320508, 1.1111111, 50.0),
    Component("noise", "", 0.0351, "% of idle", "normal", 1.0, 1.0, inf),
)


def test_each_component_stands_with_what_it_contributes(monkeypatch: pytest.MonkeyPatch):
    budget = Budget(PARTS, 0.073, 123.4, 0.9545, 2.02, 0.147)
    monkeypatch.setattr(made, "budget", lambda expanded: budget)
    (part,) = budget_parts(made.stage(made.result("inaccuracy", -0.6, lower=-1.5, upper=1.5, expanded=0.147)))
    assert titles(part.components) == [title.removesuffix(":") for title in budget_tables._COLUMNS]
    assert rows(part.components) == [
        ["accuracy", "D-1", "0.100°", "rectangular", "1.73", "1.11", "0.0642 %", "50.0"],
        ["noise", "–", "0.0351 % of idle", "normal", "1", "1.00", "0.0351 %", "∞"],
    ]
    assert part.title == "Inaccuracy"
    said = "−0.60 %; u 0.0730 %, degrees of freedom 123, k 2.020 for 95.45 %, U 0.15 %"
    assert part.summary.replace("\u00a0", " ") == said


def test_a_check_for_information_needs_no_budget():
    assert budget_parts(made.stage(made.result("dead_band", 0.4, "information", expanded=0.1))) == ()


def test_a_judged_value_without_an_uncertainty_gives_its_reason():
    stage = made.stage(
        made.result("inaccuracy", 0.4, "not_assessable", reason="no instrument named"),
        made.result("potentiometer_dropouts", 0.0),
        made.result("dead_band", None, "not_tested", reason="no trial"),
        made.result("hysteresis", 0.4, "information"),
    )
    assert no_uncertainty_lines(stage) == (
        "Inaccuracy: no uncertainty. No instrument named.",
        "Potentiometer dropouts: no uncertainty. A count is exact.",
    )
