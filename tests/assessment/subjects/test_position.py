"""Position against command, with uncertainties worked out by hand."""

from __future__ import annotations

import math

import pytest
from scipy.stats import norm

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from tests.assessment.builders import GOOD, LOOP_MA, check, records, stroke
from tests.assessment.with_recordings import with_recordings


def test_inaccuracy_carries_both_instruments_worked_by_hand():
    """u^2 = 0.3^2/3 + 0.1^2/12 + 0.1^2/3 = 0.03 + 0.000833 + 0.003333 = 0.034167; u = 0.18484."""
    found = check(assess_tag(records({"readings": stroke(0, 0.1, 0.9, 0.2, 0)}, instruments=GOOD)), "inaccuracy")
    assert found.value == pytest.approx(0.9)
    assert found.budget.standard_uncertainty == pytest.approx(0.184842, abs=1e-6)
    assert found.budget.coverage_factor == pytest.approx(norm.ppf((1 + 0.9545) / 2), abs=1e-9)
    assert found.budget.expanded_uncertainty == pytest.approx(0.184842 * 2.000024, abs=1e-5)
    assert found.at == "50.0 % command, up"


def test_hysteretic_error_drops_accuracy_and_keeps_resolution_twice():
    """Position 0.1 % twice: u = 0.1 * sqrt(2) / (2 sqrt(3)) = 0.040825; the command instrument has no resolution."""
    down = [{**each, "direction": "down"} for each in stroke(0.1, 0.6, 0.2, commands=(0, 50, 100))]
    rows = [*stroke(0, 0.1, 0.2, commands=(0, 50, 100)), *down]
    found = check(assess_tag(records({"readings": rows}, instruments=GOOD)), "hysteretic_error")
    assert found.value == pytest.approx(0.5)
    assert found.budget.standard_uncertainty == pytest.approx(0.0408248, abs=1e-6)


def test_command_uncertainty_enters_through_the_slope_of_the_ideal_characteristic():
    """Equal percentage, R = 50, at 100 %: slope = ln 50 = 3.912; command 0.1 %/sqrt(3) becomes 0.22586 %."""
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", characteristic="equal_percentage")
    rows = [{"direction": "up", "command_pct": 100.0, "position_pct": 101.0}]
    found = check(assess_tag(records({"readings": rows}, tag=tag, instruments=GOOD)), "inaccuracy")
    by_command = next(each for each in found.budget.components if each.name.startswith("command"))
    assert by_command.standard_uncertainty == pytest.approx(math.log(50) * 0.1 / math.sqrt(3), rel=1e-9)


def test_static_readings_of_a_recording_enter_the_same_checks_as_typed_ones(healthy: bytes) -> None:
    found = assess_tag(with_recordings(healthy))
    for name in ("zero_error", "span_error", "inaccuracy", "hysteretic_error", "repeatability", "feedback_inaccuracy"):
        value = check(found, name).value
        assert value is not None
        assert abs(value) < 1.0
    names = {part.name for part in check(found, "inaccuracy").budget.components}
    assert "noise of the recording, means over the holds" in names
