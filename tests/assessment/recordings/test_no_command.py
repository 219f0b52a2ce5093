"""A recording without a command column: what can be told without it is judged, and nothing that needs it."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import limit
from tests.assessment.with_recordings import recorded, with_recordings

NEED_COMMAND = (
    *("zero_error", "span_error", "inaccuracy", "independent_linearity", "hysteretic_error", "repeatability"),
    *("dead_band", "resolution", "hysteresis", "dead_time", "t63", "t86", "settling_time", "overshoot", "travel_gain"),
    *("fail_position", "fail_time", "restored_position"),
)


@pytest.fixture(scope="module")
def uncommanded() -> bytes:
    """A routine with travel, switches and supply alone."""
    return recorded(channels=("feedback", "position", "closed_switch", "open_switch", "supply_v"))


def test_nothing_that_needs_the_command_has_a_value(uncommanded: bytes) -> None:
    found = assess_tag(with_recordings(uncommanded)).deciding
    valued = {each.check for each in found.checks if each.value is not None}
    assert not valued & set(NEED_COMMAND)
    assert valued >= {"closed_switch_position", "starts_per_hour", "supply_dip"}


def test_limits_that_only_a_command_could_answer_pass_nothing(uncommanded: bytes) -> None:
    limits = tuple(limit(name, maximum=1000.0) for name in NEED_COMMAND)
    found = assess_tag(with_recordings(uncommanded, limits=limits, tests=("readings", "fail_tests")))
    asked = [each for each in found.deciding.checks if each.check in NEED_COMMAND]
    assert asked
    assert {each.verdict for each in asked} <= {"not_tested", "not_assessable"}
    assert found.verdict == "incomplete"
