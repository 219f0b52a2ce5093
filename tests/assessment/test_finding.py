"""What the records say on a check."""

from __future__ import annotations

import pytest

from kit.assessment.finding import fixed_target
from kit.basis.checks import CHECKS
from tests.assessment.builders import finding


@pytest.mark.parametrize("name", CHECKS)
def test_a_target_is_fixed_only_where_it_is_the_same_for_every_tag(name):
    fixed = {"zero": 0.0, "one": 1.0, "closed_end": 0.0, "open_end": 100.0}
    assert fixed_target(name) == fixed.get(CHECKS[name].target)


def test_the_ends_of_the_travel_are_the_targets_of_the_switches():
    assert (fixed_target("closed_switch_position"), fixed_target("open_switch_position")) == (0.0, 100.0)
    assert (fixed_target("zero_error"), fixed_target("travel_gain"), fixed_target("fail_position")) == (0.0, 1.0, None)


def test_a_finding_is_judged_and_wanted_unless_it_says_otherwise():
    plain = finding("dead_time", None)
    assert (plain.judged, plain.needless) == (True, False)
    assert (plain.value, plain.why_not) == (None, "no reading")
