"""The parts of a page and how a notebook's cell shows them."""

from __future__ import annotations

import hashlib

from kit.views.figures.drawing import UP, layout, line
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.parts import (
    PAGE_MIME,
    PLOTLY_MIME,
    RESULT_MIME,
    SVG_MIME,
    Figure,
    Page,
    Result,
    Section,
    attribute,
    bundles,
    render,
)
from kit.views.pieces.sheets import Sheet

FIGURE = Figure("Title", "Caption.", 'the 2" valve', (line("Up", [0, 1], [0, 1], UP),), layout("Time, s", "Travel, %"))


def test_html_that_follows_on_html_is_one_output():
    shown = list(bundles(Section("<p>a</p>"), [Section("<p>b</p>"), FIGURE], Result({"a": 1}), Section("<p>c</p>")))
    assert [list(bundle)[-1] for bundle in shown] == ["text/html", SVG_MIME, RESULT_MIME, "text/html"]
    assert shown[0]["text/html"].startswith("<p>a</p>\n<p>b</p>\n")
    assert "Title.</b> Caption." in shown[0]["text/html"]
    assert shown[3]["text/html"] == "<p>c</p>"


def test_a_figure_carries_its_content_in_words():
    bundle = FIGURE.bundle()
    meta = bundle[PLOTLY_MIME]["layout"]["meta"]
    assert bundle[PLOTLY_MIME]["layout"] == {**FIGURE.layout, "meta": meta}
    assert meta.pop("mark") == hashlib.sha256(bundle[SVG_MIME].encode()).hexdigest()[:12]
    assert meta == {"alt": "the 2” valve", "title": "Title", "wide": False}
    assert '<title>the 2" valve</title>' in bundle[SVG_MIME]
    assert attribute('"') == "”"


def test_a_document_number_cannot_end_the_stylesheet():
    content = Page("T", '</style> "x"', "assets").bundle()[PAGE_MIME]
    assert content["document_css"] == '"\\3c /style> \\"x\\""'
    assert (content["title"], content["assets"]) == ("T", "assets")


def test_a_number_keeps_its_unit_on_its_line_and_text_is_escaped():
    html = render("sheet.html.j2", Sheet("made", lines=("5 % & 3 mA at 20 °C, 4 sheets",))).html
    assert "5\u00a0% &amp; 3\u00a0mA at 20\u00a0°C, 4 sheets" in html


def test_one_hash_stands_for_all_files_and_changes_with_each():
    both = {"a.csv": "00", "b.csv": "01"}
    assert input_hash(both) == input_hash(dict(reversed(both.items())))
    assert len({input_hash(both), input_hash({"a.csv": "00"}), input_hash({"a.csv": "01", "b.csv": "00"})}) == 3
