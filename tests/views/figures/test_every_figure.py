"""Whatever is drawn: valid for plotly, small, and saying in words what to see."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import plotly.graph_objects as go
import pytest

from kit.assessment.results import RecordingResult
from kit.views.pieces.parts import PLOTLY_MIME, SVG_MIME, Figure
from kit.views.recordings import recording_sections
from kit.views.report import sections
from tests.views import made, made_recordings
from tests.views.made_recordings import LARGEST_TRACE, drawn_size, long_reduction
from tests.views.reader import figures_of, shown, shown_of_recordings, with_recordings
from tests.views.svg.reader import elements, subpaths, texts

DRAWN = {"front_page": 1, "calibration": 2, "hysteresis": 1, "feedback": 1, "potentiometer": 1, "switches": 1}
OF_RECORDINGS = ("recordings", "strokes", "switches", "fail_actions", "potentiometer")
LARGEST = 40_000


def drawn_on_page(figure: Figure) -> None:
    """The drawing is whole, in words too, shows each trace and lies within its own edges."""
    svg = figure.bundle()[SVG_MIME]
    root = ElementTree.fromstring(svg)
    assert root[0].text == figure.alt
    _, _, width, height = (float(each) for each in root.attrib["viewBox"].split())
    for path in elements(svg, "path"):
        if path.get("stroke-dasharray") is None:
            corners = [corner for part in subpaths(path.attrib["d"]) for corner in part]
            assert all(-1 <= x <= width + 1 and -1 <= y <= height + 1 for x, y in corners)
    for text, (x, y) in texts(svg).items():
        assert text
        assert 0 <= x <= width
        assert 0 <= y <= height


@pytest.mark.parametrize(("part", "count"), DRAWN.items())
def test_every_figure_of_typed_records_is_valid_small_and_says_what_to_see(part: str, count: int):
    drawn = figures_of(shown(part, made.records()))
    assert len(drawn) == count
    for figure in drawn:
        content = figure.bundle()[PLOTLY_MIME]
        go.Figure(content)
        drawn_on_page(figure)
        assert drawn_size(figure) < LARGEST / 2
        assert figure.caption.endswith(".")
        assert content["layout"]["meta"]["alt"].startswith(figure.alt[:20])


@pytest.mark.parametrize("name", made_recordings.VALVES)
def test_every_figure_of_a_recording_is_valid_small_and_says_what_to_see(name: str):
    records = made_recordings.records(name)
    drawn = figures_of(part for section in OF_RECORDINGS for part in shown_of_recordings(section, records))
    assert len(drawn) >= 4
    for figure in drawn:
        go.Figure(figure.bundle()[PLOTLY_MIME])
        drawn_on_page(figure)
        assert drawn_size(figure) < (LARGEST_TRACE if figure.title.startswith("Recording") else LARGEST), figure.title
        assert figure.caption.endswith(".")
        assert made.TAG in figure.alt


def test_a_page_of_half_an_hour_at_100_hz_stays_below_its_budget():
    records = made.records()
    assessment = with_recordings(records, RecordingResult("logs/FV-1/1.as_left.parquet", "", "", long_reduction()))
    parts = [*recording_sections.recordings(records, assessment), *sections.strokes(records, assessment)]
    assert sum(len(json.dumps(part.bundle())) for part in parts) < 400_000
