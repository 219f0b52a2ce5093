"""Settings as found and as left, one beside the other."""

from __future__ import annotations

import pytest

from kit.assessment.history.compared_settings import ComparedSetting, compared_settings
from tests.assessment.builders import records


def _compared(*given: tuple[str, str, str]) -> tuple[ComparedSetting, ...]:
    rows = [{"stage": stage, "setting": setting, "value": value} for stage, setting, value in given]
    other = {"visit": "2", "stage": "as_left", "setting": "mode", "value": "of another visit"}
    return compared_settings(records({"settings": [*rows, other]}), "1")


@pytest.mark.parametrize(
    ("found", "left", "comparison"),
    [
        ("0.8 %", "0.8 %", "same"),
        ("0,50", "0.5", "same"),
        ("4-20 mA", "4 - 20 ma", "same"),
        ("0.8 %", "0.5 %", "changed"),
        ("direct", "reverse", "changed"),
    ],
)
def test_what_makes_no_difference_is_no_change(found: str, left: str, comparison: str):
    (each,) = _compared(("as_found", "Dead band", found), ("as_left", "dead_band", left))
    assert (each.setting, each.found, each.left, each.comparison) == ("Dead band", found, left, comparison)


def test_a_setting_of_one_stage_alone_is_neither_same_nor_changed():
    found, left = _compared(("as_found", "mode", "auto"), ("as_left", "speed", "50"))
    assert [(each.comparison, each.found, each.left) for each in (found, left)] == [
        ("not_left", "auto", ""),
        ("not_found", "", "50"),
    ]


def test_two_values_of_one_stage_are_both_shown_and_count_as_changed():
    (each,) = _compared(("as_found", "mode", "auto"), ("as_left", "mode", "auto"), ("as_left", "mode", "hand"))
    assert (each.left, each.comparison) == ("auto and hand", "changed")
