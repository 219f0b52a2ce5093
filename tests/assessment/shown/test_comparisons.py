"""Typed and recorded values side by side."""

from __future__ import annotations

import pytest

from kit.assessment.shown.comparisons import comparisons
from tests.assessment.builders import result, stage


def pair(typed, recorded, typed_u=None, recorded_u=None, detail=""):
    name = f"{detail}, typed" if detail else "typed"
    return stage(
        result("fail_position", "pass", recorded, expanded=recorded_u, detail=detail),
        result("fail_position", "information", typed, expanded=typed_u, detail=name),
    )


@pytest.mark.parametrize("detail", ["", "signal_open"])
def test_the_difference_is_recording_minus_typed(detail):
    (found,) = comparisons(pair(20.0, 19.5, 0.3, 0.4, detail))
    assert (found.typed.value, found.recording.value, found.difference) == (20.0, 19.5, -0.5)
    assert found.recording.detail == detail
    assert found.greatest_uncertainty == 0.4


@pytest.mark.parametrize(
    ("recorded", "typed_u", "recorded_u", "agrees"),
    [(20.5, 0.3, 0.4, True), (20.51, 0.3, 0.4, False), (19.49, 0.3, 0.4, False), (20.1, None, 0.4, None)],
)
def test_both_agree_within_their_uncertainties_together(recorded, typed_u, recorded_u, agrees):
    (found,) = comparisons(pair(20.0, recorded, typed_u, recorded_u))
    assert found.agrees is agrees
    assert found.greatest_uncertainty == 0.4


def test_without_any_uncertainty_nothing_is_said():
    (found,) = comparisons(pair(20.0, 20.0))
    assert (found.agrees, found.greatest_uncertainty) == (None, None)


def test_what_has_no_counterpart_or_no_value_is_no_comparison():
    alone = result("fail_time", "information", 3.0, detail="signal_open, typed")
    other = result("fail_time", "pass", 3.0, detail="supply_off")
    assert comparisons(stage(alone, other)) == []
    assert comparisons(pair(None, 20.0)) == []
    assert comparisons(pair(20.0, None)) == []
    assert comparisons(stage(result("dead_time", "information", 3.0, detail="untyped"))) == []
