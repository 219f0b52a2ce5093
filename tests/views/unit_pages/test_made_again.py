"""What the unit's page says of tags that are due again and of what went stale."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.retest import DUE_RULE
from kit.views.unit_pages import unit_page
from kit.views.unit_pages.made_again import due_and_stale
from kit.views.unit_pages.tag_table import tag_table
from tests.views import made
from tests.views.reader import html_of, said


def unit(**results: dict[str, Any]) -> UnitResults:
    lines = (
        TagLine(tag, f"Duty {tag}", f"tags/{tag}/report.html", {"verdict": "pass", **each})
        for tag, each in results.items()
    )
    return UnitResults(made.settings(), tuple(lines), (), (), (), {})


def due(on: str = "", by: str = "", why_not: str = "") -> dict[str, Any]:
    return {"due": {"on": on, "by": by, "why_not": why_not}}


def stale(check: str, reason: str, detail: str = "") -> dict[str, Any]:
    told = {"visit": "1", "date": "2026-03-01", "check": check, "detail": detail, "value": 1.0, "measure": "%"}
    return {**told, "reason": reason}


TWO_MONTHS = unit(A=due("2027-05-02", "Inaccuracy"), B=due("2027-05-09"), C=due("2026-11-30"), D=due(why_not="too few"))


def test_a_day_is_marked_as_a_proposal_and_its_rule_stands_beside_it():
    text = said(due_and_stale(TWO_MONTHS))
    assert "A day is proposed for 3 tags, and no verdict rests on it. House definition, a proposal:" in text
    assert DUE_RULE in text
    assert "No day is proposed for 1 tag: too few." in text


def test_the_soonest_stand_first_and_lead_to_their_reports():
    page = html_of(due_and_stale(TWO_MONTHS))
    assert re.findall(r'href="tags/(.)/report.html"', page) == ["C", "A", "B"]
    assert said(due_and_stale(TWO_MONTHS)).index("2026-11-30 retest_days of unit.toml") > 0


def test_a_month_leads_to_its_tags_and_they_are_chosen_by_it():
    page = html_of(due_and_stale(TWO_MONTHS))
    assert re.findall(r'data-view="([^"]*)"[^>]*>(\d+)</a>', page) == [
        ("due=2026-11&amp;sort=due", "1"),
        ("due=2027-05&amp;sort=due", "2"),
    ]
    table = tag_table(TWO_MONTHS)
    field = next(each for each in table.panel.choices if each.name == "due")
    (may,) = (each.code for each in field.options if each.value == "2027-05")
    assert [row.tag for row in table.rows.first if may in row.has.split()] == ["A", "B"]
    assert [row.due for row in table.rows.first] == ["2027-05-02", "2027-05-09", "2026-11-30", ""]
    assert ("due", "Due again (proposal)", "") in table.heads


def test_without_a_day_there_is_no_column_and_the_reason_is_told():
    none = unit(A=due(why_not="no check has 2 intervals"))
    assert not [each for each in tag_table(none).heads if each[0] == "due"]
    assert "Due again" not in html_of(unit_page.tags(none))
    assert "No day is proposed for 1 tag: no check has 2 intervals." in said(due_and_stale(none))


def test_stale_checks_stand_by_tag_with_the_command_that_prints_their_sheet():
    own = [
        stale("inaccuracy", "travel stop on visit 1"),
        stale("fail_position", "travel stop on visit 1", "supply_off"),
    ]
    results = unit(**{"P 1": {"verdict": "incomplete", "stale": own}, "B": {}})
    text = said(due_and_stale(results))
    assert "Inaccuracy; Position on loss, supply off travel stop on visit 1" in text
    name = results.settings.unit
    assert f"strokebook sheet inputs/{name} 'P 1' --missing" in text
    assert f"strokebook sheet inputs/{name} --missing makes the sheets of all tags" in text
    assert "B " not in text.partition("Stale")[2]


def test_nothing_stale_is_said():
    assert "No check is stale." in said(due_and_stale(TWO_MONTHS))


def test_due_tags_stay_few_rows_however_many_they_are():
    lines = tuple(dataclasses.replace(TWO_MONTHS.tags[0], tag=f"T{number}") for number in range(3000))
    page = html_of(due_and_stale(dataclasses.replace(TWO_MONTHS, tags=lines)))
    assert page.count("<tr") < 40
    assert "So have 2980 tags more" in page


def test_tags_are_chosen_by_technician_and_probable_cause_whatever_their_codes():
    results = unit(
        A={
            "technician": "T. <1>",
            "causes": ["Bow", "Slack"],
            "instruments": [{"instrument": "I-1"}],
            **due("2027-05-02"),
        },
        B={"technician": "U", "causes": ["Slack"], "instruments": [{"instrument": "I-2"}]},
    )
    table = tag_table(results)

    def chosen(name: str, value: str) -> list[str]:
        field = next(each for each in table.panel.choices if each.name == name)
        (code,) = (each.code for each in field.options if each.value == value)
        return [row.tag for row in table.rows.first if code in getattr(row, field.of).split()]

    assert chosen("technician", "T. <1>") == ["A"]
    assert chosen("cause", "Slack") == ["A", "B"]
    assert chosen("cause", "Bow") == ["A"]
    assert chosen("instrument", "I-2") == ["B"]
