"""What is to be made again in a unit."""

from __future__ import annotations

from typing import Any

from kit.assessment.shown.made_again import (
    Month,
    due_by_month,
    due_of,
    stale_by_tag,
    stale_checks,
    stale_words,
    tags_due,
)
from kit.assessment.shown.unit_results import TagLine, used


def line(tag: str, **result: Any) -> TagLine:
    return TagLine(tag, "", "", result)


def due(on: str = "", by: str = "", why_not: str = "") -> dict[str, str]:
    return {"on": on, "by": by, "why_not": why_not}


def stale_row(check: str, detail: str = "", **more: Any) -> dict[str, Any]:
    told = {"visit": "2", "stage": "as_left", "date": "2026-03-01", "check": check, "detail": detail, "value": 0.4}
    return {**told, "measure": "%", "verdict": "stale", "reason": "changed after it: travel stop", **more}


def test_the_soonest_comes_first_and_a_tag_without_a_day_last_with_the_reason():
    tags = [
        line("A", due=due(why_not="the verdict is fail, so that what is open comes first")),
        line("B", due=due("2027-05-02")),
        line("C", due=due("2026-12-31", "Inaccuracy")),
        TagLine("D", "", "", {}),
        line("E", due=due("2027-05-02", "Zero error", "")),
    ]
    found = tags_due(tags)
    assert [(each.tag, each.due_proposed_on, each.due_proposed_by) for each in found] == [
        ("C", "2026-12-31", "Inaccuracy"),
        ("B", "2027-05-02", "retest_days of unit.toml"),
        ("E", "2027-05-02", "Zero error"),
        ("A", "", ""),
    ]
    assert [each.no_day_because for each in found] == [
        "",
        "",
        "",
        "the verdict is fail, so that what is open comes first",
    ]
    assert due_by_month(found) == [Month("2026-12", 1, 0), Month("2027-05", 1, 1)]


def test_no_result_proposes_nothing():
    assert set(due_of({}).values()) == {""}


def test_a_stale_detail_is_told_though_another_of_its_check_fails():
    """The verdict of a check is that of its worst detail: what is stale beside it has to be made again all the same."""
    rows = [
        stale_row("fail_position", "signal_open"),
        stale_row("fail_position", "supply_off", verdict="fail"),
        stale_row("inaccuracy"),
        stale_row("zero_error", stage="as_found"),
        stale_row("span_error", visit="1"),
    ]
    kept = used({"verdict": "fail", "visit": "2", "stage": "as_left", "results": rows})
    assert kept["checks"]["fail_position"] == "fail"
    found = stale_checks([TagLine("A", "", "", kept), line("B"), TagLine("C", "", "", kept)])
    assert [(each.tag, each.check, each.detail) for each in found[:2]] == [
        ("A", "fail_position", "signal_open"),
        ("A", "inaccuracy", ""),
    ]
    assert (found[0].reason, found[0].date) == ("changed after it: travel stop", "2026-03-01")
    assert {tag: len(own) for tag, own in stale_by_tag(found).items()} == {"A": 2, "C": 2}
    assert stale_words(kept) == "fail_position signal_open; inaccuracy"
    assert stale_words({}) == ""
