"""What figures of a recording draw."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment.shown.recording_curves import drawable, made_spans, one_of_each, restless, step_curve
from kit.basis.quantity import Quantity
from kit.calculations.recordings.switches import SwitchEvent
from tests.assessment.made import NOTHING, reduction, rest, step, still_recording


def drawn(size_pct=10.0, **further):
    return step(size_pct, t63=Quantity(1.0), **further)


def test_only_a_step_that_came_to_rest_on_both_sides_can_be_drawn():
    whole = drawn()
    for lacking in (
        step(),
        dataclasses.replace(whole, from_travel_pct=np.nan),
        dataclasses.replace(whole, to_travel_pct=np.nan),
    ):
        assert drawable([lacking, whole]) == [whole]


def test_the_first_of_each_size_and_way_is_drawn_greatest_first_and_opening_before_closing():
    small, again, closing, great = drawn(5.0), drawn(5.2), drawn(5.0, opens=False), drawn(-20.0, opens=False)
    assert one_of_each([closing, small, again, great], 9) == [great, small, closing]
    assert one_of_each([closing, small, again, great], 2) == [great, small]
    assert one_of_each([step()], 9) == []


def test_a_step_is_drawn_in_percent_of_its_own_change():
    """From 40 to 50 %: 42 % is a fifth of the way."""
    own = dataclasses.replace(drawn(), time_s=np.array([-1.0, 0.0, 1.0, 2.0]), travel_pct=np.array([40, 42, 50, 51.0]))
    curve = step_curve(own, 0.0, 1.0)
    assert (curve.x.tolist(), curve.y.tolist()) == ([0.0, 1.0], pytest.approx([20.0, 100.0]))
    down = dataclasses.replace(own, from_travel_pct=50.0, to_travel_pct=40.0)
    assert step_curve(down, 0.0, 0.0).y.tolist() == pytest.approx([80.0])


def test_the_restless_rest_is_the_one_that_moves_most():
    rests = [rest("noise", Quantity(9.0)), rest("hunting", Quantity(0.5)), rest("stick_slip", Quantity(0.9))]
    assert restless(rests) is rests[2]
    drifting = rest("drift", NOTHING)
    assert restless([rests[0], drifting, rest("at_rest", Quantity(0.0))]) is drifting
    assert restless(rests[:1]) is None


def event(at_s, makes, end="closed"):
    return SwitchEvent(end, makes, at_s, 2.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("first", "events", "spans"),
    [
        (0.0, (event(100.0, True), event(150.0, False), event(200.0, True)), [(100.0, 150.0), (200.0, 600.0)]),
        (1.0, (event(50.0, False),), [(0.0, 50.0)]),
        (np.nan, (event(50.0, False),), [(0.0, 50.0)]),  # the first sample that is known counts
        (0.0, (), []),
        (1.0, (), [(0.0, 600.0)]),
        (0.0, (event(100.0, True, "open"),), []),
    ],
)
def test_a_switch_is_made_from_each_make_to_the_next_break(first, events, spans):
    column = np.full(601, 1.0 if np.isnan(first) else first)
    column[0] = first
    own = still_recording(closed_switch=column)
    assert made_spans(reduction(own, switch_events=events), "closed") == spans


def test_each_end_has_its_own_column():
    own = reduction(still_recording(open_switch=np.ones(601)))
    assert made_spans(own, "closed") is None
    assert made_spans(own, "open") == [(0.0, 600.0)]
    unknown = reduction(still_recording(closed_switch=np.full(601, np.nan)))
    assert made_spans(unknown, "closed") == []
