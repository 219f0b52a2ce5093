"""What is asked of the checks, on a unit that can be worked out by hand: strokes of 20 s, limits of 10 %."""

from __future__ import annotations

import pytest

from kit import questions
from kit.frames import Frames


def test_what_is_left_names_every_punch_item_the_gravest_first(unit: Frames) -> None:
    frame = questions.what_is_left(unit).frame
    wanted = [item for _, assessment in unit.of_tags for item in assessment.punch_list]
    assert len(frame) == len(wanted) > 0
    assert list(frame["category"]) == sorted(item.category for item in wanted)


def test_the_worst_check_of_each_tag_stands_by_its_share(unit: Frames) -> None:
    """31 s of 20 ± 2 s: 11/2 = 550 %; HV-1's 20.1 and 19.8 s: 5 and -10 %."""
    frame = questions.which_are_worst(unit).frame
    assert list(frame["tag"]) == ["HV/2", "HV-1"]
    assert list(frame["share_of_tolerance_pct"]) == pytest.approx([550.0, -10.0])


def test_limits_that_bite_count_tags_and_failures(unit: Frames) -> None:
    """Opening was judged on both, at 5 and 550 %; closing of HV/2 has a value, 20.2 s, and its record is open."""
    frame = questions.which_limits_bite(unit).frame.set_index("check")
    opening = frame.loc["stroke_time_open"]
    assert (opening["judged"], opening["failed"]) == (2, 1)
    assert opening["median_used_pct"] == pytest.approx((5.0 + 550.0) / 2)
    assert opening["greatest_used_pct"] == pytest.approx(550.0)


def test_what_is_missing_holds_gaps_and_tags_without_any_record(unit: Frames) -> None:
    frame = questions.what_is_missing(unit).frame
    assert list(frame["tag"]) == ["HV/2", "HV-3"]
    assert list(frame["verdict"]) == ["not_assessable", "not_tested"]
    assert "unanswered" in frame["reason"][0]


def test_uncertainty_against_tolerance_is_half_the_tolerance_over_u(unit: Frames) -> None:
    checks = unit.checks().query("decides and check == 'stroke_time_open'")
    frame = questions.uncertainty_against_tolerance(unit).frame.set_index("check")
    by_hand = [2.0 / each for each in checks["expanded_uncertainty"]]
    assert frame.loc["stroke_time_open", "with_u"] == len(by_hand)
    assert frame.loc["stroke_time_open", "least_tur"] == pytest.approx(min(by_hand))
    assert frame.loc["stroke_time_open", "below_target"] == sum(each < 4.0 for each in by_hand)
