"""Items of the punch list with what was entered on them."""

from __future__ import annotations

import pytest

from kit.assessment.shown.punch_entries import strays, with_entries
from kit.basis.punch import PunchEntry

FAILS = {"tag": "FV-1", "check": "inaccuracy", "what": "Inaccuracy is outside its limit"}
OPENS = {"tag": "FV-1", "check": "switch_lead", "what": "Switch lead, open, was not tested"}
CLOSES = {"tag": "FV-1", "check": "switch_lead", "what": "Switch lead, closed, was not tested"}
ASIDE = {"tag": "FV-1", "check": "", "what": "1 row set aside"}
NONE = {"tag": "FV-1", "check": "", "what": "No records"}
PLACEHOLDER = {"tag": "FV-1", "check": "", "what": "2 limits not confirmed"}
TOGETHER = {"tag": "FV-1", "check": "span_error, inaccuracy", "what": "2 checks, one probable cause: span"}
LEFT = {"tag": "FV-1", "check": "zero_error, inaccuracy", "what": "2 checks have to be repeated"}
CLOSED = {"closed_on": "2026-03-20", "closed_by": "B"}


def entry(**cells: str) -> PunchEntry:
    return PunchEntry("FV-1", **cells)


def test_an_item_without_an_entry_is_open_and_nobodys():
    (item,) = with_entries([FAILS], [])
    assert item == FAILS | {"owner": "", "closed_on": "", "closed_by": "", "remark": "", "state": "open"}


@pytest.mark.parametrize("item", [FAILS, OPENS, NONE, PLACEHOLDER, TOGETHER, LEFT])
def test_a_closing_never_closes_what_the_valve_has_not_passed(item: dict[str, str]):
    (found,) = with_entries([item], [entry(check=item["check"], what=item["what"], **CLOSED)])
    assert (found["state"], found["closed_by"]) == ("not_closed", "B")


def test_what_is_no_matter_of_the_valve_is_closed_by_a_day_and_a_name_alone():
    given = [{"closed_on": "2026-03-20"}, {"closed_by": "B"}, CLOSED]
    states = [with_entries([ASIDE], [entry(what="1 row set aside", **each)])[0]["state"] for each in given]
    assert states == ["open", "open", "closed"]


@pytest.mark.parametrize(
    ("decided_on", "state"),
    [("2026-03-19", "closed"), ("2026-03-20", "closed"), ("2026-03-21", "open_again"), ("", "closed")],
)
def test_what_a_later_visit_brought_up_was_not_closed_before_it(decided_on: str, state: str):
    """The words of an item are those of the one before it: another row set aside is another row."""
    (item,) = with_entries([ASIDE], [entry(what="1 row set aside", **CLOSED)], decided_on)
    assert item["state"] == state


def test_an_entry_is_of_the_item_it_names_and_of_no_other_of_its_check():
    found = with_entries([OPENS, CLOSES], [entry(check="switch_lead", what=OPENS["what"], owner="A")])
    assert [each["owner"] for each in found] == ["A", ""]


def test_an_entry_of_a_check_alone_is_of_each_of_its_items():
    found = with_entries([OPENS, CLOSES, FAILS], [entry(check="Switch_Lead", owner="A")])
    assert [each["owner"] for each in found] == ["A", "A", ""]


@pytest.mark.parametrize("before", ["Inaccuracy was not tested", "inaccuracy  cannot be judged", "Inaccuracy"])
def test_an_item_keeps_its_owner_when_its_tag_is_tested(before: str):
    assert with_entries([FAILS], [entry(check="inaccuracy", what=before, owner="A")])[0]["owner"] == "A"


@pytest.mark.parametrize(
    ("before", "now"),
    [
        (FAILS, TOGETHER),
        (TOGETHER, FAILS),
        (TOGETHER, TOGETHER | {"check": "inaccuracy, zero_error"}),
        (LEFT, FAILS),
        (FAILS, LEFT),
        (LEFT, LEFT | {"what": "2 checks were not tested"}),
    ],
)
def test_who_had_one_check_has_those_that_are_one_item_with_it(before: dict[str, str], now: dict[str, str]):
    given = entry(check=before["check"], what=before["what"], owner="A")
    assert [each["owner"] for each in with_entries([now, OPENS], [given])] == ["A", ""]


def test_a_later_entry_adds_to_an_earlier_one_and_takes_its_place():
    given = [entry(check="inaccuracy", owner="A", remark="x"), entry(check="inaccuracy", owner="B")]
    (item,) = with_entries([FAILS], given)
    assert (item["owner"], item["remark"]) == ("B", "x")


def test_an_entry_of_no_item_is_told():
    given = [
        entry(check="inaccurracy", owner="A"),
        entry(owner="A"),
        PunchEntry("FV-9", "inaccuracy", owner="A"),
        entry(check="inaccuracy", owner="A"),
    ]
    found = strays(given, {"FV-1": [FAILS]}, {"FV-1": ()})
    assert [each.entry for each in found] == given[:3]
    assert "FV-9" in found[2].why
    assert "neither check nor what" in found[1].why


def test_a_closed_entry_whose_check_passes_has_done_its_work():
    closed, open_yet = entry(check="inaccuracy", **CLOSED), entry(check="inaccuracy", owner="A")
    assert strays([closed, open_yet], {"FV-1": []}, {"FV-1": ["inaccuracy"]}) == strays([open_yet], {"FV-1": []}, {})
    assert [each.entry for each in strays([closed], {"FV-1": []}, {"FV-1": ()})] == [closed]
