"""A small run of the study of causes, and its page."""

from __future__ import annotations

from functools import cache

import pytest

from tests.making.guide.confusion_table import AIM_PCT, CYCLES, TABLE_HEAD, missed, rows_of
from tests.making.study.confusion import NO_CAUSE, SCATTERS_PCT, Told, typed
from tests.making.study.recorded_fault_kinds import RECORDED, recorded_once
from tests.making.study.typed_fault_kinds import HEALTHY, KINDS

VALVES = 4


@cache
def small() -> dict[tuple[str, float], Told]:
    return {(kind.name, AIM_PCT): typed(kind, AIM_PCT, CYCLES, VALVES, first=1000) for kind in KINDS}


def test_nearly_every_valve_of_a_small_run_has_its_fault_named_first():
    """95 % is the aim for each; of 200 valves together it is three standard deviations below 95 % at 90 %."""
    faulty = [kind for kind in KINDS if kind.right]
    right = sum(small()[kind.name, AIM_PCT].first[kind.right] for kind in faulty)
    assert right >= 0.9 * VALVES * len(faulty)


def test_no_sound_valve_of_a_small_run_has_a_cause_named():
    sound = next(kind for kind in KINDS if kind.name == HEALTHY)
    assert typed(sound, AIM_PCT, CYCLES, 40, first=1000).first == {NO_CAUSE: 40}


@pytest.mark.parametrize("name", ["hunting", "play outside the loop", "worn track"])
def test_a_recorded_fault_is_named_first(name):
    kind = next(each for each in RECORDED if each.name == name)
    assert recorded_once(kind, 0.15, 1000).first == {kind.right: 1}


def test_what_misses_the_aim_is_told_with_its_share():
    kind = KINDS[1]
    told = {(kind.name, AIM_PCT): Told(10)}
    told[kind.name, AIM_PCT].first.update({kind.right: 9, "bow": 1})
    assert missed([kind], told) == ["zero shift (90 %)"]


def test_every_fault_has_a_row_with_its_shares():
    told = {(kind.name, scatter): Told(1) for kind in (*KINDS, *RECORDED) for scatter in SCATTERS_PCT}
    rows = [*rows_of(KINDS, told).splitlines(), *rows_of(RECORDED, told).splitlines()]
    assert [row.split(" | ")[0].removeprefix("| ") for row in rows] == [each.name for each in (*KINDS, *RECORDED)]
    assert all(row.count("|") == TABLE_HEAD.splitlines()[0].count("|") for row in rows)
