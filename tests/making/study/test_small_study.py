"""A small run of the study of recordings in the field; tests.making.guide.recording_study makes the great one."""

from __future__ import annotations

import pytest

from tests.making.guide.recording_study import one
from tests.making.study.recovered import Tally
from tests.making.study.tally_tables import merged

ONLY = {
    "rate": ["5", "10", "20"],
    "routine": ["off nominal", "repeated", "two files", "called back", "by hand", "losses"],
}
RECORDINGS = 10
LEAST_COVERED_PCT = 85.0  # of few figures together; the great study asks for 93 in each class


@pytest.fixture(scope="module")
def parts() -> list[Tally]:
    return [one(20_000 + number, ONLY) for number in range(RECORDINGS)]


def test_no_recording_ends_in_an_error_and_hardly_any_is_refused(parts: list[Tally]) -> None:
    wrong = merged(parts).wrong
    assert [name for name in wrong if name.startswith("ended in")] == []
    assert sum(count for name, count in wrong.items() if name.startswith("recordings not read")) <= 1


def test_most_figures_lie_within_what_is_stated(parts: list[Tally]) -> None:
    held = [pair for pairs in merged(parts).errors.values() for pair in pairs]
    assert len(held) > 60 * RECORDINGS
    assert 100.0 * sum(abs(each.error) <= each.expanded for each in held) / len(held) > LEAST_COVERED_PCT


def test_the_classes_are_told_with_the_figures(parts: list[Tally]) -> None:
    assert {part.classes.routine for part in parts if part.classes} <= set(ONLY["routine"])
    assert all(part.classes is not None for part in parts)
