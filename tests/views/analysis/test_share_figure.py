"""The figure of what checks use of their tolerance."""

from __future__ import annotations

import math

from kit.assessment.what_if.case import CheckChange
from kit.views.analysis.share_figure import share_figure
from tests.assessment import builders


def change(before: float | None, after: float | None, limits: tuple[float | None, float | None]) -> CheckChange:
    made = [builders.result("inaccuracy", "pass", each, limits, expanded=0.5) for each in (before, after)]
    return CheckChange(made[0], made[1], ("value",))


def named(*changes: CheckChange) -> list[tuple[str, CheckChange]]:
    return [("Inaccuracy", each) for each in changes]


def test_values_stand_at_their_share_of_the_tolerance_and_u_beside_them() -> None:
    """1 of ±2 is 50 %, -1.5 is -75 %; U = 0.5 is 25 % of the half tolerance."""
    figure = share_figure("T", named(change(1.0, -1.5, (-2.0, 2.0))))
    assert figure is not None
    before, after = [each for each in figure.data if each["mode"] == "markers"]
    assert (before["x"], after["x"]) == ([50.0], [-75.0])
    assert before["error_x"]["array"] == [25.0]
    assert "50 %, then −75 %" in figure.alt


def test_a_lower_limit_alone_gives_u_no_length() -> None:
    figure = share_figure("T", named(change(2.0, 4.0, (1.0, None))))
    assert figure is not None
    assert [each["error_x"]["array"] for each in figure.data if each["mode"] == "markers"] == [[0.0], [0.0]]


def test_what_has_no_share_is_not_drawn() -> None:
    assert share_figure("T", []) is None
    assert share_figure("T", named(change(None, None, (-2.0, 2.0)))) is None
    assert share_figure("T", named(change(1.0, math.inf, (None, 0.0)))) is None


def test_it_can_be_drawn_on_the_page() -> None:
    figure = share_figure("T", named(change(1.0, None, (-2.0, 2.0)), change(1.0, 0.5, (-2.0, 2.0))))
    assert figure is not None
    assert figure.bundle()["image/svg+xml"].startswith("<svg")


def test_what_lies_far_outside_stands_at_the_end_and_its_words_say_how_far() -> None:
    figure = share_figure("T", named(change(1.0, -20.0, (-2.0, 2.0))))
    assert figure is not None
    assert [each["x"] for each in figure.data if each["mode"] == "markers"] == [[50.0], [-200.0]]
    assert "then −1000 %" in figure.alt


def test_just_beyond_the_lower_limit_never_reads_as_on_it() -> None:
    figure = share_figure("T", named(change(1.0, -2.0008, (-2.0, 2.0))))
    assert figure is not None
    assert "then −100.04 %" in figure.alt
