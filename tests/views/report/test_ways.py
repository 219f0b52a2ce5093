"""On a tag's page every link leads somewhere, and every answer has its way."""

from __future__ import annotations

import re

from kit.assessment import assess_tag
from kit.views.pieces.anchors import budget_anchor, check_anchor
from kit.views.report.exceptions import exceptions
from kit.views.report.headings import titles
from tests.views import made
from tests.views.reader import text_of


def anchors(page: str) -> list[str]:
    return re.findall(r'<[a-z][^<>]*? id="([^"]+)"', page)


def test_every_anchor_stands_once_and_every_link_within_the_page_has_one(page: str) -> None:
    found = anchors(page)
    assert len(found) == len(set(found))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(found)


def test_every_section_is_in_the_contents(page: str) -> None:
    contents = re.search(r'<nav aria-label="Contents".*?</nav>', page, re.DOTALL)
    assert contents
    listed = re.findall(r'<a href="#[^"]+">([^<]+)</a>', contents[0])
    assert {"Page one", *titles()} <= set(listed)


def test_the_way_back_leads_to_the_units_page(page: str) -> None:
    assert '<p class="back"><a href="../../index.html">Back to ' in page


def test_a_check_leads_to_its_figure_its_readings_and_its_budget_and_a_budget_back(page: str) -> None:
    stage = assess_tag(made.records()).deciding
    assert stage is not None
    for result in stage.checks:
        row = re.search(f'<tr id="{check_anchor(result)}">.*?</tr>', page, re.DOTALL)
        assert row, result.check
        assert 'href="#' in row[0]
        if result.budget is not None and result.verdict != "information":
            assert f'href="#{budget_anchor(result)}"' in row[0]
            back = re.search(f'<tr id="{budget_anchor(result)}">.*?</tr>', page, re.DOTALL)
            assert back
            assert f'href="#{check_anchor(result)}"' in back[0]


def test_an_exception_leads_to_its_row_and_to_its_test_and_reads_as_it_did(page: str) -> None:
    found = exceptions(assess_tag(made.records()).deciding)
    assert found
    for _, said in found:
        shown = str(said.__html__())
        assert shown in page.replace("\u00a0", " ")
        assert text_of(shown.split('<span class="ways">')[0]).replace(" ;", ";").replace(" :", ":") == said
        assert re.search(r'<a href="#check-[a-z0-9-]+">', shown)
        assert re.search(r'<span class="ways"><a href="#[a-z-]+">', shown)


def test_every_problem_has_an_anchor_of_its_number(page: str) -> None:
    numbered = [each for each in anchors(page) if each.startswith("problem-")]
    assert numbered == [f"problem-{count}" for count in range(1, len(numbered) + 1)] != []


def test_every_table_has_a_caption_row_heads_and_a_box_with_its_name(page: str) -> None:
    box = r'<div aria-label="([^"]+)" class="scroll" role="group" tabindex="0">\n(<table.*?</table>)'
    tables = re.findall(box, page, re.DOTALL)
    assert len(tables) == page.count("<table")
    for name, table in tables:
        assert f"<caption><span>{name}" in table.replace('"', "”") or name == "Uncertainty budgets"
        rows = re.findall(r"<tr[ >].*?</tr>", table.split("<tbody>", 1)[1], re.DOTALL)
        assert all('scope="row' in row for row in rows)
