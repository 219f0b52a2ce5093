"""HTML of a cell's own: what it says stays, what it would do or fetch goes, and that is told."""

from __future__ import annotations

import base64
import re

import pytest

from kit.views.placing.cleaned import cleaned, serialised


@pytest.mark.parametrize(
    ("html", "told"),
    [
        ("<script>alert(1)</script>", "a script"),
        ('<b onclick="alert(1)">B</b>', "a script"),
        ('<a href=" JavaScript:alert(1)">B</a>', "a script"),
        ("<style>.verdict { display: none }</style>", "a style sheet"),
        ('<iframe src="https://example.org"></iframe>', "an embedded page"),
        ('<form action="https://example.org"><input/></form>', "a form"),
        ('<link rel="stylesheet" href="x.css"/>', "a link to elsewhere"),
        ('<img src="photo.png"/>', "a picture that does not stand in the notebook (photo.png)"),
        (
            '<img src="https://example.org/p.png"/>',
            "a picture that does not stand in the notebook (https://example.org/p.png)",
        ),
    ],
)
def test_what_would_run_hide_or_fetch_goes_and_is_told(html: str, told: str) -> None:
    made, left_out = cleaned(f"<p>before</p>{html}<p>after</p>")
    assert "<p>before</p>" in made
    assert "<p>after</p>" in made
    assert left_out == (told,)
    assert not re.search(r"script|alert|display|example|photo|<form|<link|onclick", made, re.IGNORECASE)


def test_a_style_keeps_its_colours_and_loses_what_could_hide_the_page() -> None:
    made, _ = cleaned('<p style="color: red; position: fixed; inset: 0; display: none; z-index: 9">B</p>')
    assert made == '<p style="color: red;">B</p>'


def test_the_style_that_pandas_writes_is_replaced_by_ours_without_a_word() -> None:
    table = '<div><style scoped>td { x }</style><table border="1" class="dataframe"><tr><td>1</td></tr></table></div>'
    assert cleaned(table) == ("<div><table><tbody><tr><td>1</td></tr></tbody></table></div>", ())


def test_a_head_of_a_table_that_says_nothing_is_no_head() -> None:
    made, _ = cleaned('<table><thead><tr><th scope="col"> </th><th scope="col">shift</th></tr></thead></table>')
    assert made == '<table><thead><tr><td> </td><th scope="col">shift</th></tr></thead></table>'


def test_a_drawing_within_html_becomes_a_picture_that_runs_nothing() -> None:
    made, left_out = cleaned('<p>A</p><svg viewBox="0 0 1 1"><script>alert(1)</script></svg>')
    assert left_out == ()
    source = re.search(r'alt="[^"]+" src="data:image/svg\+xml;base64,([^"]+)"', made)
    assert source is not None
    assert b'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"' in base64.b64decode(source[1])


def test_what_was_serialised_once_stays_as_it_is() -> None:
    html = serialised('<p>"q" &amp; <br>  &nbsp;</p>\r\n<pre>\n  a  </pre><td title=\'"\'>')
    assert serialised(html) == html
