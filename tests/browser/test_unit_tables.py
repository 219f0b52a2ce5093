"""The unit's page in a browser: found, chosen, sorted, sent, printed, and complete without scripts."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kit.assessment.shown.unit_results import UnitResults
from tests.views.made_unit import many_tags, write_unit_page

TAGS = "#list-of-tags tbody tr"
SAID = "form[data-list={}] + [role=status]"
Open = Callable[..., Any]


@pytest.fixture(scope="module")
def small() -> UnitResults:
    return many_tags(40)


@pytest.fixture
def page(open_page: Open, small: UnitResults, tmp_path: Path) -> Any:
    return open_page(write_unit_page(small, tmp_path / "index.html"))


@pytest.fixture
def long_page(tmp_path: Path) -> Path:
    """More tags than a browser is given to lay out at once."""
    return write_unit_page(many_tags(640), tmp_path / "index.html")


def names(page: Any) -> list[str]:
    return page.locator(f"{TAGS} th").all_inner_texts()  # type: ignore[no-any-return]


def verdicts(page: Any) -> set[str]:
    return set(page.locator(f"{TAGS} .verdict").all_inner_texts())


def said(page: Any, table: str = "tags") -> str:
    return str(page.locator(SAID.format(table)).inner_text())


def field(page: Any, label: str, table: str = "tags") -> Any:
    role = "searchbox" if label == "Find" else "combobox"
    return page.locator(f"form[data-list={table}]").get_by_role(role, name=label, exact=True)


@pytest.mark.parametrize("word", ["Fail", "conditional fail", "pass", "Not tested"])
def test_a_verdicts_own_words_find_that_verdict_and_no_other(page: Any, word: str) -> None:
    field(page, "Find").fill(word)
    assert {each.lower() for each in verdicts(page)} == {word.lower()}
    assert f"Find: {word}" in said(page)


def test_words_and_a_verdict_together(page: Any) -> None:
    field(page, "Find").fill("fail duty 16")
    assert names(page) == ["FV-00016"]
    assert verdicts(page) == {"Fail"}
    field(page, "Find").fill("no such word")
    assert names(page) == []
    assert said(page).startswith("0 of 40 tags")


def test_choices_narrow_each_other_and_are_announced(page: Any) -> None:
    field(page, "Verdict").select_option("Fail")
    field(page, "system").select_option("Invented system 08")
    assert names(page) == ["FV-00008"]
    assert said(page) == "1 of 40 tags; Verdict: Fail; system: Invented system 08."
    page.get_by_role("button", name="Clear").first.click()
    assert len(names(page)) == 40


def test_a_check_with_how_it_ended(page: Any) -> None:
    field(page, "Check").select_option("Inaccuracy")
    assert len(names(page)) == 40
    field(page, "Check ended as").select_option("Not assessable")
    assert names(page) == []
    field(page, "Check").select_option("")
    assert len(names(page)) == 40


def test_an_instrument_leads_to_the_tags_that_it_touched(page: Any) -> None:
    field(page, "Instrument").select_option("X-9")
    assert names(page) == []
    field(page, "Instrument").select_option("D-1")
    assert len(names(page)) == 40


def test_the_count_beside_an_instrument_leads_to_its_tags(page: Any) -> None:
    page.locator("table a[data-view^=instrument]", has_text="40").first.click()
    assert said(page) == "40 of 40 tags; Instrument: D-1."


def test_a_head_sorts_and_sorts_back_by_value(page: Any) -> None:
    page.get_by_role("button", name="Tag", exact=True).click()
    page.get_by_role("button", name="Tag", exact=True).click()
    assert names(page)[0] == "FV-00039"
    page.get_by_role("button", name="Share", exact=True).click()
    shares = page.locator(f"{TAGS} td.n").all_inner_texts()
    assert shares[:3] == ["0\u00a0%", "1\u00a0%", "2\u00a0%"]
    assert page.locator("#list-of-tags th[aria-sort]").inner_text() == "Share"
    page.get_by_role("button", name="Verdict", exact=True).click()
    assert page.locator(f"{TAGS} .verdict").first.inner_text() == "Fail"


def test_the_address_is_the_view_and_goes_back_and_forward(page: Any, open_page: Open, tmp_path: Path) -> None:
    field(page, "Verdict").select_option("fail")
    page.get_by_role("button", name="Tag", exact=True).click()
    page.get_by_role("button", name="Tag", exact=True).click()
    falling, address = names(page), page.url
    assert address.endswith("#verdict=fail&sort=-tag")
    page.go_back()
    assert names(page) == falling[::-1]
    page.go_forward()
    assert names(page) == falling
    sent = open_page(tmp_path / "index.html", view="#verdict=fail&sort=-tag")
    assert names(sent) == falling
    assert field(sent, "Verdict").input_value() == "fail"


def test_what_an_address_asks_for_in_vain_is_said(open_page: Open, small: UnitResults, tmp_path: Path) -> None:
    page = open_page(write_unit_page(small, tmp_path / "index.html"), view="#system=Gone")
    assert "The address asks for system “Gone”, which this page does not have." in said(page)


def test_a_count_leads_to_its_tags_and_a_report_back_to_the_view(page: Any) -> None:
    page.locator("ul.counts a", has_text="Incomplete").click()
    assert verdicts(page) == {"Incomplete"}
    link = page.locator(f"{TAGS} a").first
    link.evaluate("each => each.addEventListener('click', (event) => event.preventDefault())")
    link.click()
    assert link.get_attribute("href").endswith("/report.html#back=%23verdict%3Dincomplete")


def test_a_test_is_found_by_how_it_ended(page: Any) -> None:
    field(page, "Test", "tests").select_option("Switches")
    field(page, "Ended as", "tests").select_option("not assess.")
    assert said(page, "tests") == "40 of 40 tags; Test: Switches; Ended as: not assess."
    assert "#tests.test=switches&tests.ended=not_assessable" in page.url
    field(page, "Ended as", "tests").select_option("pass")
    assert said(page, "tests") == "0 of 40 tags; Test: Switches; Ended as: pass."
    assert len(names(page)) == 40


def test_a_long_table_shows_its_first_rows_sorts_and_chooses_all_and_prints_all(
    open_page: Open, long_page: Path
) -> None:
    page = open_page(long_page)
    rows = page.locator(TAGS)
    assert rows.count() == 300
    assert said(page) == "640 of 640 tags. The first 300 stand here."
    field(page, "Find").fill("FV-00639")
    assert rows.count() == 1
    field(page, "Find").fill("")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert rows.count() == 640
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert rows.count() == 300
    page.get_by_role("button", name="Show every row").first.click()
    assert rows.count() == 640


def test_without_scripts_every_row_stands_and_no_field(open_page: Open, long_page: Path) -> None:
    page = open_page(long_page, java_script_enabled=False)
    assert page.locator("table.sortable tbody tr:visible").count() == 640
    assert page.locator("table.matrix tbody tr:visible").count() == 640
    assert page.locator("form:visible").count() == 0


@pytest.mark.parametrize("width", [360, 820, 2560])
def test_the_page_never_scrolls_sideways(page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_the_fields_are_reached_by_the_keyboard_in_their_order(page: Any) -> None:
    field(page, "Find").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "verdict"


@pytest.fixture
def due_page(open_page: Open, tmp_path: Path) -> Any:
    """Six tags: four are due again in two months, two persons, one probable cause of two tags."""
    small = many_tags(6)
    days = ("2027-05-30", "", "2026-11-02", "2027-05-01", "", "2027-05-09")
    lines = tuple(
        dataclasses.replace(
            line,
            result={
                **line.result,
                "due": {"on": day, "by": "", "why_not": "" if day else "what is open comes first"},
                "technician": f"Person {place % 2}",
                "causes": ["Bow & slack"] if place < 2 else [],
                "stale": [
                    {
                        **dict.fromkeys(("visit", "date", "detail", "measure"), ""),
                        "check": "inaccuracy",
                        "value": 1.0,
                        "reason": "travel stop (adjustment of 2026-03-09, visit 1)",
                    }
                ],
            },
        )
        for place, (line, day) in enumerate(zip(small.tags, days, strict=True))
    )
    return open_page(write_unit_page(dataclasses.replace(small, tags=lines), tmp_path / "index.html"))


def test_a_month_leads_to_the_tags_that_are_due_in_it_the_soonest_first(due_page: Any) -> None:
    due_page.locator("a[data-view^='due=2027-05']").click()
    assert names(due_page) == ["FV-00003", "FV-00005", "FV-00000"]
    assert "Due again in (proposal): 2027-05" in said(due_page)
    assert "due=2027-05" in due_page.url


def test_tags_are_chosen_by_person_and_by_cause_without_mixing_their_codes(due_page: Any) -> None:
    field(due_page, "Technician").select_option("Person 1")
    assert names(due_page) == ["FV-00001", "FV-00003", "FV-00005"]
    field(due_page, "Probable cause").select_option("Bow & slack")
    assert names(due_page) == ["FV-00001"]
