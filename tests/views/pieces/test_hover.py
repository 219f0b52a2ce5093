"""What is shown at a point of an interactive figure."""

from __future__ import annotations

import pytest

from kit.views.figures.drawing import UP, layout, line, markers
from kit.views.pieces.hover import hovering, quantity_and_unit


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Command, % of range", ("Command", "%")),
        ("Time since the step of the command, s", ("Time since the step of the command", "s")),
        ("Speed, % of travel per s", ("Speed", "% per s")),
        ("% of the change of travel", ("", "%")),
        ("Depth, %", ("Depth", "%")),
        ("Tags", ("Tags", "")),
    ],
)
def test_the_title_of_an_axis_gives_quantity_and_unit(title: str, said: tuple[str, str]) -> None:
    assert quantity_and_unit(title) == said


def test_values_are_rounded_and_have_their_units() -> None:
    data = [line("Up mean", [0.0, 25.0146], [0.1, -0.595139], UP)]
    shown = hovering(data, layout("Command, % of range", "Error, % of travel span"))
    assert shown[0]["hovertemplate"] == "Command %{x:.1f} %<br>Error %{y:.3f} %<extra>Up mean</extra>"
    assert "hovertemplate" not in data[0]


def test_whole_numbers_have_no_decimals_and_lanes_say_their_name_alone() -> None:
    given = layout("Time, s", "", yaxis={"tickvals": [0], "ticktext": ["Hold"]})
    (shown,) = hovering([markers("Hold", [1, 2], [0, 0], UP, "circle")], given)
    assert shown["hovertemplate"] == "Time %{x:.0f} s<extra>Hold</extra>"


def test_what_skips_hovering_goes_on_skipping() -> None:
    (shown,) = hovering([line("Loop", [0], [0], UP, hoverinfo="skip")], layout("x", "y"))
    assert "hovertemplate" not in shown


def test_a_trial_says_how_far_it_reaches() -> None:
    trace = {**markers("Trial", [0.391], [0], UP, "circle"), "error_x": {"type": "data", "array": [0.05]}}
    (shown,) = hovering([trace], layout("Change of command, % of range", ""))
    assert shown["hovertemplate"].startswith("Change of command %{x:.3f} ± %{error_x.array:.2f} %")
