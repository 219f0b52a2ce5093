"""What the unit's page says of progress, failures together and limits that bite."""

from __future__ import annotations

import re
from typing import Any

from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.views.pieces.sheets import Sheet, placed
from kit.views.unit_pages import unit_page
from kit.views.unit_pages.progress_tables import (
    cause_table,
    changed_table,
    common_table,
    first_pass_line,
    group_table,
    margin_table,
    stale_table,
)
from tests.views import made
from tests.views.made_unit import many_tags
from tests.views.reader import html_of, rows


def unit(*results: dict[str, Any], **further: str) -> UnitResults:
    lines = tuple(
        TagLine(f"FV-{number}", "", f"tags/FV-{number}/report.html", result, {"system": f"{number % 2} & x"})
        for number, result in enumerate(results)
    )
    return UnitResults(made.settings(), lines, (), (), (), {})


def visited(verdict: str, **more: Any) -> dict[str, Any]:
    stages = [{"visit": "1", "stage": "as_left", "date": "2026-03-01", "verdict": verdict}]
    return {"verdict": verdict, "visit": "1", "date": "2026-03-01", "stages": stages, **more}


def test_a_group_leads_to_its_tags_and_to_those_that_fail():
    table = group_table(unit(visited("pass"), visited("fail"), visited("pass"), visited("fail")))
    assert table is not None
    assert rows(table)[0] == ["system", "0 & x", "2", "2", "2", "0", "0", "0", "0", "0"]
    assert [cell.view for cell in table.rows[1][1:7]] == [
        "system=1+%26+x",
        "",
        "",
        "",
        "",
        "system=1+%26+x&verdict=fail",
    ]


def test_the_first_pass_is_said_in_a_sentence():
    assert first_pass_line(unit(visited("pass"), visited("fail"))).startswith(
        "First-pass yield: 1 of 2 tags tested passed as their first visit left them (50%)"
    )
    assert first_pass_line(unit({})) == ""


def test_stale_tests_lead_to_the_list_of_tests():
    table = stale_table(unit(visited("incomplete", tests={"readings": "stale", "strokes": "pass"})))
    assert table is not None
    ((name, stale, *others),) = table.rows
    assert (name.text, stale.text, stale.view) == ("Readings", "1", "tests.test=readings&tests.ended=stale")
    assert [each.text for each in others] == ["0", "0"]


def test_a_tag_that_differs_from_its_issue_says_in_what():
    last = {"revision": "B", "on": "2026-04-01"}
    results = unit(visited("pass", issue={"standing": "differs", "last": last, "differs": "readings"}), visited("pass"))
    table = changed_table(results)
    assert table is not None
    assert rows(table) == [["FV-0", "B", "2026-04-01", "readings"]]


def test_a_limit_that_nothing_comes_near_and_one_beyond_any_are_told():
    results = unit(visited("fail", shares={"inaccuracy": float("inf")}, checks={"inaccuracy": "fail"}))
    table = margin_table(results)
    assert table is not None
    assert rows(table) == [["Inaccuracy", "1", "1", "beyond", "beyond", "beyond"]]


def test_what_failures_have_in_common_is_a_question_and_accuses_nobody():
    def of(person: str, verdict: str) -> dict[str, Any]:
        return visited(verdict, technician=person, instruments=[])

    table = common_table(unit(*[of("P. <b>", "fail")] * 5, *[of("Q", "pass")] * 7))
    assert table is not None
    assert rows(table)[0] == ["technician", "P. <b>", "5", "5", "2.1", "0.13", "why so many?", ""]
    assert table.rows[0][-1].names == tuple((f"FV-{number}", f"tags/FV-{number}/report.html") for number in range(5))
    assert table.rows[0][1].view == "technician=P.+%3Cb%3E"
    assert "nothing against an instrument or a person" in table.notes[0]


def test_a_great_chance_is_printed_in_plain_figures():
    """By hand: of four tags two fail; one or more of a day's one tag in 1/2, of a day's three in every draw."""
    told = [visited("fail", technician="P", date="2026-03-01" if number else "2026-03-02") for number in range(2)]
    results = unit(*told, *[visited("pass", technician="P", date="2026-03-01")] * 2)
    table = common_table(results)
    assert table is not None
    assert [row[5] for row in rows(table)] == ["50", "100"]


def test_each_tag_of_a_cause_leads_to_its_report_and_their_count_to_all_of_them():
    results = unit(*[visited("fail", causes=["Bow & slack"])] * 14, visited("fail", causes=["Worn"]))
    html = html_of([placed(Sheet("causes", tables=(cause_table(results),)))])
    row, lone = re.findall("<tr>.*?</tr>", html)[1:]
    assert re.findall('href="tags/(.*?)/report.html">(.*?)</a>', row) == [(f"FV-{number}",) * 2 for number in range(12)]
    assert row.endswith("FV-11</a> and 2 more</td></tr>")
    assert 'data-view="cause=Bow+%26+slack" href="#list-of-tags">14</a>' in row
    assert re.findall('href="tags/(.*?)/report.html"', lone) == ["FV-14"]


def test_more_groups_than_the_page_has_room_for_are_said_to_stand_in_the_table_beside_it():
    results = unit(*[visited("fail", technician=f"P{number}", instruments=[]) for number in range(12)], visited("pass"))
    table = common_table(results)
    assert table is not None
    assert len(table.rows) == 10
    assert table.notes[-1] == "The least likely 10 of 12; summary/in_common.csv has them all."


def test_the_parts_stand_on_the_page_of_ten_thousand_tags_in_little_room():
    """Groups, not tags, have rows: what is added to the page does not grow with its tags."""
    small, large = (
        [len(html_of(part(many_tags(count)))) for part in (unit_page.progress, unit_page.exceptions)]
        for count in (500, 10_000)
    )
    assert all(abs(one - other) < 2_000 for one, other in zip(small, large, strict=True))
    assert sum(large) < 40_000


def test_a_unit_without_records_says_that_there_is_nothing_yet():
    empty = UnitResults(made.settings(), (TagLine("FV-1", "", "", {}),), (), (), (), {})
    assert "No tag has a visit as left" in html_of(unit_page.progress(empty))
    assert "No failure has a probable cause" in html_of(unit_page.exceptions(empty))
