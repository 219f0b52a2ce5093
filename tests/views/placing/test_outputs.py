"""Whatever a cell shows stands in the page, or a sentence with its mime type does."""

from __future__ import annotations

from typing import Any

import pytest
from nbformat.v4 import new_output

from kit.views.pieces.parts import PLOTLY_MIME
from kit.views.placing.outputs import markdown_html, output_html

PNG = "iVBORw0KGgo="


def placed(data: dict[str, Any], **metadata: Any) -> str:
    return output_html(new_output("display_data", data=data, metadata=metadata))


@pytest.mark.parametrize(
    ("data", "seen"),
    [
        ({"text/plain": '<b> & "q"'}, '<pre class="plain">&lt;b&gt; &amp; "q"</pre>'),
        ({"text/plain": "<V at 0x7f12ab34cd>"}, '<pre class="plain">&lt;V at 0x0&gt;</pre>'),
        ({"text/plain": "x", "text/html": "<b>B</b>"}, '<div class="shown">\n<b>B</b>\n</div>'),
        ({"text/markdown": "**B**"}, '<div class="shown">\n<p><strong>B</strong></p>\n</div>'),
        ({"text/latex": r"$\frac{a}{b}$"}, r'<pre class="latex">$\frac{a}{b}$</pre>'),
        ({"application/json": {"a": 1}}, '<pre class="plain">{\n "a": 1\n}</pre>'),
        ({"text/plain": " "}, ""),
    ],
)
def test_text_tables_markdown_and_latex_are_placed(data: dict[str, Any], seen: str) -> None:
    assert placed(data) == seen


@pytest.mark.parametrize("mime", ["image/png", "image/jpeg", "image/gif"])
def test_a_picture_stands_in_the_page_with_its_description(mime: str) -> None:
    made = placed({mime: PNG, "text/html": "<img src='x.png'>"}, **{mime: {"alt": 'A 2" valve', "width": 60}})
    source = f"data:{mime};base64,{PNG}"
    assert made == f'<figure class="shown"><img alt="A 2” valve" src="{source}" width="60"/></figure>'
    assert "no description was given" in placed({mime: PNG})


def test_an_svg_runs_nothing() -> None:
    made = placed({"image/svg+xml": "<svg><script>alert(1)</script></svg>"})
    assert 'src="data:image/svg+xml;base64,' in made
    assert "alert" not in made


def test_a_figure_of_ones_own_is_told_by_its_title_or_stands_as_the_picture_that_came_with_it() -> None:
    figure = {"data": [], "layout": {"title": {"text": "Mine <b>"}}}
    told = placed({PLOTLY_MIME: figure, "text/html": "<script>1</script>", "text/plain": "Figure"})
    assert "“Mine &lt;b&gt;”" in told
    assert "open report.ipynb" in told
    assert 'alt="Figure: “Mine' in placed({PLOTLY_MIME: figure, "image/png": PNG})


@pytest.mark.parametrize("mime", ["application/vnd.jupyter.widget-view+json", "application/javascript", "a/b"])
def test_what_cannot_be_placed_is_told_with_its_mime_type(mime: str) -> None:
    made = placed({mime: "x", "text/plain": "IntSlider()"})
    assert made.startswith('<p class="not-placed">')
    assert f"({mime})" in made


def test_a_stream_is_placed_as_text() -> None:
    made = output_html(new_output("stream", name="stderr", text="\x1b[31mwarned\x1b[0m <here>\n"))
    assert made == '<pre class="stream">warned &lt;here&gt;\n</pre>'


def test_a_picture_pasted_into_markdown_stands_in_the_page() -> None:
    made = markdown_html("![Valve](attachment:v.png)", {"v.png": {"image/png": PNG}})
    assert made == f'<p><img alt="Valve" src="data:image/png;base64,{PNG}"/></p>'


def test_a_script_in_markdown_goes_and_is_told() -> None:
    made = markdown_html("Seen <script>alert(1)</script>", {})
    assert "alert" not in made
    assert "Left out here: a script." in made
