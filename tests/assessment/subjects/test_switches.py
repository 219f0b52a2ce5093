"""Limit switches."""

from __future__ import annotations

import math

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import GOOD, check, limit, records


def test_switch_after_its_stop_has_a_negative_lead_and_fails():
    made = records(
        {"switches": [{"switch": "closed", "makes_at_pct": -0.4, "stop_at_pct": 0.6}]},
        limit("closed_switch_lead", minimum=1.0),
        instruments=GOOD,
    )
    found = check(assess_tag(made), "closed_switch_lead")
    assert found.value == pytest.approx(-1.0)
    assert found.verdict == "fail"
    assert found.tur is None
    # two readings 1 % apart: u^2 = 2 * (0.3^2 / 3 + 0.1^2 / 12)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(2 * (0.03 + 0.01 / 12)), rel=1e-9)
