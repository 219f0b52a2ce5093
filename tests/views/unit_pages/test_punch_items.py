"""The punch list of a unit: who has what, and what was entered that is of no item."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.punch import PunchEntry
from kit.views.unit_pages import unit_page
from kit.views.unit_pages.punch_items import punch_items, stray_lines
from tests.views import made
from tests.views.reader import html_of


def item(tag: str, category: str, **changes: str) -> dict[str, str]:
    return {
        "tag": tag,
        "check": "inaccuracy",
        "category": category,
        "what": "Inaccuracy is outside its limit",
        "evidence": "at -2 %",
        "suggested_action": "Do.",
        **changes,
    }


def unit(*entries: PunchEntry, **punch_lists: list[dict[str, str]]) -> UnitResults:
    lines = tuple(
        TagLine(tag, "", f"tags/{tag}/report.html", {"verdict": "fail", "punch_list": own})
        for tag, own in punch_lists.items()
    )
    return UnitResults(made.settings(), lines, (), (), (), {}, punch=entries)


def shown(results: UnitResults) -> Any:
    table = punch_items(results)
    assert table is not None
    return table


def test_the_gravest_items_come_first_with_who_has_them():
    entries = (PunchEntry("A", "inaccuracy", owner="P. Owner <x>", remark="Waits"),)
    first, second = shown(unit(*entries, A=[item("A", "B")], B=[item("B", "A")])).rows.first
    assert (first.tag, first.report, first.evidence, first.owner) == ("B", "tags/B/report.html", "at \u22122 %", "")
    assert (second.owner, second.state, second.remark) == ("P. Owner <x>", "open", "Waits")


def test_a_closed_item_whose_check_fails_says_that_it_is_open():
    entry = PunchEntry("A", "inaccuracy", closed_on="2026-03-20", closed_by="B")
    (row,) = shown(unit(entry, A=[item("A", "B")])).rows.first
    assert row.state == "closed, but open: its check does not pass, 2026-03-20, B"


def test_items_are_chosen_by_category_check_owner_and_state():
    entries = (PunchEntry("A", "inaccuracy", owner="Z"), PunchEntry("B", "inaccuracy", owner="Y"))
    table = shown(unit(*entries, A=[item("A", "B")], B=[item("B", "A")], C=[item("C", "C", check="", what="x")]))
    assert [each.name for each in table.panel.choices] == ["category", "check", "owner", "state"]
    assert [each.value for each in table.panel.choices[2].options] == ["Y", "Z"]
    assert [(row.tag, row.owner_code, row.check_code) for row in table.rows.first] == [
        ("B", "0", "0"),
        ("A", "1", "0"),
        ("C", "-", ""),
    ]


def test_an_entry_of_no_item_is_told_on_the_page(tmp_path: Path):
    entries = [PunchEntry("A", "zero_error", owner="x", file="records/punch.csv", row=n) for n in range(2, 9)]
    results = unit(*entries, A=[item("A", "B")])
    lines = stray_lines(results)
    assert lines[0] == "records/punch.csv row 2: No item of the punch list of A is this one: zero_error."
    assert lines[5:] == ("So are 2 entries more; problems.csv lists them.",)
    assert "row 2: No item" in html_of(unit_page.punch_list(results))


def test_a_unit_without_items_says_so_and_tells_its_entries_all_the_same():
    results = unit(PunchEntry("A", "zero_error", owner="x", file="records/punch.csv", row=2), A=[])
    text = html_of(unit_page.punch_list(results))
    assert "There is nothing on the punch list." in text
    assert "row 2: No item" in text
