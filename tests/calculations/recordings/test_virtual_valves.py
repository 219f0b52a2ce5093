"""A small run of the study of random virtual valves; tests.making.guide.recording_study makes the great one."""

from __future__ import annotations

import pytest

from tests.making.study.recorded_valves import recorded_valve
from tests.making.study.recovered import Tally, reduced, tally

VALVES = 30
LEAST_COVERED_PCT = 85.0  # of few figures; the great study asks for 93


@pytest.fixture(scope="module")
def found() -> Tally:
    total = Tally()
    for start_number in range(VALVES):
        tally(reduced(recorded_valve(1000 + start_number)), total)
    return total


def test_no_segmentation_is_wrong(found: Tally) -> None:
    assert found.tests > 150 * VALVES
    assert +found.wrong == {}


def test_every_figure_lies_within_what_is_stated(found: Tally) -> None:
    assert len(found.errors) >= 15
    covered = {name: found.covered(name) for name, pairs in found.errors.items() if len(pairs) >= 20}
    assert {name: share for name, share in covered.items() if share < LEAST_COVERED_PCT} == {}
