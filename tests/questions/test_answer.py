"""The figures of the answers can be drawn on the page, whatever there is to draw."""

from __future__ import annotations

import pytest

from kit import questions
from kit.frames import Frames
from kit.questions.answer import MOST_LANES, lengths, marks


@pytest.mark.parametrize("name", [each for each in questions.__all__ if each != "Answer"])
def test_each_question_has_a_frame_and_a_figure_and_leaves_the_unit_as_it_is(name: str, unit: Frames) -> None:
    before = unit.checks()
    answer = getattr(questions, name)(unit)
    assert answer.figure.bundle()["image/svg+xml"].startswith("<svg")
    assert unit.checks().equals(before)


@pytest.mark.parametrize("name", [each for each in questions.__all__ if each != "Answer"])
def test_a_unit_without_a_tag_leaves_every_answer_empty(name: str) -> None:
    answer = getattr(questions, name)(Frames(()))
    assert len(answer.frame) == 0
    assert answer.figure.bundle()["image/svg+xml"].startswith("<svg")


def test_more_lanes_than_fit_are_counted() -> None:
    figure = lengths("T", "Words.", "Tags", [str(each) for each in range(40)], list(range(40)))
    assert figure.caption == f"Words. The first {MOST_LANES} of 40 are drawn; the frame has all."
    assert len(figure.layout["yaxis"]["ticktext"]) == MOST_LANES


def test_what_lies_beyond_the_figure_stands_at_its_end() -> None:
    figure = marks("T", "Words.", "%", ["a"], [[float("inf"), -5.0, 50.0]], (100.0,), within=(0.0, 200.0))
    assert figure.data[-1]["x"] == [200.0, 0.0, 50.0]
