"""A travel that ends early: by its switch, its stop, or because the signal stops."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.causes import probable_causes
from kit.basis.registers import Tag
from tests.assessment.builders import TAG, result, stage
from tests.assessment.causes.stages import found, runs

SHORT = runs((0.0, 0.0, 0.0, 0.0, -12.0), (0.0, 0.0, 0.0, 0.0, -12.0))  # stands at 88 % of travel at 100 %


@pytest.mark.parametrize(
    ("made", "lead", "pattern"),
    [
        (None, None, "stops short of open"),
        (88.3, 11.0, "open switch stops the travel early"),
        (97.0, -9.0, "open stop set early, or an obstruction"),
        (88.3, 0.2, "open stop set early, or an obstruction"),  # the stop stands there too
    ],
)
def test_what_ends_the_travel_is_told_by_the_switch_and_the_stop(made, lead, pattern):
    checks = [result("inaccuracy", "fail", -12.0, (-1.0, 1.0))]
    if made is not None:
        checks += [result("open_switch_position", "information", made), result("open_switch_lead", "information", lead)]
    (cause,) = probable_causes(stage(*checks, position_runs=SHORT), TAG)
    assert (cause.pattern, cause.explains) == (pattern, (("inaccuracy", ""),))
    assert "ends at 88.0 %" in cause.evidence


def test_a_command_that_stops_rising_is_suggested_by_the_gap_that_it_leaves():
    """Set 100 %, measured 86.9 %: the valve follows what it gets, and nothing was read at 100 %."""
    at = runs((0.0,) * 5, commands=(0.0, 25.0, 50.0, 75.0, 86.9))
    gap = result("span_error", "not_assessable", reason="no readings within 0.5 % of 100 % command")
    made = stage(gap, position_runs=at, command_set_pct=np.array([0.0, 25.0, 50.0, 75.0, 100.0]))
    (cause,) = probable_causes(made, TAG)
    assert cause.pattern == "command signal stops rising"
    assert "86.9 % where 100.0 % is set" in cause.evidence
    assert cause.explains == (("span_error", ""),)


@pytest.mark.parametrize(
    "asked",
    [(np.nan,) * 5, (0.0, 25.0, 50.0, 75.0, 87.0), (5.0, 30.0, 55.0, 80.0, 91.9)],
)
def test_a_command_that_is_reached_or_off_everywhere_does_not_stop(asked):
    at = runs((0.0,) * 5, commands=(0.0, 25.0, 50.0, 75.0, 86.9))
    made = stage(position_runs=at, command_set_pct=np.array(asked))
    assert probable_causes(made, Tag("T")) == ()


def test_a_plateau_is_no_shape_of_its_own_beside_its_end():
    causes = found({"inaccuracy": "fail"}, position_runs=SHORT)
    assert [each.pattern for each in causes] == ["stops short of open"]
