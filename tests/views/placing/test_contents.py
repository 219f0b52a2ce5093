"""Headings in order, anchors once, contents, and links that lead somewhere, whatever a notebook shows."""

from __future__ import annotations

import re
from itertools import pairwise

from hypothesis import given
from hypothesis.strategies import integers, lists

from kit.views.placing.contents import PAGE_ONE, in_order


def levels(pieces: list[str]) -> list[int]:
    return [int(found) for found in re.findall(r"<h([1-6])", "".join(in_order(pieces)[0]))]


@given(lists(integers(1, 6), max_size=12))
def test_headings_never_skip_a_level_and_only_one_is_the_pages_own(written: list[int]) -> None:
    found = levels([f"<h{level}>x</h{level}>" for level in (1, *written)])
    assert found[0] == 1
    assert 1 not in found[1:]
    assert all(later <= earlier + 1 for earlier, later in pairwise(found))


def test_sections_that_stand_below_no_heading_are_each_others_equals() -> None:
    assert levels(["<h1>FV-1</h1>", "<h3>A</h3>", "<h3>B</h3>", "<h2>C</h2>", "<h3>D</h3>"]) == [1, 2, 2, 2, 3]


def test_an_anchor_stands_once_and_the_first_keeps_it() -> None:
    pieces, contents = in_order(['<h2 id="a">A</h2><p id="a-2">', '<h2 id="a">A again</h2><p id="main">'])
    assert re.findall(r'id="([^"]+)"', "".join(pieces)) == ["a", "a-2", "a-2-2", "main-2"]
    assert [each["anchor"] for each in contents] == ["a", "a-2-2"]


def test_text_that_looks_like_an_anchor_stays_as_it_is() -> None:
    pieces = ['<p id="a">1</p>', '<pre>&lt;p id="a"&gt;</pre>']
    assert in_order(pieces)[0] == pieces


def test_contents_list_sections_below_their_headings_without_marks() -> None:
    found = in_order(
        [
            '<h1 id="page-one">FV-1 <span>Water</span></h1>',
            '<h2 id="T">Travel &amp; loop<a class="anchor-link" href="#T">¶</a></h2>',
            '<h3 id="c">Calibration</h3><h4 id="d">deeper</h4><h3>without an anchor</h3>',
        ]
    )[1]
    assert [(each["title"], [below["title"] for below in each["below"]]) for each in found] == [
        (PAGE_ONE["page-one"], []),
        ("Travel &amp; loop", ["Calibration"]),
    ]


def test_a_title_that_is_not_page_one_is_listed_by_its_text() -> None:
    found = in_order(['<h1 id="What-if">What if<a class="anchor-link" href="#What-if">¶</a></h1>'])[1]
    assert [each["title"] for each in found] == ["What if"]


def test_a_link_to_what_the_page_does_not_show_is_its_text() -> None:
    pieces = ['<p><a href="#a">A</a> <a href="#b">B</a> <a href="x.html#b">file</a></p>', '<h2 id="a">A</h2>']
    assert in_order(pieces)[0][0] == '<p><a href="#a">A</a> B <a href="x.html#b">file</a></p>'
