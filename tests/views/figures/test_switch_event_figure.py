"""Limit switches as a recording shows them."""

from __future__ import annotations

from kit.calculations.recordings.switches import SwitchEvent
from kit.views.figures.switch_event_figure import end_words, events_figure
from tests.views import made

TAG = made.tag()
EVENTS = [
    SwitchEvent("closed", True, 10.0, 0.5, 0.0, 0.0),
    SwitchEvent("closed", False, 20.0, 1.0, 0.0, 0.0),
    SwitchEvent("closed", True, 30.0, 0.6, 0.0, 0.0),
    SwitchEvent("open", True, 40.0, 98.0, 0.0, 0.0),
]


def test_a_switch_in_words_tells_how_often_and_where():
    assert end_words(EVENTS, "closed") == "closed switch makes 2 times at 0.50 to 0.60 %, breaks once at 1.00 %"
    assert end_words(EVENTS, "open") == "open switch makes once at 98.00 %"
    assert end_words([], "open") == "open switch did not change"


def test_each_event_is_marked_at_its_travel_in_the_row_of_its_kind():
    figure = events_figure(EVENTS, TAG, "Switches")
    drawn = {(each["xaxis"], each["name"]): (each["x"], each["y"]) for each in figure.data}
    assert drawn == {
        ("x", "Makes"): ([0.5, 0.6], [1, 1]),
        ("x", "Breaks"): ([1.0], [0]),
        ("x2", "Makes"): ([98.0], [1]),
    }
    assert figure.layout["xaxis"]["range"] == [-1.5, 2.5]
    assert figure.layout["xaxis2"]["range"] == [96.5, 101.5]
    assert [each["showlegend"] for each in figure.data] == [True, True, False]


def test_one_end_alone_takes_the_whole_width():
    figure = events_figure(EVENTS[:3], TAG, "Switches")
    assert figure.layout["xaxis"]["domain"] == [0.0, 1.0]
    assert "xaxis2" not in figure.layout
